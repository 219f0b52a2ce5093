"""The PDFs of a unit's reports: which stand, which are made, what they say of themselves and carry."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

import kit
from kit.basis.records import TagRecords
from kit.basis.registers import Tag
from kit.basis.settings import UnitSettings
from kit.basis.verdicts import VERDICT_WORDS
from kit.records import tag_records, to_slice
from kit.runs.done import Progress, TagDone
from kit.runs.hashing import fingerprint
from kit.runs.outputs.dossier import PDF, SHOWN_IN_PDF, Dossier
from kit.runs.paper.installed import papers_made_by
from kit.runs.paper.jobs import PaperDone, PaperJob, make_papers
from kit.views.paper.about import About, Attached

_RECORDS: Final = "the records of this tag that the page was made from; the notebook makes the page of them again"
_RESULT: Final = "what was worked out and judged, unrounded"


def make_pdfs(
    dossier: Dossier, tags: Sequence[str], *, workers: int, progress: Progress | None, time_limit_s: int
) -> tuple[tuple[str, ...], dict[str, str]]:
    """Make the PDFs of these tags that do not stand; which those were, and what failed, by tag.

    A PDF that could not be made again is taken away: what is there is of the page beside it.
    """
    wanted = [tag for tag in tags if not pdf_stands(dossier, tag)]
    failed: dict[str, str] = {}
    jobs = (_job(dossier, tag) for tag in wanted)
    for count, done in enumerate(make_papers(jobs, workers=workers, time_limit_s=time_limit_s), 1):
        tag = done.job.tag
        if done.error:
            failed[tag] = done.error
            dossier.withdraw_pdf(tag)
        else:
            dossier.keep_pdf(tag, done.job.to, pdf_mark(dossier, tag))
        done.job.to.unlink(missing_ok=True)
        if progress is not None:
            progress(_told(done, count, len(wanted)))
    return tuple(wanted), failed


def pdf_stands(dossier: Dossier, tag: str) -> bool:
    """Whether a tag's PDF was made from what is there now, and is still in its place."""
    return dossier.is_there(dossier.place(tag, PDF)) and dossier.tags[tag].pdf == pdf_mark(dossier, tag)


def pdf_mark(dossier: Dossier, tag: str) -> str:
    """What a tag's PDF would be made from and by now: its page, its result, its share of the records."""
    shown = [dossier.files.get(dossier.place(tag, name)) for name in SHOWN_IN_PDF]
    parts = (*(each.sha256 if each else "" for each in shown), dossier.present(tag, (True, False)).fingerprint)
    return fingerprint(part.encode() for part in (*parts, papers_made_by()))


def _told(done: PaperDone, count: int, of: int) -> TagDone:
    return TagDone(count, of, done.job.tag, done.error, "", done.seconds, done.peak_memory_mb, problems=0, made="PDFs")


def _job(dossier: Dossier, tag: str) -> PaperJob:
    paths = {name: dossier.store.folder / dossier.place(tag, name) for name in SHOWN_IN_PDF}
    result = paths["result.json"].read_bytes() if paths["result.json"].is_file() else b""
    to = dossier.store.prepared(dossier.place(tag, PDF))
    return paper_job(tag_records(dossier.unit, tag), paths["report.html"], to, result)


def paper_job(records: TagRecords, page: Path, to: Path, result: bytes) -> PaperJob:
    """The PDF of a page that was made from these records, with ``result``, its result.json: empty where it has none."""
    about = _about(records.settings, records.tag, json.loads(result) if result else {})
    return PaperJob(records.tag.tag, page, to, about, tuple(_attached(to_slice(records), result)))


def _attached(records: bytes, result: bytes) -> Iterator[Attached]:
    name = "records.json" if records.startswith(b"{") else "records.zip"  # with recordings it is an archive
    yield Attached(name, records, _RECORDS, "Source")
    if result:
        yield Attached("result.json", result, _RESULT, "Data")


def _about(settings: UnitSettings, tag: Tag, result: dict[str, Any]) -> About:
    document = result.get("document") or tag.tag
    revision = str(result.get("issue", {}).get("words", ""))
    verdict = VERDICT_WORDS.get(result.get("verdict", ""), "Incomplete report, no verdict")
    return About(
        title=f"{' '.join(filter(None, (document, revision)))}: {' '.join(filter(None, (tag.tag, tag.service)))}",
        subject=f"Valve commissioning record, {settings.title or settings.unit}. {verdict}.",
        keywords=tuple(filter(None, (document, revision, tag.tag))),
        made_by=f"strokebook {kit.__version__}",
        of_date=result.get("date") or "",
    )
