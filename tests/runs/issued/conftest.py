"""A unit of three tags whose reports stand, made in this process from what the notebook's cells show."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import nbformat
import pytest

from kit.assessment import assess_tag
from kit.records import from_slice
from kit.runs.batch import run_batch
from kit.runs.issued.issue import Given
from kit.runs.issued.issuing import issue_pages
from kit.runs.issued.report import IssueReport
from kit.runs.notebook.execute import TagRun, result_bytes
from kit.runs.outputs.collected import read_results
from kit.runs.workers.jobs import Job
from kit.views.exporter import ReportExporter
from kit.views.pieces.parts import Page, Part, Section
from kit.views.report import sections
from kit.views.report.result_json import result_content
from kit.views.unit_pages import unit_page
from tests.small_unit import small_unit

__all__ = ["small_unit"]

Issue = Callable[..., IssueReport]


def page_of(slice_bytes: bytes) -> TagRun:
    """Page one, the revisions and the result of a tag, without a kernel: a test of its own holds the real page."""
    records = from_slice(slice_bytes)
    assessment = assess_tag(records)
    parts = (*sections.front_page(records, assessment), *sections.revisions(records, assessment))
    result = result_bytes(result_content(records, assessment))
    notebook = _notebook(Page("T", "T", "../../assets", above=("../../index.html", "small")), *parts)
    page = ReportExporter().page(notebook).encode()
    return TagRun(page, nbformat.writes(notebook).encode(), result, b"figures")


def one_by_one(jobs: Iterable[Job], workers: int) -> Iterator[tuple[Job, TagRun]]:
    """What the pool of processes does, here."""
    return ((job, page_of(job.slice_bytes)) for job in jobs)


def unit_page_of(unit_folder: Path, collected: Path, *_: object, **__: object) -> TagRun:
    """The head and the tags of the unit's page."""
    results = read_results(unit_folder, collected)
    return TagRun(_html((*unit_page.front(results), *unit_page.tags(results))), b"{}", None, b"figures")


def _notebook(*parts: Part) -> nbformat.NotebookNode:
    """An executed notebook that shows these parts."""
    shown = [nbformat.v4.new_output("display_data", data=part.bundle()) for part in parts]
    return nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(outputs=shown, id="all")])


def _html(parts: Iterable[Part]) -> bytes:
    return "".join(part.html for part in parts if isinstance(part, Section)).encode()


@pytest.fixture
def outputs(tmp_path: Path) -> Path:
    return tmp_path / "outputs" / "small"


@pytest.fixture
def unit(small_unit: Path, outputs: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("kit.runs.batch.run_jobs", one_by_one)
    monkeypatch.setattr("kit.runs.issued.issuing.run_jobs", one_by_one)
    monkeypatch.setattr("kit.runs.outputs.dossier.run_unit_page", unit_page_of)
    monkeypatch.setattr("kit.runs.outputs.dossier.plotly_script", lambda: b"script")
    run_batch(small_unit, outputs)
    return small_unit


@pytest.fixture
def issue(unit: Path, outputs: Path) -> Issue:
    def call(*tags: str, on: str = "2026-03-10", reason: str = "For approval", by: str = "Engineer 1") -> IssueReport:
        return issue_pages(unit, outputs, tags, Given(reason, by, on))

    return call
