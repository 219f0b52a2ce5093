"""A field sheet as an XLSX workbook: a worksheet a table, A4 across, only cells to fill in unlocked."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from openpyxl import Workbook
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from kit.basis.registers import ROLES, Tag
from kit.basis.tables import TABLES
from kit.basis.tables.columns import Table
from kit.records.files.printed import AS_PRINTED, FIXED_GUIDES, WORKED_OUT_GUIDES, printed_mark
from kit.records.files.raw import HEADER_WITHIN
from kit.records.files.workbooks import cell_text
from kit.sheets import rules, style
from kit.sheets.cautions import BEFORE_MOTION, CAUTIONS, LIMITS, OF_SAFETY
from kit.sheets.cells import at, bytes_of, format_for, hint_at, mark_where, offer, put, put_text, set_page, words_list
from kit.sheets.form import FieldSheet, FormRow, FormTable, Pick, Printed

_KEYS: Final = ("tag", "visit")
_GUIDES: Final = (*FIXED_GUIDES, *WORKED_OUT_GUIDES)
_SMALL_POINTS: Final = 9
_LARGE_POINTS: Final = 14
_A4_WIDTHS: Final = 130.0  # characters across a page that is printed at about its size
_HEAD_CHARACTER: Final = 0.95  # width of a heading's character, beside that of a cell's
_CHARACTERS_PER_WIDTH: Final = 1.25  # of a sentence that runs over narrow columns, at the size of the preamble
_LISTED_POINTS: Final = 11
_TITLE_HEIGHT: Final = 24  # points
_LEADING: Final = 1.4  # height of a line, in points of its letters
_HEAD_HEIGHT: Final = 30  # points: two lines
_ROW_HEIGHT: Final = 21  # points: room for a pen, should it come to that
_LINE_HEIGHT: Final = 14.5  # points, of a line of several in one cell
_STAYS_OPEN: Final = frozenset({"stage"})  # printed, and to be changed all the same
_HOW: Final = (
    "Fill in the white cells alone. A row that nobody fills in is no record. As read: 12.04, 12,04 or 12.04 mA; > 60; "
    "did not open; OL. A reading that could not be made: leave the row blank, or write ? and why under remarks."
)


def workbook_bytes(form: FieldSheet) -> bytes:
    """The workbook of a field sheet; the same sheet gives the same bytes."""
    book = Workbook()
    book.remove(book.worksheets[0])
    _visits_sheet(book.create_sheet("visits"), form)
    for table in form.tables:
        _table_sheet(book.create_sheet(table.table), form, table)
    return bytes_of(book)


@dataclass(frozen=True, slots=True)
class _Grid:
    """Which column of a worksheet is which."""

    columns: tuple[str, ...]  # tag and visit, those to fill in, the guides
    table: Table

    @property
    def mark(self) -> int:
        return len(self.columns) + 1

    def place(self, column: str) -> int:
        return self.columns.index(column) + 1

    def letter(self, column: str) -> str:
        return get_column_letter(self.place(column))

    def width(self, column: str) -> float:
        usual = style.WIDTHS.get(column) or style.WIDTH_OF_KIND[self.table.kind(column)]
        return max(usual, len(column) * _HEAD_CHARACTER)

    @property
    def points(self) -> int:
        """Size of the sentences above: the wider the sheet, the smaller it is printed."""
        return min(max(round(_SMALL_POINTS * self._across / _A4_WIDTHS), _SMALL_POINTS), _LARGE_POINTS)

    @property
    def characters(self) -> int:
        """How many characters of these sentences stand in one line."""
        return int(self._across * _CHARACTERS_PER_WIDTH * _SMALL_POINTS / self.points)

    @property
    def _across(self) -> float:
        return sum(map(self.width, self.columns))


def _visits_sheet(sheet: Worksheet, form: FieldSheet) -> None:
    table = TABLES["visits"]
    roles = [f"{role}_instrument" for role in ROLES if any(each.role == role for each in form.picks)]
    left_out = {f"{role}_instrument" for role in ROLES} - set(roles)
    grid = _Grid(tuple(name for name in table.columns if name not in left_out), table)
    cautions = [*CAUTIONS, *([OF_SAFETY] if form.tag.safety_function else []), LIMITS]
    head = _preamble(sheet, form, grid, "visit", [*form.told, _HOW], cautions)
    printed: dict[str, Printed] = {"date": form.on} if form.on else {}
    if form.continues:
        printed["continues"] = form.continues
    _head_row(sheet, grid, head)
    _row(sheet, grid, head + 1, form, FormRow(printed), still_open=frozenset({"date"}))
    sheet.row_dimensions[head + 1].height = 2 * _ROW_HEIGHT
    first = head + 3
    _picks(sheet, grid, first, form.picks)
    for role in roles:
        rows = [first + 1 + number for number, each in enumerate(form.picks) if f"{each.role}_instrument" == role]
        _offer_instruments(sheet, grid, head + 1, role, rows)
    set_page(sheet, len(grid.columns), head, first + len(form.picks), _foot(form))


def _table_sheet(sheet: Worksheet, form: FieldSheet, of: FormTable) -> None:
    table = TABLES[of.table]
    guides = [name for name in _GUIDES if any(_guide(row, name) for row in of.rows)]
    grid = _Grid(_placed(of, guides), table)
    head = _preamble(sheet, form, grid, of.table.replace("_", " "), of.told, [BEFORE_MOTION])
    _head_row(sheet, grid, head)
    for number, row in enumerate(of.rows, start=head + 1):
        _row(sheet, grid, number, form, row, _STAYS_OPEN)
    last = head + len(of.rows)
    _choices(sheet, grid, head + 1, last, of.columns)
    for name in WORKED_OUT_GUIDES:
        if name in guides:
            _mark_out(sheet, grid, name, head + 1, last)
    set_page(sheet, len(grid.columns), head, last, _foot(form))


def _placed(of: FormTable, guides: Sequence[str]) -> tuple[str, ...]:
    """The columns in order: what is printed, to set, allowed, to fill in, what comes of it."""
    printed = of.rows[0].cells
    first = next((number for number, name in enumerate(of.columns) if name not in printed), len(of.columns))
    fixed = [name for name in guides if name in FIXED_GUIDES]
    worked_out = [name for name in guides if name in WORKED_OUT_GUIDES]
    return (*_KEYS, *of.columns[:first], *fixed, *of.columns[first:], *worked_out)


def _height(grid: _Grid, row: FormRow) -> float:
    """As high as the texts of a row need: those printed by their length, those worked out by how many there may be."""
    texts = {"set to": row.set_to, "allowed": row.allowed, **{k: str(v) for k, v in row.cells.items()}}
    lines = [len(textwrap.wrap(text, int(grid.width(name)))) for name, text in texts.items() if name in grid.columns]
    return max(_ROW_HEIGHT, _LINE_HEIGHT * max(*lines, rules.count(row.now), 1))


def _preamble(
    sheet: Worksheet, form: FieldSheet, grid: _Grid, what: str, told: Sequence[str], cautions: Sequence[str]
) -> int:
    """Write what stands above the headings; the row of the headings.

    Sentences run on over empty cells: merged ones would have to be read a third time. Whatever does not fit into the
    rows in which a reader looks for headings is left out, the last sentences first.
    """
    tag = form.tag
    service = f"  {tag.service}" if tag.service else ""
    goes_on = f", which goes on from visit {form.continues}" if form.continues else ""
    about = (
        f"Field sheet of {form.document}, {form.unit_title}. Visit {form.visit}{goes_on}. "
        "It counts as a record once it is filled in and lies in the unit's records/."
    )
    lines = [f"{tag.tag}{service}: {what}"]
    for sentence in (about, _identity(tag), *cautions, *told):
        lines += textwrap.wrap(sentence, grid.characters)
    room = HEADER_WITHIN - 1
    if len(lines) > room:
        lines = [*lines[: room - 1], "More stands in the tag's report."]
    for number, line in enumerate(lines, start=1):
        cell = at(sheet, number, 1)
        put_text(cell, line)
        cell.font = style.TITLE if number == 1 else style.sized(grid.points)
        sheet.row_dimensions[number].height = _TITLE_HEIGHT if number == 1 else _LEADING * grid.points
        _set_mark(sheet, grid, number, [line])
    return len(lines) + 1


def _identity(tag: Tag) -> str:
    travel = f"travel {tag.travel:g} {tag.travel_unit}" if tag.travel else "travel not known"
    command = tag.command_range.text if tag.command_range else "not known"
    feedback = tag.feedback_range.text if tag.feedback_range else "none"
    shape = (
        f"equal percentage, R {tag.rangeability:g}" if tag.characteristic == "equal_percentage" else tag.characteristic
    )
    ends = [f"shut below {tag.shut_below_pct:g} %"] if tag.shut_below_pct is not None else []
    ends += [f"open above {tag.open_above_pct:g} %"] if tag.open_above_pct is not None else []
    words = [
        *filter(None, (tag.motion, tag.duty.replace("_", "-"))),
        f"{travel} (0 % closed, 100 % open)",
        f"command {command}",
        f"feedback {feedback}",
        f"{tag.action}, {shape}",
        *ends,
        f"on loss of signal: {tag.fail_action or 'not known'}",
        f"on loss of supply: {tag.fail_action_supply or 'not known'}",
        *(["SAFETY FUNCTION"] if tag.safety_function else []),
    ]
    return f"Register: {'; '.join(words)}."


def _head_row(sheet: Worksheet, grid: _Grid, row: int) -> None:
    for place, name in enumerate(grid.columns, start=1):
        cell = at(sheet, row, place)
        put_text(cell, name)
        cell.font, cell.fill, cell.border, cell.alignment = style.BOLD, style.HEAD, style.FRAME, style.HEADED
        sheet.column_dimensions[get_column_letter(place)].width = grid.width(name)
    put_text(at(sheet, row, grid.mark), AS_PRINTED)
    sheet.column_dimensions[get_column_letter(grid.mark)].hidden = True
    sheet.row_dimensions[row].height = _HEAD_HEIGHT


def _row(
    sheet: Worksheet, grid: _Grid, number: int, form: FieldSheet, row: FormRow, still_open: frozenset[str]
) -> None:
    printed: dict[str, Printed] = {"tag": form.tag.tag, "visit": form.visit, **row.cells}
    sheet.row_dimensions[number].height = _height(grid, row)
    own, fixed = [], []
    for place, name in enumerate(grid.columns, start=1):
        cell = at(sheet, number, place)
        cell.border, cell.alignment = style.FRAME, style.WRAPPED
        if name in _GUIDES:
            text = _guide(row, name)
            _put_guide(sheet, grid, number, name, text)
            fixed += [text] if name in FIXED_GUIDES else []
            continue
        cell.number_format = format_for(grid.table.kind(name))
        if name in printed:
            put(cell, printed[name])
        if name not in printed or name in still_open:
            cell.protection = style.UNLOCKED
        else:
            cell.fill = style.PRINTED
        own.append(cell_text(printed.get(name)))
    _set_mark(sheet, grid, number, own, fixed, spare=row.spare)


def _put_guide(sheet: Worksheet, grid: _Grid, number: int, name: str, text: str) -> None:
    cell = at(sheet, number, grid.place(name))
    cell.fill = style.PRINTED
    if name in FIXED_GUIDES:
        put_text(cell, text)
    elif text:
        cell.value = text.format_map({column: f"{grid.letter(column)}{number}" for column in grid.columns})


def _guide(row: FormRow, name: str) -> str:
    return {
        "set to": row.set_to,
        "allowed": row.allowed,
        "now": row.now,
        "feedback now": row.feedback_now,
    }[name]


def _set_mark(
    sheet: Worksheet,
    grid: _Grid,
    number: int,
    own: Sequence[str],
    fixed: Sequence[str] = (),
    *,
    spare: bool = True,
) -> None:
    """Say what was printed in a line: blank cells after the last filled one are cells too."""
    count = sum(name not in _GUIDES for name in grid.columns)
    guides = sum(name in FIXED_GUIDES for name in grid.columns)
    mark = printed_mark([*own, *[""] * (count - len(own))], [*fixed, *[""] * (guides - len(fixed))], spare=spare)
    put_text(at(sheet, number, grid.mark), mark)


def _choices(sheet: Worksheet, grid: _Grid, first: int, last: int, columns: Sequence[str]) -> None:
    for name in columns:
        cells = [
            f"{grid.letter(name)}{row}"
            for row in range(first, last + 1)
            if not at(sheet, row, grid.place(name)).protection.locked
        ]
        words, unit = grid.table.words(name), grid.table.unit(name)
        about = grid.table.about(name) + (f" [{unit}]" if unit else "")
        if words:
            offer(sheet, cells, words_list(words), about)
        else:
            hint_at(sheet, cells, about)


def _mark_out(sheet: Worksheet, grid: _Grid, name: str, first: int, last: int) -> None:
    """A row whose rule says OUT is marked where it says so: bold, framed, and by the word itself."""
    column = grid.letter(name)
    beyond = f'ISNUMBER(SEARCH("{rules.OUT}:",{column}{first}))'
    mark_where(sheet, f"{column}{first}:{column}{last}", beyond)


def _picks(sheet: Worksheet, grid: _Grid, row: int, picks: Sequence[Pick]) -> None:
    """The instruments to choose from, below the visit: what the drop-down cells list."""
    for number, words in enumerate([("role", "instrument", "due", "measures", "what it is"), *map(_told, picks)]):
        for place, text in enumerate(words, start=1):
            cell = at(sheet, row + number, place)
            put_text(cell, text)
            cell.font = style.BOLD if number == 0 else style.sized(_LISTED_POINTS)
        _set_mark(sheet, grid, row + number, words)


def _told(pick: Pick) -> tuple[str, ...]:
    return pick.role, pick.instrument, pick.due_on or "no end", pick.measures, pick.description


def _offer_instruments(sheet: Worksheet, grid: _Grid, row: int, column: str, rows: Sequence[int]) -> None:
    cell = f"{grid.letter(column)}{row}"
    listed = f"$B${rows[0]}:$B${rows[-1]}"
    offer(sheet, [cell], listed, grid.table.about(column))
    day = f"${grid.letter('date')}${row}"
    iso = f'IF(ISNUMBER({day}),YEAR({day})*10000+MONTH({day})*100+DAY({day}),VALUE(SUBSTITUTE({day},"-","")))'
    due = f'VALUE(SUBSTITUTE(VLOOKUP({cell},$B${rows[0]}:$C${rows[-1]},2,FALSE),"-",""))'
    overdue = f'AND({cell}<>"",{day}<>"",IFERROR({due}<{iso},FALSE))'
    mark_where(sheet, cell, overdue)


def _foot(form: FieldSheet) -> tuple[str, str]:
    return f"Field sheet {form.document}", f"Valve {form.tag.tag}, visit {form.visit}"
