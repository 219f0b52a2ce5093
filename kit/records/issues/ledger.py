"""The ledger of a unit's issues: issued/issues.csv, one row an issue, in the order of issuing."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Final

from kit.basis.issues import COMMITTED, ISSUED, LEDGER, Issue

COLUMNS: Final = (*(each.name for each in fields(Issue)), "manifest")
_SHA256: Final = re.compile("[0-9a-f]{64}")
_ENCODING: Final = "utf-8-sig"  # by its mark a spreadsheet knows that it is UTF-8
_RUNS_AS_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r", "\n")


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """One row: an issue, and the SHA-256 of the manifest that holds it to its files."""

    issue: Issue
    manifest: str

    @property
    def mark(self) -> dict[str, str]:
        """What the issue after it, of whatever tag, says of it."""
        return {"tag": self.issue.tag, "revision": self.issue.revision, "manifest": self.manifest}

    def cells(self) -> tuple[str, ...]:
        """The row as it stands in the file: a text that a spreadsheet would run gets an apostrophe before it."""
        texts = (*asdict(self.issue).values(), self.manifest)
        return tuple(f"'{text}" if text.startswith(_RUNS_AS_FORMULA) else text for text in texts)


@dataclass(frozen=True, slots=True)
class Ledger:
    """The ledger as it was read."""

    rows: tuple[LedgerRow, ...] = ()
    damage: tuple[str, ...] = ()  # what makes the file as a whole of no use, in sentences

    def by_tag(self) -> Mapping[str, list[LedgerRow]]:
        """The rows of each tag, oldest first."""
        found: dict[str, list[LedgerRow]] = {}
        for row in self.rows:
            found.setdefault(row.issue.tag, []).append(row)
        return found


def read_ledger(unit_folder: Path) -> Ledger:
    """The ledger of a unit's folder; an empty one where nothing was issued yet."""
    path = unit_folder / ISSUED / LEDGER
    if (unit_folder / ISSUED / COMMITTED).is_dir():
        return Ledger(damage=("An issue was interrupted. The next `strokebook issue` brings it to its end first.",))
    try:
        text = path.read_bytes().decode(_ENCODING)
    except FileNotFoundError:
        return Ledger()
    except (OSError, UnicodeDecodeError) as error:
        return Ledger(damage=(f"{ISSUED}/{LEDGER} cannot be read ({type(error).__name__}).",))
    try:
        lines = [line for line in csv.reader(io.StringIO(text, newline=""), strict=True) if line]
    except csv.Error as error:
        return Ledger(damage=(f"{ISSUED}/{LEDGER} is no table ({error}).",))
    if not lines or tuple(lines[0]) != COLUMNS:
        return Ledger(damage=(f"{ISSUED}/{LEDGER}: its first line is not the one that was written.",))
    short = [count for count, line in enumerate(lines, start=1) if len(line) != len(COLUMNS)]
    if short:
        return Ledger(damage=tuple(f"{ISSUED}/{LEDGER} row {count} has not all its cells." for count in short))
    return Ledger(tuple(_row(line) for line in lines[1:]))


def salvaged(unit_folder: Path) -> list[LedgerRow]:
    """The rows of a ledger that can be read, each once, whatever is wrong with the rest of the file."""
    try:
        text = (unit_folder / ISSUED / LEDGER).read_bytes().decode(_ENCODING, errors="replace")
    except OSError:
        return []
    lines = csv.reader(io.StringIO(text.replace("\0", ""), newline=""))
    whole = (line for line in lines if len(line) == len(COLUMNS) and _SHA256.fullmatch(line[-1]))
    return list(dict.fromkeys(map(_row, whole)))


def ledger_bytes(rows: Iterable[LedgerRow]) -> bytes:
    """The file: the same bytes for the same rows."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows(row.cells() for row in rows)
    return text.getvalue().encode(_ENCODING)


def edited(row: LedgerRow, issued: Issue) -> Iterator[str]:
    """The columns in which a row is not what its issue's manifest says, each with what that is."""
    wanted = LedgerRow(issued, row.manifest).cells()
    for name, found, right in zip(COLUMNS, row.cells(), wanted, strict=True):
        if found.lstrip("'") != right.lstrip("'"):
            yield f"{name} is {found!r}, issued as {right!r}"


def _row(cells: list[str]) -> LedgerRow:
    return LedgerRow(Issue(*map(_bare, cells[:-1])), cells[-1])


def _bare(text: str) -> str:
    return text[1:] if text.startswith("'") and text[1:].startswith(_RUNS_AS_FORMULA) else text
