"""Issuing: the pages of some tags made again with their revision, put into the unit's folder for good."""

from __future__ import annotations

import contextlib
import datetime
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from kit.basis.issues import ISSUED, MANIFEST, RESULT, IssuedTag
from kit.basis.records import UnitRecords
from kit.records import read_unit, tag_mark, tag_records, to_slice
from kit.records.issues.issued import RESTORE, IssuedPages
from kit.records.issues.ledger import LedgerRow, ledger_bytes, read_ledger
from kit.records.issues.manifest import sha256_of_bytes
from kit.runs.engines import Engine
from kit.runs.errors import RunError
from kit.runs.issued.issue import Draft, Given, drafted, files_of
from kit.runs.issued.kept_runs import KeptRuns
from kit.runs.issued.publish import Publication, finish
from kit.runs.issued.report import Issued, IssueReport
from kit.runs.notebook.execute import TIME_LIMIT_S, TagRun
from kit.runs.notebook.source import Source, packaged_source
from kit.runs.outputs.dossier import Dossier, open_dossier
from kit.runs.outputs.lock import locked
from kit.runs.outputs.standing import check_place
from kit.runs.paper.binding import withdraw_stale
from kit.runs.paper.installed import check_installed
from kit.runs.paper.jobs import make_papers
from kit.runs.paper.papers import paper_job, pdf_mark
from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import available_workers, run_jobs

_NAMED: Final = 5  # tags that an error names


def issue_pages(
    unit_folder: Path,
    outputs: Path,
    tags: Sequence[str],
    given: Given,
    *,
    notebook: Source | None = None,
    pdf: bool = False,
    time_limit_s: int = TIME_LIMIT_S,
    engine: Engine = "fast",
) -> IssueReport:
    """Issue each of the tags that changed since its last issue; none named: all that have records.

    What is issued is what could be looked at: every one needs a report of the present records in ``outputs``, which is
    made again with nothing changed but its revision. All are issued, or none. A page is made as PDF too where its
    draft was, or with ``pdf``.

    Raises
    ------
    UnitError, RunError
        If a folder or a tag cannot be used, a report does not stand, or ledger or issued files are damaged.
    """
    check_place(unit_folder, outputs)
    _check_given(given)
    if pdf:
        check_installed()
    source = notebook or packaged_source()
    with locked(outputs) as work, locked(unit_folder / ISSUED, elsewhere=False) as own_work:
        finish(unit_folder)
        unit = read_unit(unit_folder)
        dossier = open_dossier(unit, unit_folder, outputs, work, source)
        wanted = _wanted(unit, tags)
        results = _results(dossier, wanted)
        standing = {tag: each["issue"]["last"]["revision"] for tag, each in results.items() if _is_issued(each)}
        _check_none_lost(dossier, [tag for tag in wanted if tag not in standing])
        drafts = [_drafted(unit, tag, results[tag], given) for tag in wanted if tag not in standing]
        left_out = tuple(tag for tag in unit.tags if not tags and tag not in wanted)
        if not drafts:
            return IssueReport((), standing, left_out)
        papers = [each.issue.tag for each in drafts if pdf or dossier.has_pdf(each.issue.tag)]
        runs = KeptRuns(work / "runs")
        for tag, run in _run(dossier, drafts, time_limit_s, engine):
            runs.keep(tag, run)
        pdfs = _pdfs(drafts, runs, papers, work / "issue", time_limit_s)
        issued = _publish(unit_folder, own_work, dossier, drafts, runs, pdfs)
        error, due = _renewed(dossier, runs, pdfs, time_limit_s, engine)
    return IssueReport(issued, standing, left_out, error, due)


def _check_given(given: Given) -> None:
    texts = {"--reason TEXT": given.reason, "--by NAME": given.by, "--on DATE": given.on}
    missing = [option for option, text in texts.items() if not text.strip()]
    if missing:
        raise RunError(f"An issue says why, by whom and when: add {' '.join(missing)}.")
    if any("\n" in text for text in texts.values()):
        raise RunError("--reason and --by take a text of one line.")
    try:
        datetime.date.fromisoformat(given.on)
    except ValueError as error:
        raise RunError(f"--on {given.on}: no date. Give year, month and day: --on 2026-03-31.") from error


def _wanted(unit: UnitRecords, tags: Sequence[str]) -> list[str]:
    """The tags to issue, in the register's order."""
    for tag in tags:
        tag_mark(unit, tag)
    recorded = set(unit.tables["visits"]["tag"].tolist())
    return [tag for tag in unit.tags if (tag in tags if tags else tag in recorded)]


def _results(dossier: Dossier, wanted: Sequence[str]) -> dict[str, dict[str, Any]]:
    """The present result of each tag.

    Raises
    ------
    RunError
        If a report does not stand, or the ledger or the issues of a tag are damaged.
    """
    late = [tag for tag in wanted if not dossier.stands(tag)]
    if late:
        raise RunError(
            f"{_listed(late)}: no report of the present records, and only what could be looked at is issued. Run "
            f"`strokebook batch {dossier.unit_folder}`, look at it and issue then. Nothing was issued."
        )
    found = {}
    for tag in wanted:
        found[tag] = json.loads((dossier.store.folder / dossier.place(tag, RESULT)).read_bytes())
        damage = found[tag].get("issue", {"damage": ["made by a notebook that tells no revision."]})["damage"]
        if damage:
            raise RunError(f"{tag}: {damage[0]} `strokebook verify` tells all. Nothing was issued.")
    return found


def _check_none_lost(dossier: Dossier, tags: Sequence[str]) -> None:
    """Refuse to give a revision again that was given: its row and its folder are gone, and something remembers it."""
    gone = dossier.before.issues_gone(dossier.unit_folder)
    lost = {tag: f"{each}. {RESTORE}" for tag, each in gone.items()} | IssuedPages(dossier.unit_folder).lost()
    for tag in tags:
        if tag in lost:
            raise RunError(f"{tag}: {lost[tag]} Nothing was issued.")


def _is_issued(result: Mapping[str, Any]) -> bool:
    return bool(result["issue"]["standing"] == "issued")


def _drafted(unit: UnitRecords, tag: str, result: Mapping[str, Any], given: Given) -> Draft:
    issued = unit.issued[tag] if tag in unit.issued else IssuedTag()
    draft = drafted(tag_records(unit, tag), issued, result, given)
    earliest = max((result.get("date") or "", *(each.on for each in issued.issues[-1:])))
    if given.on < earliest:
        raise RunError(f"{tag}: --on {given.on} lies before {earliest}, the day of its readings or of its last issue.")
    return draft


def _run(dossier: Dossier, drafts: Sequence[Draft], time_limit_s: int, engine: Engine) -> Iterator[tuple[str, TagRun]]:
    """The page of each, made from the records with its issue among them."""
    jobs = (
        Job(each.issue.tag, to_slice(each.records), dossier.label, time_limit_s, dossier.notebook, engine)
        for each in drafts
    )
    with contextlib.closing(run_jobs(jobs, max(1, min(available_workers(), len(drafts))))) as finished:
        for job, run in finished:
            yield job.tag, run


def _pdfs(
    drafts: Sequence[Draft], runs: KeptRuns, papers: Sequence[str], work: Path, time_limit_s: int
) -> dict[str, Path]:
    """The PDF of each page that is wanted as one."""
    jobs = []
    for count, each in enumerate(each for each in drafts if each.issue.tag in papers):
        run, folder = runs[each.issue.tag], work / str(count)
        if run.result is None:
            continue
        folder.mkdir(parents=True)
        (folder / "report.html").write_bytes(run.html)
        jobs.append(paper_job(each.records, folder / "report.html", folder / "report.pdf", run.result))
    made = {}
    for done in make_papers(jobs, workers=available_workers(), time_limit_s=time_limit_s):
        if done.error:
            raise RunError(f"{done.job.tag}: no PDF could be made ({done.error}). Nothing was issued.")
        made[done.job.tag] = done.job.to
    return made


def _publish(
    unit_folder: Path, work: Path, dossier: Dossier, drafts: Sequence[Draft], runs: KeptRuns, pdfs: Mapping[str, Path]
) -> tuple[Issued, ...]:
    publication, rows, issued = Publication(unit_folder, work), list(read_ledger(unit_folder).rows), []
    for draft in drafts:
        tag = draft.issue.tag
        pdf = pdfs[tag].read_bytes() if tag in pdfs else None
        follows = rows[-1].mark if rows else {}
        files = files_of(draft, runs[tag], pdf, dossier.present(tag).versions, follows)
        publication.add(draft.place, files)
        rows.append(LedgerRow(draft.issue, sha256_of_bytes(files[MANIFEST])))
        issued.append(Issued(draft.issue, unit_folder / draft.place, rows[-1].manifest))
    publication.commit(ledger_bytes(rows))
    return tuple(issued)


def _renewed(
    before: Dossier, runs: KeptRuns, pdfs: Mapping[str, Path], time_limit_s: int, engine: Engine
) -> tuple[str, bool]:
    """Put the issued pages among the outputs; what failed on the unit's page, and whether the next batch makes it."""
    unit = read_unit(before.unit_folder)
    dossier = open_dossier(unit, before.unit_folder, before.store.folder, before.store.work, before.notebook)
    for tag, run in runs.items():
        dossier.keep_tag(tag, run)
        if tag in pdfs:
            dossier.keep_pdf(tag, pdfs[tag], pdf_mark(dossier, tag))
    withdraw_stale(dossier)
    whole = all(map(dossier.stands, unit.tags))
    error = dossier.collect(time_limit_s, engine)[1] if whole else ""
    dossier.put_on_record(whole_unit=whole)
    return error, not whole


def _listed(tags: Sequence[str]) -> str:
    rest = f" and {len(tags) - _NAMED} more" if len(tags) > _NAMED else ""
    return ", ".join(tags[:_NAMED]) + rest
