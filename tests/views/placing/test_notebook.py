"""A notebook with cells of one's own: all of it is in the page, by whichever exporter."""

from __future__ import annotations

import copy
from pathlib import Path

import nbformat
from nbformat.v4 import new_code_cell, new_markdown_cell, new_output

from kit.views.exporter import ReportExporter
from kit.views.pieces.parts import PLOTLY_MIME
from kit.views.placing.notebook import placed_notebook
from tests.views.test_exporter import stock_export

FRAME = '<div><style scoped>td {}</style><table border="1" class="dataframe"><tr><td>7.25</td></tr></table></div>'
SHOWN = [
    new_output("display_data", data={PLOTLY_MIME: {"data": [], "layout": {"title": {"text": 'My "own" & <b>'}}}}),
    new_output("execute_result", data={"text/html": FRAME, "text/plain": "   7.25"}),
    new_output("display_data", data={"image/png": "iVBORw0KGgo=", "text/plain": "<Image>"}),
    new_output("display_data", data={"text/html": "<script>alert('own')</script><p>said &quot;so&quot;</p>"}),
    new_output("display_data", data={"text/markdown": "*it* 'is' \"so\" & more"}),
    new_output("stream", name="stdout", text="told <plainly>\n"),
    new_output("display_data", data={"application/x-unheard-of": "?", "text/plain": "Thing()"}),
]


def with_own_cells(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    words = new_markdown_cell('## My own look\n\nWith "quotes" & <em>tags</em>, `code` and $x^2$.\n\n- a\n- b')
    notebook.cells[-2:-2] = [words, *(new_code_cell("own", outputs=[each]) for each in copy.deepcopy(SHOWN))]
    return notebook


def test_whatever_a_cell_shows_is_in_the_page_or_told_there(notebook: nbformat.NotebookNode) -> None:
    page = str(ReportExporter().page(with_own_cells(notebook)))
    assert '<li><a href="#My-own-look">My own look</a></li>' in page
    page = page[page.index("<main") :]
    for seen in ("My own look", "7.25", "data:image/png;base64,iVBORw0KGgo=", "<em>it</em>", "told &lt;plainly&gt;"):
        assert page.count(seen) == 1, seen
    assert page.count('class="not-placed"') == 3  # the figure, the script and the mime type that nobody has heard of
    assert "application/x-unheard-of" in page
    assert "alert('own')" not in page


def test_a_stock_export_gives_the_same_bytes_for_whatever_a_cell_shows(
    notebook: nbformat.NotebookNode, tmp_path: Path
) -> None:
    notebook = with_own_cells(notebook)
    page = ReportExporter().page(notebook)
    assert stock_export(notebook, tmp_path) == page
    assert ReportExporter().from_notebook_node(notebook)[0] == page


def test_the_evidence_keeps_what_was_shown(notebook: nbformat.NotebookNode) -> None:
    before = copy.deepcopy(with_own_cells(notebook))
    placed_notebook(notebook)
    assert notebook == before


def test_what_is_for_the_notebook_only_stays_there_unless_it_failed(notebook: nbformat.NotebookNode) -> None:
    said = new_output("stream", name="stdout", text="only here\n")
    notebook.cells.append(new_code_cell("x", outputs=[said], metadata={"tags": ["notebook-only"]}))
    assert "only here" not in ReportExporter().page(notebook)
    notebook.cells[-1].outputs.append(new_output("error", ename="E", evalue="lost", traceback=["lost"]))
    page = ReportExporter().page(notebook)
    assert "E: lost" in page
    assert "only here" not in page


def test_a_section_that_is_left_out_is_told_and_moving_one_is_not(notebook: nbformat.NotebookNode) -> None:
    assert "left out here" not in ReportExporter().page(notebook)
    notebook.cells[3:5] = reversed(notebook.cells[3:5])
    moved = ReportExporter().page(notebook)
    assert "left out here" not in moved
    history = next(cell for cell in notebook.cells if "sections.history" in cell.source)
    notebook.cells.remove(history)
    page = ReportExporter().page(notebook)
    assert "Sections of the standard notebook left out here: History." in page
    assert page.index("Valve commissioning record") < page.index("left out here")


def test_a_notebook_without_page_one_says_so_and_gives_no_verdict(notebook: nbformat.NotebookNode) -> None:
    notebook.cells = [cell for cell in notebook.cells if "front_page" not in cell.source]
    page = ReportExporter().page(notebook)
    text = page[page.index("<main") :]
    assert text.index("shows no page one, so no verdict is given") < text.index("Every check")
    assert "<title>Incomplete report" in page
