"""A unit's dossier in one go: every tag that changed, the collected tables, the unit's page."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterable, Sequence
from pathlib import Path

from kit.records import read_unit, tag_mark
from kit.runs.done import UNIT_PAGE, BatchReport, Progress, TagDone, TagReport, nothing_to_do
from kit.runs.engines import Engine
from kit.runs.notebook.execute import TIME_LIMIT_S, TagRun, run_tag
from kit.runs.notebook.source import Source, packaged_source
from kit.runs.outputs.dossier import BOUND, PDF, Dossier, open_dossier
from kit.runs.outputs.lock import locked
from kit.runs.outputs.standing import all_standing, check_place
from kit.runs.paper.binding import bind_unit, withdraw_stale
from kit.runs.paper.installed import check_installed
from kit.runs.paper.papers import make_pdfs
from kit.runs.workers.cluster import Cluster
from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import available_workers, run_jobs


def run_batch(
    unit_folder: Path,
    outputs: Path,
    *,
    notebook: Source | None = None,
    every_tag: bool = False,
    workers: int | None = None,
    cluster: Cluster | None = None,
    progress: Progress | None = None,
    time_limit_s: int = TIME_LIMIT_S,
    engine: Engine = "fast",
    pdf_of: Sequence[str] | None = None,
    bound: bool = False,
) -> BatchReport:
    """Run every tag that changed since its last report, then the unit's page.

    What changed is decided by content: the tag's own share of the records, the notebook (None: the packaged one),
    the package.
    A notebook that fails leaves a page that says so, and is run again by the next batch. A batch that
    was interrupted is gone on with.

    ``pdf_of``: the tags whose report is made as PDF too, those alone whose PDF does not stand; none named: all
    tags. None: no PDF is made. A PDF whose page changed is taken away with that page, or made again.
    ``bound``: all tags are made as PDF, and bound into one.

    Raises
    ------
    UnitError, RunError
        If the unit's folder, the outputs folder or the cluster cannot be used.
    """
    check_place(unit_folder, outputs)
    source = notebook or packaged_source()
    pdf_of = () if bound else pdf_of
    if pdf_of is not None:
        check_installed()
    with locked(outputs) as work:
        standing = None if every_tag or pdf_of is not None else all_standing(unit_folder, outputs, work, source)
        if standing is not None:
            return nothing_to_do(outputs, standing)
        dossier = open_dossier(read_unit(unit_folder), unit_folder, outputs, work, source)
        papers = _papers(dossier, pdf_of)
        had_pdf = [tag for tag in dossier.unit.tags if dossier.has_pdf(tag)]
        changed = [tag for tag in dossier.unit.tags if every_tag or not dossier.stands(tag)]
        jobs = (Job(tag, dossier.slice_of(tag), dossier.label, time_limit_s, source, engine) for tag in changed)
        wanted_workers = max(1, min(workers or available_workers(), len(changed)))
        finished = cluster.run_jobs(jobs) if cluster is not None and changed else run_jobs(jobs, wanted_workers)
        with contextlib.closing(finished):
            failed = _keep(dossier, finished, len(changed), progress)
        dossier.withdraw_others()
        verdicts, unit_page_error = dossier.collect(time_limit_s, engine)
        dossier.withdraw_lost_pdfs()
        made, no_pdf = make_pdfs(
            dossier, papers, workers=workers or available_workers(), progress=progress, time_limit_s=time_limit_s
        )
        if bound:
            bind_unit(dossier)
        bound_gone = withdraw_stale(dossier)
        dossier.put_on_record(whole_unit=True)
    gone = tuple(tag for tag in had_pdf if not dossier.has_pdf(tag) and tag not in no_pdf)
    unchanged = len(dossier.unit.tags) - len(changed)
    return BatchReport(
        unit_page=outputs / UNIT_PAGE,
        ran=tuple(changed),
        unchanged=unchanged,
        failed=failed,
        unit_page_error=unit_page_error,
        verdicts=verdicts,
        pdfs=tuple(tag for tag in made if tag not in no_pdf),
        no_pdf=no_pdf,
        pdfs_gone=gone,
        bound=outputs / BOUND if bound else None,
        bound_gone=bound_gone,
    )


def run_report(
    unit_folder: Path,
    outputs: Path,
    tag: str,
    *,
    notebook: Source | None = None,
    time_limit_s: int = TIME_LIMIT_S,
    engine: Engine = "fast",
    pdf: bool = False,
) -> TagReport:
    """Run one tag's notebook and put its page in its place among the unit's outputs; with ``pdf`` as PDF too.

    The unit's page and tables are left as they are: the next batch brings them up to date.

    Raises
    ------
    UnitError, RunError
        If the unit's folder, the tag or the outputs folder cannot be used.
    """
    check_place(unit_folder, outputs)
    if pdf:
        check_installed()
    source = notebook or packaged_source()
    with locked(outputs) as work:
        unit = read_unit(unit_folder, recordings_of=tag)
        dossier = open_dossier(unit, unit_folder, outputs, work, source)
        records = dossier.slice_of(tag)
        outcome = run_tag(tag, records, dossier.label, notebook=source, time_limit_s=time_limit_s, engine=engine)
        had_pdf = dossier.has_pdf(tag)
        dossier.keep_tag(tag, outcome)
        _, no_pdf = make_pdfs(dossier, [tag], workers=1, progress=None, time_limit_s=time_limit_s) if pdf else ((), {})
        withdraw_stale(dossier)
        dossier.put_on_record(whole_unit=False)
    result = json.loads(outcome.result) if outcome.result else {}
    page = outputs / dossier.place(tag, "report.html")
    return TagReport(
        page=page,
        verdict=result.get("verdict", ""),
        reason=result.get("reason", outcome.error),
        failed=bool(outcome.error),
        pdf=outputs / dossier.place(tag, PDF) if dossier.has_pdf(tag) else None,
        no_pdf=no_pdf.get(tag, ""),
        pdf_gone=had_pdf and not dossier.has_pdf(tag),
    )


def _papers(dossier: Dossier, pdf_of: Sequence[str] | None) -> list[str]:
    """The tags that are wanted as PDF, in the register's order.

    Raises
    ------
    UnitError
        If one of them is not in the register.
    """
    for tag in pdf_of or ():
        tag_mark(dossier.unit, tag)
    return [tag for tag in dossier.unit.tags if pdf_of is not None and (not pdf_of or tag in pdf_of)]


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
