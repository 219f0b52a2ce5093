"""A unit's dossier in one go: every tag that changed, the collected tables, the unit's page."""

from __future__ import annotations

import contextlib
import csv
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from kit.contract.verdicts import FAILING
from kit.records import hash_inputs, read_unit
from kit.runs.cluster import Cluster
from kit.runs.dossier import UNIT_PAGE, Dossier, check_place, is_there, made_by, open_dossier
from kit.runs.execute import TIME_LIMIT_S, Engine, TagRun, run_tag
from kit.runs.journal import journal_in
from kit.runs.lock import locked
from kit.runs.manifest import read_manifest
from kit.runs.workers import Job, available_workers, run_jobs
from kit.views.unit_results import bare


@dataclass(frozen=True, slots=True)
class TagDone:
    """What became of one tag, and how far the batch has come."""

    done: int
    of: int
    tag: str
    error: str  # what failed; "" when nothing did
    verdict: str  # "" when its notebook failed
    seconds: float
    peak_memory_mb: float | None  # of the notebook's process; None: not known here
    problems: int  # rows set aside or flagged


Progress = Callable[[TagDone], None]


@dataclass(frozen=True, slots=True)
class BatchReport:
    """What a batch did."""

    unit_page: Path
    ran: tuple[str, ...]  # tags whose notebook was run
    unchanged: int  # tags whose last report stands
    failed: Mapping[str, str]  # what failed, by tag
    unit_page_error: str  # what failed on the unit's page; "" when nothing did
    verdicts: Mapping[str, str]  # by tag; "" where there is no report
    nothing_to_do: bool = False  # no input, notebook or source changed: nothing was even read

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
    cluster: Cluster | None = None,
    progress: Progress | None = None,
    time_limit_s: int = TIME_LIMIT_S,
    engine: Engine = "fast",
) -> BatchReport:
    """Run every tag that changed since its last report, then the unit's page.

    What changed is decided by content: the tag's own share of the records, the notebook, the package.
    A notebook that fails leaves a page that says so, and is run again by the next batch. A batch that
    was interrupted is gone on with.

    Raises
    ------
    UnitError, RunError
        If the unit's folder, the outputs folder or the cluster cannot be used.
    """
    check_place(unit_folder, outputs)
    with locked(outputs) as work:
        standing = None if every_tag else _all_standing(unit_folder, outputs, work)
        if standing is not None:
            return BatchReport(outputs / UNIT_PAGE, (), len(standing), {}, "", standing, nothing_to_do=True)
        dossier = open_dossier(read_unit(unit_folder), unit_folder, outputs, work)
        changed = [tag for tag in dossier.unit.tags if every_tag or not dossier.stands(tag)]
        jobs = (Job(tag, dossier.slice_of(tag), dossier.label, time_limit_s, engine=engine) for tag in changed)
        wanted_workers = max(1, min(workers or available_workers(), len(changed)))
        finished = cluster.run_jobs(jobs) if cluster is not None and changed else run_jobs(jobs, wanted_workers)
        with contextlib.closing(finished):
            failed = _keep(dossier, finished, len(changed), progress)
        dossier.withdraw_others()
        verdicts, unit_page_error = dossier.collect(time_limit_s, engine)
        dossier.issue(whole_unit=True)
    unchanged = len(dossier.unit.tags) - len(changed)
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
    check_place(unit_folder, outputs)
    with locked(outputs) as work:
        dossier = open_dossier(read_unit(unit_folder), unit_folder, outputs, work)
        outcome = run_tag(tag, dossier.slice_of(tag), dossier.label, time_limit_s=time_limit_s, engine=engine)
        dossier.keep_tag(tag, outcome)
        dossier.issue(whole_unit=False)
    result = json.loads(outcome.result) if outcome.result else {}
    page = outputs / dossier.place(tag, "report.html")
    return TagReport(page, result.get("verdict", ""), result.get("reason", outcome.error), bool(outcome.error))


def _all_standing(unit_folder: Path, outputs: Path, work: Path) -> dict[str, str] | None:
    """The verdict of every tag if nothing changed since the last batch; None: something did.

    Decided by the SHA-256 of every input, notebook and source, and by the outputs being there: nothing
    is understood, so that ten thousand tags take a second or two.
    """
    issued, _ = read_manifest(outputs)
    whole = issued.unit_page and issued.unit == unit_folder.name and not journal_in(work).entries()
    if not whole or not all(tag.fingerprint for tag in issued.tags.values()):
        return None
    if issued.made_by != made_by() or dict(issued.inputs) != hash_inputs(unit_folder):
        return None
    if not all(is_there(outputs, name, written) for name, written in issued.written(outputs).items()):
        return None
    with (outputs / "tags.csv").open(encoding="utf-8", newline="") as file:
        return {bare(row["tag"]): row["verdict"] for row in csv.DictReader(file)}


def _keep(
    dossier: Dossier, finished: Iterable[tuple[Job, TagRun]], of: int, progress: Progress | None
) -> dict[str, str]:
    """Put what comes in its place as it comes; what failed, by tag."""
    failed: dict[str, str] = {}
    for done, (job, outcome) in enumerate(finished, 1):
        dossier.keep_tag(job.tag, outcome)
        if outcome.error:
            failed[job.tag] = outcome.error
        if progress is not None:
            progress(_tag_done(done, of, job.tag, outcome))
    return failed


def _tag_done(done: int, of: int, tag: str, outcome: TagRun) -> TagDone:
    result = json.loads(outcome.result) if outcome.result else {}
    return TagDone(
        done=done,
        of=of,
        tag=tag,
        error=outcome.error,
        verdict=result.get("verdict", ""),
        seconds=outcome.seconds,
        peak_memory_mb=outcome.peak_memory_mb,
        problems=len(result.get("problems", ())),
    )
