"""The ledger made again from the manifests of the issued folders; no issued page is touched, and nothing is lost."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from kit.basis.issues import ISSUED, LEDGER, MANIFEST, Issue
from kit.records.issues.issued import IssuedPages
from kit.records.issues.ledger import LedgerRow, ledger_bytes, salvaged
from kit.records.issues.manifest import IssueManifest, manifest_from, place_of, sha256_of_bytes
from kit.runs.errors import RunError
from kit.runs.issued.publish import finish, write_lasting
from kit.runs.outputs.lock import WORK, locked
from kit.runs.outputs.manifest import read_manifest
from kit.runs.outputs.store import refused

_DAMAGED: Final = f"{LEDGER}.damaged"  # no name of a table: nobody reads it as one


@dataclass(frozen=True, slots=True)
class Rebuilt:
    """What a call did."""

    rows: int
    told: tuple[str, ...]  # what was found, in sentences
    kept: Path | None  # where the ledger stands that was there before; None: it was as it should be, or there was none
    wrong: tuple[str, ...]  # what is still wrong with ledger and issues


@dataclass(frozen=True, slots=True)
class _Found:
    """One issue as its own folder has it."""

    row: LedgerRow
    manifest: IssueManifest


def rebuild_ledger(unit_folder: Path, outputs: Path) -> Rebuilt:
    """Write the ledger again, each row from the manifest of its issue, in the order of issuing.

    Where the ledger, or what ``outputs`` remember, has another SHA-256 of a manifest, and no other issue speaks for the
    one in the folder, the row keeps that other one: `verify` goes on telling that the folder is not as it was issued. A
    row whose folder is gone stays too.

    Raises
    ------
    RunError
        If nothing was issued, or the disk refuses.
    """
    root = unit_folder / ISSUED
    if not root.is_dir():
        raise RunError(f"{root}: not there, so nothing was issued and there is no ledger to make again.")
    outputs_say = read_manifest(outputs)[0]
    with locked(root, elsewhere=False):
        finish(unit_folder)
        found, told = _found(unit_folder)
        old = salvaged(unit_folder)
        rows = _rows(found, _Others(old, outputs_say.issued, found), told)
        kept = _put(root, ledger_bytes(_in_order(rows, old)))
    wrong = IssuedPages(unit_folder).damage_of_all(every_file=True)
    return Rebuilt(len(rows), tuple(told), kept, (*wrong, *outputs_say.issues_gone(unit_folder).values()))


def _found(unit_folder: Path) -> tuple[list[_Found], list[str]]:
    """Every issue that a folder holds, and the folders that tell none."""
    found, told = [], []
    for path in sorted((unit_folder / ISSUED).glob(f"[!.]*/*/{MANIFEST}")):
        name = path.relative_to(unit_folder).as_posix()
        try:
            data = path.read_bytes()
            manifest = manifest_from(data)
        except (OSError, ValueError, TypeError, KeyError):
            told.append(f"{name}: no manifest that can be read, so that no row is made of it.")
            continue
        if f"{place_of(manifest.issue.tag, manifest.issue.revision)}/{MANIFEST}" != name:
            told.append(f"{name}: is of {_said(manifest.issue)}, whose folder this is not: no row is made of it.")
            continue
        found.append(_Found(LedgerRow(manifest.issue, sha256_of_bytes(data)), manifest))
    return found, told


class _Others:
    """What else speaks of an issue than its own folder: the ledger as it was, other issues, the outputs."""

    def __init__(
        self, old: Sequence[LedgerRow], remembered: Mapping[str, tuple[str, str]], found: Sequence[_Found]
    ) -> None:
        own = {each.row.manifest for each in found}
        named = {name for each in found for name in _names_before(each.manifest)}
        self.speaks_for = named | {each.manifest for each in old} | {sha for _, sha in remembered.values()}
        self.rows = {(row.issue.tag, row.issue.revision): row for row in old if row.manifest not in own}
        self._remembered = remembered

    def instead_of(self, row: LedgerRow) -> LedgerRow | None:
        """The row that was there, or is remembered, with another manifest than the folder's."""
        kept = self.rows.get((row.issue.tag, row.issue.revision))
        revision, sha = self._remembered.get(row.issue.tag, ("", ""))
        return kept or (LedgerRow(row.issue, sha) if revision == row.issue.revision else None)


def _rows(found: Sequence[_Found], others: _Others, told: list[str]) -> dict[LedgerRow, IssueManifest | None]:
    """The rows of the ledger; what was found of each is told."""
    rows: dict[LedgerRow, IssueManifest | None] = {}
    for each in found:
        other = None if each.row.manifest in others.speaks_for else others.instead_of(each.row)
        if other is not None:
            told.append(
                f"{_said(each.row.issue)}: its manifest is not the one that was issued; its row goes on saying so."
            )
        elif each.row.manifest not in others.speaks_for:
            told.append(f"{_said(each.row.issue)}: nothing but its own folder speaks for it. Look at its signature.")
        rows[other or each.row] = each.manifest
    folders = {(each.row.issue.tag, each.row.issue.revision) for each in found}
    for key, row in others.rows.items():
        if key not in folders:
            told.append(f"{_said(row.issue)}: has a row and no folder to make it from; the row stays.")
            rows[row] = None
    return rows


def _said(issue: Issue) -> str:
    return f"{issue.tag} revision {issue.revision}"


def _in_order(rows: Mapping[LedgerRow, IssueManifest | None], old: Sequence[LedgerRow]) -> list[LedgerRow]:
    """By the day, then as they stood; each after the issue that its manifest says it came after."""
    places = {(row.issue.tag, row.issue.revision): place for place, row in enumerate(old)}
    by_sha = {row.manifest: row for row in rows}

    def when(row: LedgerRow) -> tuple[str, int, str]:
        return row.issue.on, places.get((row.issue.tag, row.issue.revision), len(old)), row.issue.tag

    placed: dict[LedgerRow, None] = {}
    for row in sorted(rows, key=when):
        waiting = {row: None} if row not in placed else {}
        while waiting:
            last = next(reversed(waiting))
            earlier = (each for each in _before(rows[last], by_sha) if each not in placed and each not in waiting)
            if (first := next(earlier, None)) is not None:
                waiting[first] = None
            else:
                placed[last] = waiting.pop(last)
    return list(placed)


def _before(manifest: IssueManifest | None, by_sha: Mapping[str, LedgerRow]) -> Iterator[LedgerRow]:
    """The issues that stood in the ledger when one was made, of its tag and of the unit."""
    return (by_sha[name] for name in _names_before(manifest) if name in by_sha)


def _names_before(manifest: IssueManifest | None) -> tuple[str, ...]:
    """The SHA-256 of the manifests before one."""
    return () if manifest is None else (manifest.before, (manifest.follows or {}).get("manifest", ""))


def _put(root: Path, data: bytes) -> Path | None:
    """Put the ledger in its place, the one before beside it; None: there was none, or the same."""
    path, kept = root / LEDGER, None
    with refused(path):
        if path.exists():
            if path.is_file() and path.read_bytes() == data:
                return None
            kept = next(each for each in _names(root) if not each.exists())
            path.rename(kept)
        prepared = root / WORK / LEDGER
        write_lasting(prepared, data)
        prepared.replace(path)
    return kept


def _names(root: Path) -> Iterator[Path]:
    yield root / _DAMAGED
    count = 2
    while True:
        yield root / f"{_DAMAGED}-{count}"
        count += 1
