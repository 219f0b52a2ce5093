"""The notebook what_if, run as it is on the demo unit: every output is marked, and nothing is written."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import nbformat
import papermill
import pytest
from nbformat import NotebookNode

from kit.views.exporter import ReportExporter
from kit.views.pieces.parts import PAGE_MIME, PLOTLY_MIME
from tests.notebooks.contents import contents

ROOT = Path(__file__).parents[2]
NOTEBOOK = ROOT / "notebooks" / "what_if.ipynb"
MARK = "What if: no record"


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("what-if")
    shutil.copytree(ROOT / "inputs" / "lime-works", folder / "inputs" / "lime-works")
    before = contents(folder)
    executed = papermill.execute_notebook(
        str(NOTEBOOK), None, cwd=str(folder), progress_bar=False, log_output=False, kernel_name="python3"
    )
    return {"notebook": executed, "before": before, "after": contents(folder)}


def outputs(notebook: NotebookNode) -> list[NotebookNode]:
    return [output for cell in notebook.cells for output in cell.get("outputs", ())]


def test_nothing_is_written_to_the_unit_or_beside_it(run: dict[str, Any]) -> None:
    assert run["before"]
    assert run["after"] == run["before"]


def test_every_output_is_marked_as_no_record(run: dict[str, Any]) -> None:
    found = outputs(run["notebook"])
    assert {each.output_type for each in found} == {"display_data"}
    assert len(found) >= 12
    for each in found:
        data = each.data
        if PAGE_MIME in data:
            assert data[PAGE_MIME]["title"].startswith(MARK)
        else:
            shown = data[PLOTLY_MIME]["layout"]["meta"]["title"] if PLOTLY_MIME in data else data["text/html"]
            assert MARK in shown


def test_each_supposition_changes_something_of_the_demo_tag(run: dict[str, Any]) -> None:
    for name in ("limits", "leave-out", "adjusted", "instrument", "one-more-cycle"):
        (cell,) = [each for each in run["notebook"].cells if each.id == name]
        html = "".join(each.data.get("text/html", "") for each in cell.outputs)
        assert "what changes for TV-123" in html, name


def test_no_verdict_as_supposed_looks_like_one_on_record(run: dict[str, Any]) -> None:
    html = "".join(each.data.get("text/html", "") for each in outputs(run["notebook"]))
    assert '<span class="verdict supposed">would pass</span>' in html
    assert '<span class="verdict supposed">not known</span>' in html
    assert '<span class="verdict supposed">Pass</span>' not in html


def test_the_page_of_it_is_readable_and_says_what_it_is(run: dict[str, Any]) -> None:
    page, _ = ReportExporter().from_notebook_node(nbformat.from_dict(run["notebook"]))
    assert f"<title>{MARK} (TV-123)</title>" in page
    assert page.count(f"<p>{MARK}.</p>") >= 7
    assert 'role="alert"' not in page
