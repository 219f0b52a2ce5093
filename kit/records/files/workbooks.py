"""Workbooks: visible sheets, stored values, what a spreadsheet makes of dates and formulas."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from functools import cache
from typing import Any, Final

import openpyxl

from kit.records.files.layout import lay_out
from kit.records.files.printed import filled_in
from kit.records.files.raw import RawFile, RawTable, UnreadableFileError

_FORMULA: Final = re.compile(rb"<(?:\w+:)?f[\s/>]")  # some programs give every element a prefix
_MERGED_CELL: Final = re.compile(rb"<(?:\w+:)?mergeCell\s")
_COMMENT_PART: Final = re.compile(r"xl/(comments|threadedComments)")
_COMMENTS: Final = "It has comments beside cells: they are not read. What is a reading belongs into a cell of its own."
_BESIDE: Final = "Cells beside the {wanted} headed columns. Give every column a heading or clear them."
_MERGED: Final = "The cells {area} are merged: nobody can say what stands in each row. Unmerge them and fill them in."


def read_workbook(data: bytes, known: frozenset[str]) -> RawFile:
    """Read every sheet of an XLSX file's bytes; ``known`` holds every heading, to find the header."""
    sheets = _opened(data)
    found = tuple(table for sheet in sheets if (table := _table(sheet, known)) is not None)
    if not found:
        raise UnreadableFileError("The file is empty. Remove it or fill it in.")
    return RawFile(found, (_COMMENTS,) if _has_comments(data) else ())


def rows_of_sheet(data: bytes, name: str = "") -> list[tuple[int, list[str]]]:
    """The rows of one sheet as they stand, each with its number: the first visible one, or the one of that name.

    Raises :class:`UnreadableFileError` for a file that is no workbook, or has no such sheet.
    """
    sheets = _opened(data)
    wanted = [sheet for sheet in sheets if (sheet.name == name if name else not sheet.hidden)]
    if not wanted:
        there = ", ".join(sheet.name for sheet in sheets)
        raise UnreadableFileError(f"It has no sheet {name!r}; it has {there}." if name else "It has no visible sheet.")
    return list(enumerate(wanted[0].rows, start=1))


def sheets_of(data: bytes) -> list[tuple[str, bool]]:
    """The sheets of a workbook by name, each with whether it is hidden; read as :func:`rows_of_sheet` reads it."""
    return [(sheet.name, sheet.hidden) for sheet in _opened(data)]


def cell_text(cell: Any) -> str:
    """What a cell of a workbook or a Parquet file says, as it would be typed into a CSV file.

    Examples
    --------
    >>> cell_text(12.0), cell_text(datetime(2026, 3, 4)), cell_text(None)
    ('12', '2026-03-04', '')
    """
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return str(cell).upper()
    if isinstance(cell, float):
        return str(int(cell)) if cell.is_integer() and abs(cell) < 1e15 else repr(cell)
    if isinstance(cell, datetime):
        return cell.date().isoformat() if cell.time() == time() and cell.tzinfo is None else cell.isoformat()
    if isinstance(cell, date | time):
        return cell.isoformat()
    return str(cell)


def _opened(data: bytes) -> list[_Sheet]:
    if not zipfile.is_zipfile(io.BytesIO(data)):
        raise UnreadableFileError("It is no XLSX workbook, whatever its name says. Save it as XLSX or as CSV UTF-8.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl remarks on parts of a workbook that hold no cells
            return _read_sheets(data)
    except Exception as error:  # a broken workbook breaks openpyxl in many ways
        raise UnreadableFileError(f"The workbook is damaged ({type(error).__name__}). Save it again.") from error


def _read_sheets(data: bytes) -> list[_Sheet]:
    sheets = _sheets(data, stored_values=True)
    if _any_sheet_has(data, _FORMULA):
        formulas = _sheets(data, stored_values=False)
        sheets = [_with_formulas(sheet, beside) for sheet, beside in zip(sheets, formulas, strict=True)]
    if _any_sheet_has(data, _MERGED_CELL):
        book = openpyxl.load_workbook(io.BytesIO(data))  # read in whole: a read-only workbook tells of no merged cells
        sheets = [_with_merged_cells(sheet, book[sheet.name].merged_cells.ranges) for sheet in sheets]
    return sheets


@dataclass(frozen=True, slots=True)
class _Sheet:
    name: str
    hidden: bool
    rows: list[list[str]]
    merged: Mapping[int, str]  # by row, counted from 1: the range that hides cells of it
    formulas: Mapping[int, frozenset[int]]  # by row, counted from 1: the columns, from 0, in which formulas stand


def _sheets(data: bytes, *, stored_values: bool) -> list[_Sheet]:
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=stored_values)
    try:
        found = []
        for sheet in book.worksheets:
            sheet.reset_dimensions()  # stored dimensions are often wrong
            rows = [[_shown(cell) for cell in row] for row in sheet.iter_rows()]
            found.append(_Sheet(sheet.title, sheet.sheet_state != "visible", rows, {}, {}))
        return found
    finally:
        book.close()


def _shown(cell: Any) -> str:
    """A cell's text, a share that is shown in % as that many %."""
    value = cell.value
    if isinstance(value, int | float) and not isinstance(value, bool) and _is_percent(cell.number_format):
        return f"{float(f'{100 * value:.12g}'):.12g}%"
    return cell_text(value)


@cache
def _is_percent(number_format: str) -> bool:
    """Whether a number format multiplies by 100: a % that is neither quoted nor escaped."""
    return "%" in re.sub(r'"[^"]*"|\\.|\[[^\]]*\]', "", number_format)


def _with_formulas(sheet: _Sheet, formulas: _Sheet) -> _Sheet:
    """The stored values; where a formula has none, the formula, so that it isn't taken for a blank cell."""
    rows = [
        [value or (formula if formula.startswith("=") else "") for value, formula in zip(row, beside, strict=False)]
        for row, beside in zip(sheet.rows, formulas.rows, strict=True)
    ]
    stand = (
        frozenset(place for place, formula in enumerate(beside) if formula.startswith("=")) for beside in formulas.rows
    )
    return replace(sheet, rows=rows, formulas={row: own for row, own in enumerate(stand, start=1) if own})


def _with_merged_cells(sheet: _Sheet, merged: Iterable[Any]) -> _Sheet:
    """Names the rows in which a merged cell hides what stands, or should stand, in cells of their own."""
    told: dict[int, str] = {}
    for area in merged:
        wide = area.max_col > area.min_col
        for row in range(area.min_row + (not wide), area.max_row + 1):
            told.setdefault(row, str(area))
    return replace(sheet, merged=told)


def _has_comments(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return any(_COMMENT_PART.match(name) for name in archive.namelist())


def _any_sheet_has(data: bytes, mark: re.Pattern[bytes]) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = [name for name in archive.namelist() if name.casefold().endswith(".xml")]  # wherever sheets are put
        return any(mark.search(content) for content in map(archive.read, parts))


def _table(sheet: _Sheet, known: frozenset[str]) -> RawTable | None:
    lines = [(number, row, "") for number, row in enumerate(sheet.rows, start=1)]
    hidden = {row: _MERGED.format(area=area) for row, area in sheet.merged.items()}
    sheet_filled = filled_in(lines, hidden, sheet.formulas)
    table = lay_out(lines if sheet_filled is None else sheet_filled.lines, known, _BESIDE, grid=True)
    if table is None:
        return None
    numbers = enumerate(table.rows.tolist())
    merged = {place: hidden[row] for place, row in numbers if row in hidden}
    return replace(
        table,
        row_faults={**table.row_faults, **merged},
        sheet=sheet.name,
        hidden=sheet.hidden,
        beyond={},
        short={},
        is_field_sheet=sheet_filled is not None,
        left_blank=() if sheet_filled is None else sheet_filled.left_blank,
    )
