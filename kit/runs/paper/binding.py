"""A unit's PDFs bound into one, on record as long as it is of the PDFs that stand."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

import kit
from kit.basis.settings import UnitSettings
from kit.basis.verdicts import VERDICT_WORDS
from kit.runs.hashing import fingerprint
from kit.runs.outputs.dossier import BOUND, PDF, Dossier
from kit.runs.paper.installed import papers_made_by
from kit.views.paper.about import About

if TYPE_CHECKING:
    from kit.views.paper.cover import IndexRow

_NO_REPORT: Final = "No report"


def bound_mark(dossier: Dossier) -> str:
    """What the bound PDF would be made from and by now: the PDF and the verdict of every tag."""
    names = [dossier.place(tag, name) for tag in dossier.folders for name in (PDF, "result.json")]
    found = [f"{name} {each.sha256}" if (each := dossier.files.get(name)) else name for name in names]
    return fingerprint(part.encode() for part in (*found, dossier.unit.settings.title, papers_made_by()))


def bind_unit(dossier: Dossier) -> None:
    """Bind the PDFs of all tags behind a cover, unless what is there was made from the same."""
    mark = bound_mark(dossier)
    if dossier.bound == mark and dossier.is_there(BOUND):
        return
    from kit.views.paper.bound import Part, bind, pages_in
    from kit.views.paper.cover import Cover, IndexRow, cover_pdf

    rows, parts = [], []
    for tag, registered in dossier.unit.tags.items():
        path, result = dossier.store.folder / dossier.place(tag, PDF), _result(dossier, tag)
        verdict = result.get("verdict", "")
        pages = pages_in(path) if dossier.has_pdf(tag) else 0
        words = VERDICT_WORDS.get(verdict, _NO_REPORT)
        css = verdict.replace("_", "-") or "no-verdict"
        rows.append(IndexRow(tag, registered.service, words, css, result.get("document", ""), pages))
        if pages:
            parts.append(Part(dossier.folders[tag], f"{tag} {registered.service}: {words}", path))
    title = f"{dossier.unit.settings.title or dossier.unit.settings.unit}"
    lines = _lines(rows, dossier.unit.settings)
    about = About(title, "Valve commissioning records of a unit", (dossier.unit.settings.unit,), _maker(), "")
    dossier.keep_bound(bind(cover_pdf(Cover(title, lines, tuple(rows)), about), parts), mark)


def _lines(rows: Sequence[IndexRow], settings: UnitSettings) -> tuple[str, ...]:
    counts = Counter(row.verdict for row in rows)
    lacking = [row.tag for row in rows if not row.pages]
    missing = f"Incomplete: {len(lacking)} of {len(rows)} reports not bound in: {', '.join(lacking)}."
    return (
        *([settings.notice] if settings.notice else []),
        *([f"Revision {settings.revision}"] if settings.revision else []),
        *([missing] if lacking else [f"All {len(rows)} reports are bound in."]),
        *(f"{word}: {counts[word]}" for word in (*VERDICT_WORDS.values(), _NO_REPORT) if counts[word]),
    )


def withdraw_stale(dossier: Dossier) -> bool:
    """Take the bound PDF out of its place when it is not of the PDFs that stand; whether it was."""
    if not dossier.bound or (dossier.bound == bound_mark(dossier) and dossier.is_there(BOUND)):
        return False
    dossier.withdraw_bound()
    return True


def _result(dossier: Dossier, tag: str) -> dict[str, Any]:
    path = dossier.store.folder / dossier.place(tag, "result.json")
    content: dict[str, Any] = json.loads(path.read_bytes()) if path.is_file() else {}
    return content


def _maker() -> str:
    return f"strokebook {kit.__version__}"
