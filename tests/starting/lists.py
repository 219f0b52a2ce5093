"""Invented lists of tags, as plants keep them."""

from __future__ import annotations

import io
from collections.abc import Sequence
from pathlib import Path

import openpyxl

HEADINGS = (
    "Item No.",
    "Service description",
    "System",
    "Valve type",
    "Stroke [°]",
    "Control type",
    "Input signal [mA]",
    "Output signal (mA)",
    "Fail pos.",
    "Stroke time (s)",
    "Remarks",
)
ROWS: tuple[Sequence[object], ...] = (
    ("FV-1001", "Cooling water", 30, "Ball", 90, "control", "4-20", "4-20", "FC", 25, None),
    ("FV-1002", "Steam", 30, "Ball", "90 deg", "control", "4-20", "4-20", "FO", 25, "near stairs"),
    ("XV-1003", "Drain", 31, "Ball", 90, "on/off", "4-20", None, "FL", 15, None),
    (None, "Subtotal", 3),
    ("FV-1001", "Cooling water", 30, "Ball", 90, "control", "4-20", "4-20", "FC", 25, None),
    HEADINGS,
    ("FV-1004", "Air", 31, "Ball", "abt 90", "control", "4-20", "4-20", "FC", 25, "=HYPERLINK"),
    ("FV-1005", "Air", 31, "Ball", 90, "control", "4-20", "4-20", "FC", 25, None),
    ("FV-1005", "Air", 31, "Ball", 90, "control", "4-20", "4-20", "FO", 25, None),
)


def workbook(folder: Path, rows: Sequence[Sequence[object]] = ROWS, headings: Sequence[str] = HEADINGS) -> Path:
    """A workbook with a title, the headings in its fourth row, and a sheet of something else beside."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Valves"
    sheet["A1"] = "Invented works: list of valves"
    for number, row in enumerate((headings, *rows), start=4):
        for column, cell in enumerate(row, start=1):
            sheet.cell(number, column).value = cell  # type: ignore[assignment]
    book.create_sheet("Colours").append(["red", "hot"])
    content = io.BytesIO()
    book.save(content)
    path = folder / "valves.xlsx"
    path.write_bytes(content.getvalue())
    return path
