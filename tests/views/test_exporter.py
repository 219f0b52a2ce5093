"""The exporter: the same bytes as a stock export, offline, figures kept, failures said."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest
from nbconvert.exporters.html import HTMLExporter

import kit.views
from kit.basis.records import TagRecords
from kit.views.exporter import ReportExporter
from kit.views.pieces.parts import PLOTLY_MIME
from tests.views import made, made_recordings

NASTY = "<i>\"quoted\" & 'so'</i> -->"


def stock_export(notebook: nbformat.NotebookNode, folder: Path) -> str:
    """What `jupyter nbconvert --to html --template strokebook` makes of a notebook."""
    shutil.copytree(Path(kit.views.__file__).parent / "page", folder / "strokebook")
    exporter = HTMLExporter(template_name="strokebook", extra_template_basedirs=[str(folder)])
    return str(exporter.from_notebook_node(notebook)[0])


def test_a_stock_export_gives_the_same_bytes(notebook: nbformat.NotebookNode, page: str, tmp_path: Path) -> None:
    assert stock_export(notebook, tmp_path) == page


def test_a_stock_export_gives_the_same_bytes_for_text_full_of_quotes(
    make_notebook: Callable[[TagRecords], nbformat.NotebookNode], tmp_path: Path
) -> None:
    records = made.records(
        {"settings": [{"setting": NASTY, "value": "  "}]},
        tag=made.tag(service=NASTY),
        settings=made.settings(title=NASTY, document='D "1" <{tag}>'),
    )
    notebook = make_notebook(records)
    assert stock_export(notebook, tmp_path) == ReportExporter().from_notebook_node(notebook)[0]


def test_a_stock_export_gives_the_same_bytes_for_a_recording(
    make_notebook: Callable[[TagRecords], nbformat.NotebookNode], tmp_path: Path
) -> None:
    notebook = make_notebook(made_recordings.records("healthy"))
    page = str(ReportExporter().from_notebook_node(notebook)[0])
    assert stock_export(notebook, tmp_path) == page
    assert len(page.encode()) < 300_000


def test_one_exporter_serves_many_notebooks(notebook: nbformat.NotebookNode, page: str) -> None:
    exporter = ReportExporter()
    assert [exporter.from_notebook_node(notebook)[0] for _ in range(2)] == [page, page]


def test_every_figure_of_the_notebook_is_in_the_page(notebook: nbformat.NotebookNode, page: str) -> None:
    shown = [out for cell in notebook.cells for out in cell.get("outputs", []) if PLOTLY_MIME in out.data]
    assert len(shown) == len(re.findall(r'class="figure[ "]', page)) == 7


def test_the_page_asks_nothing_of_a_network(page: str) -> None:
    assert re.findall(r'(?:src|href)="(?!#)([^"]*)"', page) == ["../../index.html"]  # a link
    assert "@import" not in page
    assert "url(" not in page


def test_the_page_has_no_code_and_no_notebook_only_words(page: str) -> None:
    assert "sections." not in page
    assert "<h1>Tag report" not in page
    assert "<title>FV-1 Wash water</title>" in page


def test_the_page_of_a_typed_record_is_small(page: str) -> None:
    assert len(page.encode()) < 150_000


def test_tag_document_revision_and_input_stand_at_the_foot_of_every_printed_page(page: str) -> None:
    (foot,) = re.findall(r'@bottom-left { content: "([^"]*)"; }', page)
    assert re.fullmatch(r"FV-1\W+DOC-FV-1\W+Draft of revision \w+\W+input [0-9a-f]{12}", foot)
    assert 'content: "Page " counter(page)' in page


def test_a_failed_notebook_says_so_first_and_keeps_what_ran(notebook: nbformat.NotebookNode) -> None:
    failed = nbformat.v4.new_output(
        "error", ename="UnitError", evalue="no tag <FV-9>", traceback=["\x1b[31mUnitError\x1b[0m: no tag <FV-9>"]
    )
    notebook.cells[-1].outputs = [failed]
    page = str(ReportExporter().from_notebook_node(notebook)[0])
    assert page.index("This report is incomplete.") < page.index("Valve commissioning record")
    assert "UnitError: no tag &lt;FV-9&gt;" in page
    assert "\x1b" not in page


def test_a_notebook_that_failed_at_once_still_has_a_title_and_a_style() -> None:
    cell = nbformat.v4.new_code_cell("read()")
    cell.outputs = [nbformat.v4.new_output("error", ename="UnitError", evalue="none", traceback=["none"])]
    notebook = nbformat.v4.new_notebook(cells=[cell], metadata={"papermill": {"parameters": {"tag": "FV-9"}}})
    page = str(ReportExporter().from_notebook_node(notebook)[0])
    assert "<title>Incomplete report FV-9</title>" in page
    assert ".strokebook .alert" in page or "strokebook :is(.alert" in page


def test_the_page_holds_no_address_and_no_made_up_identity(page: str) -> None:
    """Nothing in it differs from run to run."""
    assert not re.search(r"0x[0-9a-f]{6,}|[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}", page)


@pytest.mark.parametrize("word", ["require.js", "mathjax", "cdnjs", "BeautifulSoup"])
def test_nothing_of_a_stock_page_is_left(page: str, word: str) -> None:
    assert word.lower() not in page.lower()
