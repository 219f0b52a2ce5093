"""Records, an assessment and a page that the tests of the views share."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable
from pathlib import Path

import nbformat
import pytest

from kit.assessment import assess_tag
from kit.basis.records import TagRecords
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path
from kit.views.exporter import ReportExporter, plotly_script
from kit.views.figure_file import FIGURE_FILE, figure_file
from kit.views.report import sections
from tests.views import made, made_recordings
from tests.views.reader import outputs_of

CALLS = [
    found[1]
    for cell in nbformat.read(notebook_path(TAG_REPORT), as_version=4).cells
    for found in [re.search(r"^show\(sections\.(\w+)\(records, assessment\)\)$", cell.source, re.MULTILINE)]
    if found
]


def executed(records: TagRecords) -> nbformat.NotebookNode:
    """A notebook as a run would leave it, made without a kernel."""
    assessment = assess_tag(records)
    cells = [nbformat.v4.new_markdown_cell("# Tag report", metadata={"tags": ["notebook-only"]})]
    for name in CALLS:
        cells.append(nbformat.v4.new_markdown_cell(f"## About {name}\n\nWhat the reader sees."))
        cell = nbformat.v4.new_code_cell(f"show(sections.{name}(records, assessment))")
        cell.outputs = outputs_of(getattr(sections, name)(records, assessment))
        cells.append(cell)
    return nbformat.v4.new_notebook(cells=cells)


@functools.cache
def page_of_made_records() -> str:
    return str(ReportExporter().from_notebook_node(executed(made.records()))[0])


@pytest.fixture
def notebook() -> nbformat.NotebookNode:
    return executed(made.records())


@pytest.fixture
def page() -> str:
    return page_of_made_records()


@pytest.fixture
def report_file(tmp_path: Path, page: str) -> Path:
    """The page in a folder as the batch lays it out, with what its figures are explored from."""
    return _laid_out(tmp_path, page, executed(made.records()))


@pytest.fixture
def make_notebook() -> Callable[[TagRecords], nbformat.NotebookNode]:
    return executed


@pytest.fixture
def recording_report_file(tmp_path: Path) -> Path:
    """The page of a tag whose whole record is one recording, laid out as the batch does."""
    logs = (made_recordings.log("hunting"), made_recordings.log("bad_spot", says="b"))
    notebook = executed(made_recordings.records("hunting", recordings=logs))
    return _laid_out(tmp_path, str(ReportExporter().from_notebook_node(notebook)[0]), notebook)


def _laid_out(folder: Path, page: str, notebook: nbformat.NotebookNode) -> Path:
    (folder / "assets").mkdir()
    (folder / "assets" / "plotly.min.js").write_bytes(plotly_script())
    tag = folder / "tags" / "FV-1"
    tag.mkdir(parents=True)
    (tag / "report.html").write_text(page, encoding="utf-8")
    (tag / FIGURE_FILE).write_bytes(figure_file(notebook))
    return tag / "report.html"
