"""Damages of a filled field sheet: marks copied and lost, rows moved and merged, columns deleted, sheets renamed."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random
from typing import Any, Final

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from kit.basis.tables import MEASUREMENTS, TABLES
from kit.records.files.printed import AS_PRINTED, FIXED_GUIDES, WORKED_OUT_GUIDES
from kit.records.files.raw import HEADER_WITHIN
from tests.damages.damage import FREE, Damage, Damager
from tests.damages.made_files import MadeUnit
from tests.damages.made_sheets import is_field_sheet
from tests.sheets.fill import head_row

_GUIDES: Final = (*FIXED_GUIDES, *WORKED_OUT_GUIDES)
_ILLEGIBLE: Final = ("???", "#REF!", "=1/0", "see sheet 2", "12.3.4", "n/a", "-", "30 psi")


@dataclass(slots=True)
class _Place:
    """A filled cell of a printed row, and its worksheet."""

    book: openpyxl.Workbook
    sheet: Worksheet
    head: int
    row: int
    column: int

    @property
    def headings(self) -> list[Any]:
        return [cell.value for cell in self.sheet[self.head]]

    @property
    def mark(self) -> int:
        return self.headings.index(AS_PRINTED) + 1

    @property
    def value(self) -> Any:
        return self.sheet.cell(self.row, self.column).value

    @value.setter
    def value(self, value: Any) -> None:
        self.sheet.cell(self.row, self.column).value = value

    def filled(self) -> list[int]:
        """The columns of the row that hold a number that somebody typed, and that a verdict could rest on."""
        return _filled(self.sheet, self.head, self.row)

    def across(self) -> list[Any]:
        return [self.sheet.cell(self.row, place).value for place in range(1, self.sheet.max_column + 1)]


Change = Callable[[_Place, Random], bool]


def _filled(sheet: Worksheet, head: int, row: int) -> list[int]:
    table = TABLES[sheet.title]
    numbers = [
        place
        for place, cell in enumerate(sheet[head], start=1)
        if cell.value in table.columns and table.kind(str(cell.value)) == "number" and cell.value not in FREE
    ]
    return [
        place for place in numbers if sheet.cell(row, place).value is not None and not _is_printed(sheet, row, place)
    ]


def _is_printed(sheet: Worksheet, row: int, place: int) -> bool:
    return bool(sheet.cell(row, place).protection.locked)


def _damage(kind: str, change: Change) -> Damager:
    """A damager of one filled row of one field sheet."""

    def damage(unit: MadeUnit, rng: Random) -> Damage | None:
        files = [file for file in unit.files if is_field_sheet(file)]
        if not files:
            return None
        file = rng.choice(files)
        book = openpyxl.load_workbook(io.BytesIO(file.data()))
        place = _drawn(book, rng)
        if place is None:
            return None
        where = f"{file.name} {place.sheet.title} row {place.row} {place.headings[place.column - 1]}: {place.across()}"
        if not change(place, rng):
            return None
        made = io.BytesIO()
        book.save(made)
        file.raw = made.getvalue()
        return Damage(f"field sheet, {kind}", where, frozenset(unit.tags))

    return damage


def _drawn(book: openpyxl.Workbook, rng: Random) -> _Place | None:
    sheets = [sheet for sheet in book.worksheets if sheet.title in MEASUREMENTS]
    rng.shuffle(sheets)
    for sheet in sheets:
        head = head_row(sheet)
        rows = [row for row in range(head + 1, sheet.max_row + 1) if _filled(sheet, head, row)]
        if rows:
            row = rng.choice(rows)
            return _Place(book, sheet, head, row, rng.choice(_filled(sheet, head, row)))
    return None


def _mark_of_another_row(at: _Place, rng: Random) -> bool:
    """The hidden mark of another row is filled down over this one, and what was typed is no longer a number."""
    other = rng.randrange(at.head + 1, at.sheet.max_row + 1)
    at.sheet.cell(at.row, at.mark).value = at.sheet.cell(other, at.mark).value
    at.value = rng.choice(_ILLEGIBLE)
    return True


def _mark_lost(at: _Place, rng: Random) -> bool:
    at.sheet.cell(at.row, at.mark).value = None
    at.value = rng.choice(_ILLEGIBLE)
    return True


def _marks_lost(at: _Place, rng: Random) -> bool:
    if rng.random() < 0.5:
        at.sheet.delete_cols(at.mark)
    else:
        at.sheet.cell(at.head, at.mark).value = None
    return True


def _illegible(at: _Place, rng: Random) -> bool:
    at.value = rng.choice(_ILLEGIBLE)
    return True


def _value_cleared(at: _Place, rng: Random) -> bool:
    """One of several values of a row; a row that holds one alone is blank again without it, and is no record."""
    if len(at.filled()) < 2:
        return False
    at.value = None
    return True


def _below_merged(at: _Place, rng: Random) -> bool:
    """Merging keeps the upper cell alone."""
    if at.column not in _filled(at.sheet, at.head, at.row + 1):
        return False
    at.sheet.merge_cells(start_row=at.row, end_row=at.row + 1, start_column=at.column, end_column=at.column)
    return True


def _under_a_guide(at: _Place, rng: Random) -> bool:
    """A value is written into a printed column instead of its own."""
    guides = [place for place, name in enumerate(at.headings, start=1) if name in _GUIDES]
    if not guides:
        return False
    at.sheet.cell(at.row, rng.choice(guides)).value, at.value = at.value, None
    return True


def _beyond(at: _Place, rng: Random) -> bool:
    at.sheet.cell(at.row, at.mark + rng.choice((1, 2))).value, at.value = at.value, None
    return True


def _over_the_mark(at: _Place, rng: Random) -> bool:
    at.sheet.cell(at.row, at.mark).value, at.value = at.value, None
    return True


def _row_above_the_headings(at: _Place, rng: Random) -> bool:
    to = rng.randrange(1, at.head)
    for place, value in enumerate(at.across(), start=1):
        at.sheet.cell(to, place).value = value
        at.sheet.cell(at.row, place).value = None
    return True


def _row_to_another_sheet(at: _Place, rng: Random) -> bool:
    """Cut, and pasted below the rows of another sheet."""
    other = rng.choice([sheet for sheet in at.book.worksheets if sheet.title not in (at.sheet.title, "settings")])
    to = other.max_row + rng.choice((1, 2))
    for place, value in enumerate(at.across(), start=1):
        other.cell(to, place).value = value
        at.sheet.cell(at.row, place).value = None
    return True


def _shifted(at: _Place, rng: Random) -> bool:
    """The row's cells from this one on stand one to the right."""
    cells = at.across()
    at.sheet.cell(at.row, at.column).value = None
    for place, value in enumerate(cells[at.column - 1 :], start=at.column + 1):
        at.sheet.cell(at.row, place).value = value
    return True


def _visit_unknown(at: _Place, rng: Random) -> bool:
    at.sheet.cell(at.row, 2).value = rng.choice(("", "2", "1a", "?", "visit", None))
    return True


def _tag_unknown(at: _Place, rng: Random) -> bool:
    tag = str(at.sheet.cell(at.row, 1).value)
    at.sheet.cell(at.row, 1).value = rng.choice((None, "", "?", tag[:-1], f"{tag}9", tag[1:]))
    return True


def _column_deleted(at: _Place, rng: Random) -> bool:
    at.sheet.delete_cols(at.column)
    return True


def _headings_deleted(at: _Place, rng: Random) -> bool:
    at.sheet.delete_rows(at.head)
    return True


def _headings_too_low(at: _Place, rng: Random) -> bool:
    at.sheet.insert_rows(1, HEADER_WITHIN)
    return True


def _heading_lost(at: _Place, rng: Random) -> bool:
    at.sheet.cell(at.head, at.column).value = rng.choice((None, "x", *_GUIDES, AS_PRINTED))
    return True


def _sheet_renamed(at: _Place, rng: Random) -> bool:
    at.sheet.title = rng.choice(
        ("Sheet1", "punch", "open_records", "dispositions 2", f"old {at.sheet.title}", "visits 2")
    )
    return True


def _sheet_hidden(at: _Place, rng: Random) -> bool:
    at.sheet.sheet_state = rng.choice(("hidden", "veryHidden"))
    return True


SHEET_DAMAGES: Final[Sequence[Damager]] = (
    _damage("mark of another row", _mark_of_another_row),
    _damage("mark lost", _mark_lost),
    _damage("all marks lost", _marks_lost),
    _damage("illegible", _illegible),
    _damage("value cleared", _value_cleared),
    _damage("cells merged", _below_merged),
    _damage("value under a guide", _under_a_guide),
    _damage("value beyond the columns", _beyond),
    _damage("value over the mark", _over_the_mark),
    _damage("row above the headings", _row_above_the_headings),
    _damage("row in another sheet", _row_to_another_sheet),
    _damage("cells shifted", _shifted),
    _damage("visit unknown", _visit_unknown),
    _damage("tag unknown", _tag_unknown),
    _damage("column deleted", _column_deleted),
    _damage("headings deleted", _headings_deleted),
    _damage("headings too low", _headings_too_low),
    _damage("heading lost", _heading_lost),
    _damage("sheet renamed", _sheet_renamed),
    _damage("sheet hidden", _sheet_hidden),
)
