"""A unit of three tags whose reports stand, made by the real notebook in this process."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

import pytest

from kit.runs.batch import run_batch
from kit.runs.issued.issue import Given
from kit.runs.issued.issuing import issue_pages
from kit.runs.issued.report import IssueReport
from kit.runs.notebook.execute import TagRun
from kit.runs.workers.jobs import Job, run_job
from tests.small_unit import small_unit

__all__ = ["small_unit"]

Issue = Callable[..., IssueReport]


def one_by_one(jobs: Iterable[Job], workers: int) -> Iterator[tuple[Job, TagRun]]:
    """What the pool of processes does, here."""
    return ((job, run_job(job)) for job in jobs)


@pytest.fixture
def outputs(tmp_path: Path) -> Path:
    return tmp_path / "outputs" / "small"


@pytest.fixture
def unit(small_unit: Path, outputs: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr("kit.runs.batch.run_jobs", one_by_one)
    monkeypatch.setattr("kit.runs.issued.issuing.run_jobs", one_by_one)
    run_batch(small_unit, outputs)
    return small_unit


@pytest.fixture
def issue(unit: Path, outputs: Path) -> Issue:
    def call(*tags: str, on: str = "2026-03-10", reason: str = "For approval", by: str = "Engineer 1") -> IssueReport:
        return issue_pages(unit, outputs, tags, Given(reason, by, on))

    return call
