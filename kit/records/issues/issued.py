"""What was issued of each tag, held against its own manifests."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from kit.basis.folder_names import tag_of
from kit.basis.issues import ISSUED, LEDGER, MANIFEST, RECORDS, RESULT, IssuedTag, UnitIssues, result_mark
from kit.records.issues.ledger import Ledger, LedgerRow, edited, read_ledger
from kit.records.issues.manifest import IssueManifest, files_wrong, manifest_from, place_of, sha256_of_bytes

RESTORE: Final = "Put back a copy of it, as it was issued."


class IssuedPages(UnitIssues):
    """What was issued, by tag: the files of a tag are looked at when it is asked for."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.ledger: Ledger = read_ledger(folder)
        self._rows = self.ledger.by_tag()
        self._strays = dict(_strays(folder, self.ledger))

    def __getitem__(self, tag: str) -> IssuedTag:
        rows = self._rows.get(tag, [])
        if tag not in self:
            raise KeyError(tag)
        found = _Found(self.folder, [*self.ledger.damage, *self._strays.get(tag, ())])
        manifests = [found.manifest(row) for row in rows]
        found.in_order(rows, manifests)
        return found.tag(rows, manifests[-1] if manifests else None)

    def __iter__(self) -> Iterator[str]:
        return iter(dict.fromkeys((*self._rows, *self._strays)))

    def __contains__(self, tag: object) -> bool:
        return bool(self.ledger.damage) or tag in self._rows or tag in self._strays

    def __len__(self) -> int:
        return sum(1 for _ in self)

    @property
    def damage(self) -> tuple[str, ...]:
        return tuple(self.damage_of_all(every_file=False))

    def damage_of_all(self, *, every_file: bool) -> list[str]:
        """What is wrong with ledger and issues, in sentences; ``every_file``: each byte of each issue is looked at."""
        found = _Found(self.folder, list(self.ledger.damage))
        known: dict[LedgerRow, IssueManifest | None] = {}
        for tag in self:
            found.wrong += self._strays.get(tag, ())
            rows = self._rows.get(tag, [])
            manifests = [found.manifest(row) for row in rows]
            found.in_order(rows, manifests)
            known.update(zip(rows, manifests, strict=True))
            for manifest in manifests if every_file else ():
                if manifest is not None:
                    place = place_of(manifest.issue.tag, manifest.issue.revision)
                    found.wrong += [f"{place}: {each}" for each in files_wrong(self.folder / place, manifest)]
        found.wrong += (each for _, each in _out_of_order(self.ledger.rows, known))
        return list(dict.fromkeys(found.wrong))

    def lost(self) -> dict[str, str]:
        """Issues that a later one, of whatever tag, names and that are gone, row and folder: a sentence by tag."""
        found = _Found(self.folder, [])
        known = {row: found.manifest(row) for row in self.ledger.rows}
        return {tag: words for tag, words in _out_of_order(self.ledger.rows, known) if tag}


@dataclass(slots=True)
class _Found:
    """What is found of a tag's issues, and what is wrong with them."""

    folder: Path
    wrong: list[str]

    def manifest(self, row: LedgerRow) -> IssueManifest | None:
        """The manifest of a row, where it is the one that was issued."""
        place = place_of(row.issue.tag, row.issue.revision)
        name = f"{place}/{MANIFEST}"
        try:
            data = (self.folder / name).read_bytes()
        except OSError:
            self.wrong.append(f"{name}: missing, and the ledger has the issue. {RESTORE}")
            return None
        try:
            manifest = manifest_from(data)
        except (ValueError, TypeError, KeyError):
            self.wrong.append(f"{name}: no manifest that can be read. {RESTORE}")
            return None
        differs = "; ".join(edited(row, manifest.issue))
        if differs:
            self.wrong.append(
                f"{ISSUED}/{LEDGER}: {row.issue.tag} revision {row.issue.revision}: {differs}. "
                "Put the row back as issued."
            )
            return None
        if sha256_of_bytes(data) != row.manifest:
            self.wrong.append(f"{name}: not the one that the ledger names. {RESTORE}")
            return None
        return manifest

    def in_order(self, rows: Sequence[LedgerRow], manifests: Sequence[IssueManifest | None]) -> None:
        """Each issue names the one before it: a row taken out, put in or moved shows."""
        before = ""
        for row, manifest in zip(rows, manifests, strict=True):
            if manifest is not None and manifest.before != before:
                said = f"{row.issue.tag} revision {row.issue.revision}"
                self.wrong.append(
                    f"{ISSUED}/{LEDGER}: {said} does not follow the row before it: a row is gone, or not in its place. "
                    "Put the ledger back as it was."
                )
            before = row.manifest

    def tag(self, rows: Sequence[LedgerRow], last: IssueManifest | None) -> IssuedTag:
        """The tag as issued, with what its last issue was made from."""
        records, result = self._content(last, RECORDS), self._content(last, RESULT)
        return IssuedTag(
            issues=tuple(row.issue for row in rows),
            manifests=tuple(row.manifest for row in rows),
            damage=tuple(dict.fromkeys(self.wrong)),
            changes=last.changes if last else (),
            results=tuple(map(result_mark, result.get("results", ()))),
            records=records,
        )

    def _content(self, manifest: IssueManifest | None, name: str) -> dict[str, Any]:
        """What a file of an issue holds, where it is as it was issued."""
        if manifest is None:
            return {}
        place = place_of(manifest.issue.tag, manifest.issue.revision)
        try:
            data = (self.folder / place / name).read_bytes()
        except OSError:
            self.wrong.append(f"{place}: {name} is missing. {RESTORE}")
            return {}
        if sha256_of_bytes(data) != manifest.files.get(name):
            self.wrong.append(f"{place}: {name} is not as it was issued. {RESTORE}")
            return {}
        content: dict[str, Any] = json.loads(data)
        return content


def _out_of_order(
    rows: Sequence[LedgerRow], manifests: Mapping[LedgerRow, IssueManifest | None]
) -> Iterator[tuple[str, str]]:
    """Rows that do not follow the one that their manifest says: the tag of an issue that is gone, and a sentence."""
    present = {row.manifest for row in rows}
    before: Mapping[str, str] = {}
    for row in rows:
        manifest = manifests[row]
        follows = before if manifest is None or manifest.follows is None else manifest.follows
        if follows != before:
            said = f"{ISSUED}/{LEDGER}: {row.issue.tag} revision {row.issue.revision}"
            if not follows or follows["manifest"] in present:
                yield "", f"{said} does not stand where it was issued. Put the ledger back as it was."
            else:
                gone = f"{follows['tag']} revision {follows['revision']}"
                yield follows["tag"], f"{said} was issued after {gone}, which is gone. {RESTORE}"
        before = row.mark


def _strays(folder: Path, ledger: Ledger) -> Iterator[tuple[str, list[str]]]:
    """Folders of issues that the ledger does not have, by tag."""
    if ledger.damage:
        return  # what it had is not known
    known = {place_of(row.issue.tag, row.issue.revision) for row in ledger.rows}
    root = folder / ISSUED
    tags = sorted(path for path in root.iterdir() if path.is_dir() and path.name[:1] != ".") if root.is_dir() else []
    for top in tags:
        stray = [f"{ISSUED}/{top.name}/{path.name}" for path in sorted(top.iterdir()) if path.is_dir()]
        wrong = [f"{each}: stands there and the ledger has no row of it." for each in stray if each not in known]
        if wrong:
            yield _tag_of(top.name), wrong


def _tag_of(name: str) -> str:
    try:
        return tag_of(name)
    except ValueError:
        return name  # none of ours
