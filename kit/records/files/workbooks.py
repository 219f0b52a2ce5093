"""Workbooks: visible sheets, stored values, what a spreadsheet makes of dates and formulas."""

from __future__ import annotations

import io
import warnings
import zipfile
from collections.abc import Sequence
from datetime import date, datetime, time
from typing import Any

import numpy as np
import openpyxl

from kit.records.files.raw import HEADER_WITHIN, RawFile, RawTable, UnreadableFileError, as_texts, find_header, is_blank


def read_workbook(data: bytes, known: frozenset[str]) -> RawFile:
    """Read every sheet of an XLSX file's bytes; ``known`` holds every heading, to find the header."""
    if not zipfile.is_zipfile(io.BytesIO(data)):
        raise UnreadableFileError("It is no XLSX workbook, whatever its name says. Save it as XLSX or as CSV UTF-8.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl remarks on parts of a workbook that hold no cells
            values = _sheets(data, stored_values=True)
            formulas = _sheets(data, stored_values=False) if _has_formulas(data) else values
    except Exception as error:  # a broken workbook breaks openpyxl in many ways
        raise UnreadableFileError(f"The workbook is damaged ({type(error).__name__}). Save it again.") from error
    tables = (
        _table(name, hidden, _with_formulas(rows, formulas[place][2]), known)
        for place, (name, hidden, rows) in enumerate(values)
    )
    found = tuple(table for table in tables if table is not None)
    if not found:
        raise UnreadableFileError("The file is empty. Remove it or fill it in.")
    return RawFile(found)


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


def _has_formulas(data: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        sheets = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        return any(b"<f>" in content or b"<f " in content for content in map(archive.read, sheets))


def _sheets(data: bytes, *, stored_values: bool) -> list[tuple[str, bool, list[list[str]]]]:
    book = openpyxl.load_workbook(io.BytesIO(data), read_only=True, data_only=stored_values)
    try:
        found = []
        for sheet in book.worksheets:
            sheet.reset_dimensions()  # stored dimensions are often wrong
            rows = [[cell_text(cell) for cell in row] for row in sheet.iter_rows(values_only=True)]
            found.append((sheet.title, sheet.sheet_state != "visible", rows))
        return found
    finally:
        book.close()


def _with_formulas(values: list[list[str]], formulas: list[list[str]]) -> list[list[str]]:
    """The stored values; where a formula has none, the formula, so that it isn't taken for a blank cell."""
    if formulas is values:
        return values
    return [
        [value or (formula if formula.startswith("=") else "") for value, formula in zip(row, beside, strict=False)]
        for row, beside in zip(values, formulas, strict=True)
    ]


def _table(name: str, hidden: bool, lines: Sequence[list[str]], known: frozenset[str]) -> RawTable | None:
    place = find_header(lines[:HEADER_WITHIN], known)
    if place is None:
        place = next((number for number, line in enumerate(lines) if not is_blank(line)), None)
    if place is None:
        return None
    width = max(number for number, cell in enumerate(lines[place], start=1) if cell.strip())
    header = tuple(lines[place][:width])
    filled = [(number, line) for number, line in enumerate(lines[place + 1 :], start=place + 2) if not is_blank(line)]
    faults = {
        count: f"Cells beside the {width} headed columns. Give every column a heading or clear them."
        for count, (_, line) in enumerate(filled)
        if not is_blank(line[width:])
    }
    cells = [(line + [""] * width)[:width] for _, line in filled]
    columns = tuple(as_texts(column) for column in zip(*cells, strict=True)) or tuple(as_texts([]) for _ in header)
    rows = np.array([number for number, _ in filled], dtype=np.int64)
    return RawTable(header, columns, rows, faults, sheet=name, hidden=hidden)
