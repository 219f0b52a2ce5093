"""Filling in a field sheet as a person does: by heading and row, with openpyxl, which stores no formula's value."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from kit.records.files.printed import AS_PRINTED

SWITCHES_THAT_LEAD: Final = (
    {"makes_at_pct": 2.1, "stop_at_pct": 0.0},
    {"makes_at_pct": 2.2, "stop_at_pct": 0.0},
    {"makes_at_pct": 97.9, "stop_at_pct": 100.0},
    {"makes_at_pct": 97.8, "stop_at_pct": 100.0},
)


def head_row(sheet: Worksheet) -> int:
    """The row of the headings."""
    return next(row for row in range(1, 21) if AS_PRINTED in [cell.value for cell in sheet[row]])


def column_of(sheet: Worksheet, heading: str) -> int:
    """The column under a heading, counted from 1."""
    return [cell.value for cell in sheet[head_row(sheet)]].index(heading) + 1


def fill_in(path: Path, sheets: Mapping[str, Sequence[Mapping[str, Any]]]) -> bytes:
    """The workbook with its first rows filled in, sheet by sheet; a row of {} is left blank."""
    book = openpyxl.load_workbook(path)
    for name, rows in sheets.items():
        sheet = book[name]
        for number, cells in enumerate(rows, start=head_row(sheet) + 1):
            for heading, value in cells.items():
                sheet.cell(number, column_of(sheet, heading)).value = value
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()
