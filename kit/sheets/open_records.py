"""The open records of a unit as a workbook, with their answers to fill in: read back as `open_records*`."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from kit.assessment.tag import assess_tag
from kit.basis.records import Problem, UnitRecords
from kit.basis.tables.measurements import DISPOSITIONS
from kit.records import tag_records
from kit.records.files.raw import RawTable, is_blank
from kit.runs.outputs.open_records import OPEN_COLUMNS, as_judged, open_rows
from kit.sheets import style
from kit.sheets.cells import at, bytes_of, format_for, hint_at, offer, put_text, set_page, words_list
from kit.sheets.folder import write

FILE: Final = "open_records.xlsx"
_SHEET: Final = "open_records"
_WIDTHS: Final[dict[str, float]] = {"record": 18, "file": 26, "row": 6, "what": 60, "reason": 32, "of_table": 12}
_LINE_HEIGHT: Final = 14.5  # points
_USUAL_WIDTH: Final = 12.0
_ANSWERED: Final = tuple(name for name in DISPOSITIONS.columns if not name.startswith("of_") and name != "record")
_HOW: Final = (
    "Decide in the white cells: decision, reason, by and on, and what the decision needs besides. A row without a "
    "decision waits. Put the file into the unit's records/ under its own name."
)


def make_open_records(unit: UnitRecords, folder: Path) -> str:
    """Write the workbook, and say what it holds; a unit without open records gets none."""
    rows = open_rows(_problems(unit), unit.tags)
    if not rows:
        return "No record waits for an answer: no sheet was made."
    path = folder / FILE
    write(path, open_records_bytes(unit.settings.title, rows), _is_unanswered)
    count = "1 record" if len(rows) == 1 else f"{len(rows)} records"
    return f"{path}: {count} unanswered. Fill in the white cells, then put the file into records/."


def _is_unanswered(table: RawTable) -> bool:
    """Whether nobody filled in a cell of a list of open records."""
    return all(
        is_blank(map(str, column.tolist()))
        for heading, column in zip(table.header, table.columns, strict=True)
        if heading in _ANSWERED
    )


def _problems(unit: UnitRecords) -> list[Problem]:
    """Every problem as judging every tag leaves it."""
    judged: list[Problem] = []
    for tag in unit.tags:
        records = tag_records(unit, tag)
        judged += assess_tag(records).problems
    return as_judged(unit.problems, judged)


def open_records_bytes(title: str, rows: Sequence[Mapping[str, Any]]) -> bytes:
    """The workbook of open records, one row a record, by the columns of open_records.csv."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = _SHEET
    for number, text in enumerate((f"Open records of {title}", _HOW), start=1):
        put_text(at(sheet, number, 1), text)
        at(sheet, number, 1).font = style.TITLE if number == 1 else style.sized(12)
    head = 3
    for place, name in enumerate(OPEN_COLUMNS, start=1):
        cell = at(sheet, head, place)
        put_text(cell, name)
        cell.font, cell.fill, cell.border, cell.alignment = style.BOLD, style.HEAD, style.FRAME, style.HEADED
        sheet.column_dimensions[get_column_letter(place)].width = _WIDTHS.get(name, _USUAL_WIDTH)
    for number, row in enumerate(rows, start=head + 1):
        _row(sheet, number, row)
    _choices(sheet, head + 1, head + len(rows))
    set_page(sheet, len(OPEN_COLUMNS), head, head + len(rows), (f"Open records of {title}", ""))
    return bytes_of(book)


def _row(sheet: Worksheet, number: int, row: Mapping[str, Any]) -> None:
    lines = max(len(textwrap.wrap(str(row.get(name, "")), int(_WIDTHS[name]))) for name in ("file", "what"))
    sheet.row_dimensions[number].height = _LINE_HEIGHT * (lines + 1)
    for place, name in enumerate(OPEN_COLUMNS, start=1):
        cell = at(sheet, number, place)
        cell.border, cell.alignment = style.FRAME, style.WRAPPED
        if name in _ANSWERED:
            cell.number_format = format_for(DISPOSITIONS.kind(name))
            cell.protection = style.UNLOCKED
            continue
        cell.fill = style.PRINTED
        value = row.get(name)
        if value is not None and value != "":
            put_text(cell, str(value))


def _choices(sheet: Worksheet, first: int, last: int) -> None:
    for name in _ANSWERED:
        letter = get_column_letter(OPEN_COLUMNS.index(name) + 1)
        cells = [f"{letter}{first}:{letter}{last}"]
        words = DISPOSITIONS.words(name)
        if words:
            offer(sheet, cells, words_list(words), DISPOSITIONS.about(name))
        else:
            hint_at(sheet, cells, DISPOSITIONS.about(name))
