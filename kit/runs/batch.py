"""A unit's dossier in one go: every tag that changed, the collected tables, the unit's page."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from kit.contract.verdicts import FAILING
from kit.records import read_unit
from kit.runs.dossier import UNIT_PAGE, open_dossier
from kit.runs.execute import TIME_LIMIT_S, Engine, run_tag
from kit.runs.workers import Job, available_workers, run_jobs

Progress = Callable[[int, int, str, str], None]  # done, of how many, tag, what failed ("" when nothing did)


@dataclass(frozen=True, slots=True)
class BatchReport:
    """What a batch did."""

    unit_page: Path
    ran: tuple[str, ...]  # tags whose notebook was run
    unchanged: int  # tags whose last report stands
    failed: Mapping[str, str]  # what failed, by tag
    unit_page_error: str  # what failed on the unit's page; "" when nothing did
    verdicts: Mapping[str, str]  # by tag; "" where there is no report

    @property
    def complete(self) -> bool:
        """Whether every page was made."""
        return not self.failed and not self.unit_page_error

    @property
    def any_tag_fails(self) -> bool:
        """Whether the verdict of a tag is fail or conditional fail."""
        return any(verdict in FAILING for verdict in self.verdicts.values())


@dataclass(frozen=True, slots=True)
class TagReport:
    """What one tag's run left."""

    page: Path
    verdict: str  # "" when its notebook failed
    reason: str  # the verdict in a sentence, or what failed
    failed: bool


def run_batch(
    unit_folder: Path,
    outputs: Path,
    *,
    every_tag: bool = False,
    workers: int | None = None,
    progress: Progress | None = None,
    time_limit_s: int = TIME_LIMIT_S,
    engine: Engine = "fast",
) -> BatchReport:
    """Run every tag that changed since its last report, then the unit's page.

    What changed is decided by content: the tag's own slice of the records, the notebook, the package.
    A notebook that fails leaves a page that says so, and is run again by the next batch.

    Raises
    ------
    UnitError, RunError
        If the unit's folder or the outputs folder cannot be used.
    """
    unit = read_unit(unit_folder)
    dossier = open_dossier(unit, unit_folder, outputs)
    changed = [tag for tag in unit.tags if every_tag or not dossier.stands(tag)]
    jobs = (Job(tag, dossier.slice_of(tag), dossier.label, time_limit_s, engine=engine) for tag in changed)
    failed: dict[str, str] = {}
    wanted_workers = max(1, min(workers or available_workers(), len(changed)))
    for done, (job, outcome) in enumerate(run_jobs(jobs, wanted_workers), 1):
        dossier.keep_tag(job.tag, outcome)
        if outcome.error:
            failed[job.tag] = outcome.error
        if progress is not None:
            progress(done, len(changed), job.tag, outcome.error)
    dossier.withdraw_others()
    verdicts, unit_page_error = dossier.collect(time_limit_s, engine)
    dossier.issue(whole_unit=True)
    unchanged = len(unit.tags) - len(changed)
    return BatchReport(outputs / UNIT_PAGE, tuple(changed), unchanged, failed, unit_page_error, verdicts)


def run_report(
    unit_folder: Path, outputs: Path, tag: str, *, time_limit_s: int = TIME_LIMIT_S, engine: Engine = "fast"
) -> TagReport:
    """Run one tag's notebook and put its page in its place among the unit's outputs.

    The unit's page and tables are left as they are: the next batch brings them up to date.

    Raises
    ------
    UnitError, RunError
        If the unit's folder, the tag or the outputs folder cannot be used.
    """
    unit = read_unit(unit_folder)
    dossier = open_dossier(unit, unit_folder, outputs)
    outcome = run_tag(tag, dossier.slice_of(tag), dossier.label, time_limit_s=time_limit_s, engine=engine)
    dossier.keep_tag(tag, outcome)
    dossier.issue(whole_unit=False)
    result = json.loads(outcome.result) if outcome.result else {}
    page = outputs / dossier.place(tag, "report.html")
    return TagReport(page, result.get("verdict", ""), result.get("reason", outcome.error), bool(outcome.error))
