"""A table being read: typed columns, and which rows have been set aside so far and why."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np
import pandas as pd
import pandera.errors
from numpy.typing import NDArray

from kit.basis.records import Problem, RowCount, Scope, Status
from kit.basis.rows import BOUNDS
from kit.basis.tables.columns import Table
from kit.basis.verdicts import Stage
from kit.records.cells.typed_numbers import NumberColumn, read_numbers
from kit.records.cells.typed_texts import TextColumn, read_dates, read_keys, read_texts, read_times, read_words
from kit.records.drafts.headings import Slip, match_headings
from kit.records.drafts.misfits import missing_cells, with_decimal_commas, with_rows_above
from kit.records.drafts.schemas import schema_of
from kit.records.files.raw import Cells, RawTable, as_texts
from kit.records.files.workbooks import cell_text

Mask = NDArray[np.bool_]

_KEYS: Final = frozenset({"tag", "visit", "instrument", "continues"})
# Rows that so much hangs on are kept with a cell that cannot be read, as long as these can.
_KEPT_BY: Final[Mapping[str, frozenset[str]]] = {
    "tags": frozenset({"tag"}),
    "instruments": frozenset({"instrument", "measures"}),
    "visits": frozenset({"tag", "visit"}),
}
# What the rows of a table feed, where that is not the checks of their own table; "": every check.
FEEDS: Final = {"tags": "", "visits": "", "adjustments": "", "settings": "strokes", "segments": "logs"}
BOUND_TO_NO_TAG: Final = frozenset({"instruments", "dispositions"})
_OF_THE_WHOLE_TAG: Final = frozenset({"tags", "visits"})
_BLANK_IS_KNOWN: Final = frozenset({"tags"})  # a register without a nominal value lacks the checks against it
_GRAVITY: Final[Mapping[Status, int]] = {"flag": 0, "answered": 0, "blank": 1, "open": 2}
_TELLS_NOTHING: Final = frozenset(
    {"remark", "remarks", "technician", "checked_by", "witness", "process_state", "description", "certificate"}
)
NOT_KNOWN: Final = "It is taken as not known."


@dataclass(frozen=True, slots=True)
class _Fault:
    place: int | None  # None: the file as a whole
    column: str
    value: str
    text: str
    set_aside: bool
    status: Status
    columns: tuple[str, ...] = ()  # what an open fault could have fed; (): the whole row

    def is_graver_than(self, other: _Fault) -> bool:
        return (_GRAVITY[self.status], self.set_aside) > (_GRAVITY[other.status], other.set_aside)


@dataclass(slots=True)
class Draft:
    """One file's rows of one table. ``bad`` marks the rows that are set aside."""

    file: str
    table: Table
    rows: NDArray[np.int64]
    values: dict[str, NDArray[Any]]
    originals: dict[str, Cells]
    sheet: str = ""
    bad: Mask = field(default_factory=lambda: np.zeros(0, dtype=bool))
    faults: list[_Fault] = field(default_factory=list)
    flagged: dict[tuple[int, str], int] = field(default_factory=dict)  # which fault a cell has
    raw: tuple[Cells, ...] = ()  # every column of the file, those not read included
    beyond: Mapping[int, tuple[str, ...]] = field(default_factory=dict)  # all cells of rows with more than headings

    def __len__(self) -> int:
        return len(self.rows)

    def set_aside(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Set rows aside for a fault in ``column``; they are open. A cell's first fault is the one that is told."""
        for place in _places(places):
            self.bad[place] = True
            self._tell(place, column, text, set_aside=True, status="open")

    def read_once(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Set rows aside that say nothing but what another, used one says: nothing is open for them."""
        for place in _places(places):
            self.bad[place] = True
            self._tell(place, column, text, set_aside=True, status="flag")

    def leave_open(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Say that rows are used and open all the same: a cell of theirs is not known."""
        for place in _places(places):
            self._tell(place, column, text, set_aside=False, status="open")

    def lacks(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Say that used rows lack a cell: open where a check with a limit needs it."""
        for place in _places(places):
            self._tell(place, column, text, set_aside=False, status="blank", columns=(column,))

    def flag(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Say what is odd about rows that are used all the same."""
        for place in _places(places):
            self._tell(place, column, text, set_aside=False, status="flag")

    def say(self, text: str, column: str = "") -> None:
        """Say something about the file as a whole."""
        self.faults.append(_Fault(None, column, "", text, False, "flag"))

    def say_open(self, text: str, column: str = "", columns: tuple[str, ...] = ()) -> None:
        """Say what is open about all rows of the file: ``columns`` are those that it could have filled."""
        self.faults.append(_Fault(None, column, "", text, False, "open", columns))

    def is_faulty(self, column: str) -> Mask:
        """Where a cell of ``column`` has been told of already."""
        mask = np.zeros(len(self), dtype=bool)
        mask[[place for place, name in self.flagged if name == column]] = True
        return mask

    def filled(self, column: str) -> Mask:
        """Where ``column`` holds a value."""
        values = self.values[column]
        return ~np.isnan(values) if values.dtype == float else np.asarray(values != "", dtype=bool)

    def not_known(self, place: int) -> tuple[str, ...]:
        """The columns whose cell in this row is open."""
        found = (fault for fault in self.faults if fault.place == place and fault.status == "open")
        return tuple(fault.column for fault in found)

    def problems(self) -> list[Problem]:
        """What has been said so far, with each row's tag; what is open, with its scope."""
        where = f"Sheet {self.sheet}: " if self.sheet else ""
        return [
            Problem(
                self.file,
                None if fault.place is None else int(self.rows[fault.place]),
                fault.column,
                fault.value,
                where + fault.text,
                "" if fault.place is None else self._known("tag", fault.place),
                fault.set_aside,
                self.table.name,
                status=fault.status,
                scope=self._scope(fault) if fault.status in ("open", "blank") else None,
            )
            for fault in self.faults
        ]

    def texts_of(self, place: int) -> tuple[str, ...]:
        """All cells of a row as they stand in the file, in the order of its headings, those not read included."""
        return self.beyond.get(place) or tuple(_text(cells[place]) for cells in self.raw)

    def place_of(self, row: int) -> int:
        """The place of a row that the file counts as ``row``."""
        return int(np.searchsorted(self.rows, row))

    def written(self, column: str, place: int) -> str:
        """A cell as it stands in the file; "" where the file has no such column."""
        cells = self.originals.get(column)
        return "" if cells is None else _text(cells[place])

    def _scope(self, fault: _Fault) -> Scope:
        """What a fault could have fed, as far as its row can be read; what cannot be read is left blank."""
        table = FEEDS.get(self.table.name, self.table.name)
        if self.table.name in BOUND_TO_NO_TAG:
            return Scope()
        if fault.place is None:
            tags = {str(tag) for tag in self.values.get("tag", ()) if tag}
            return Scope(tuple(sorted(tags)), table=table, columns=fault.columns)
        tag = self._known("tag", fault.place)
        tags_of = (tag,) if tag else ()
        if self.table.name in _OF_THE_WHOLE_TAG:
            return Scope(tags_of)
        return Scope(tags_of, self._known("visit", fault.place), self._stage(fault.place), table, fault.columns)

    def _stage(self, place: int) -> Stage | Literal[""]:
        """The stage of a row; "" where nobody can say, or where its cells may stand in each other's place."""
        if "stage" not in self.table.columns or (place, "stage") in self.flagged or (place, "") in self.flagged:
            return ""
        return "as_found" if self._known("stage", place) == "as_found" else "as_left"

    def _known(self, column: str, place: int) -> str:
        return str(self.values[column][place]) if column in self.values else ""

    def count(self) -> RowCount:
        aside = int(self.bad.sum())
        return RowCount(self.file, self.table.name, len(self), len(self) - aside, aside)

    def _tell(
        self,
        place: int,
        column: str,
        text: str | Mapping[int, str],
        *,
        set_aside: bool,
        status: Status,
        columns: tuple[str, ...] = (),
    ) -> None:
        told = text if isinstance(text, str) else text[place]
        fault = _Fault(place, column, self.written(column, place), told, set_aside, status, columns)
        number = self.flagged.setdefault((place, column), len(self.faults))
        if number == len(self.faults):
            self.faults.append(fault)
        elif fault.is_graver_than(self.faults[number]):
            self.faults[number] = fault


def _text(cell: Any) -> str:
    if isinstance(cell, float):
        return "" if np.isnan(cell) else cell_text(float(cell))
    return str(cell)


def draft_table(file: str, table: Table, raw: RawTable, own_columns: Collection[str] = ()) -> Draft:
    """Understand the cells of a raw table as ``table`` declares them; ``own_columns`` are a plant's own.

    A cell that cannot be read costs its row; in a register and in visits it costs the row only where the row
    could not be told from others without it.
    """

    def reads(candidates: RawTable) -> tuple[Mask, NDArray[np.int64]]:
        return _reads(_drafted(file, table, candidates, own_columns))

    fitted, mended = with_decimal_commas(table, with_rows_above(raw, reads), reads)
    draft = _drafted(file, table, fitted, own_columns)
    for (place, column), text in mended.items():
        draft.flag([place], column, text)
    _tell_missing_cells(draft, missing_cells(fitted))
    return draft


def _drafted(file: str, table: Table, raw: RawTable, own_columns: Collection[str]) -> Draft:
    headings = match_headings(table, raw, own_columns)
    aside = np.zeros(len(raw), dtype=bool)
    draft = Draft(
        file, table, raw.rows, {}, dict(headings.columns), raw.sheet, aside, raw=raw.columns, beyond=raw.beyond
    )
    draft.set_aside(raw.row_faults, "", raw.row_faults)
    if table.name != "tags":
        _tell_unknown(draft, headings.others)
    _read_cells(draft, raw)
    _tell_missing_columns(draft, headings.slips)
    _validate(draft)
    _tell_missing_alternatives(draft)
    return draft


def _reads(draft: Draft) -> tuple[Mask, NDArray[np.int64]]:
    """Which rows are sound, and how many cells of each, free texts apart, can be understood."""
    sound = ~draft.bad
    sound[[fault.place for fault in draft.faults if fault.place is not None and fault.status == "open"]] = False
    understood = np.zeros(len(draft), dtype=np.int64)
    for name in draft.originals:
        if draft.table.kind(name) != "text":
            understood += draft.filled(name) & ~draft.is_faulty(name)
    return sound, understood


def _tell_missing_cells(draft: Draft, missing: Mapping[int, tuple[str, ...]]) -> None:
    """A row that ends before a column that feeds anything may have lost more than its last cells."""
    harmless = 0
    for place, headings in missing.items():
        names = [name for name in draft.originals if name.casefold() in headings and name not in _TELLS_NOTHING]
        lost = names[:1] if costs_the_row(draft.table, "") else []
        for name in lost or names:
            text = f"The row ends before {names[0]}. Add what is missing, or a comma for each blank cell."
            (draft.set_aside if lost else draft.leave_open)([place], name, text)
        harmless += not names
    if harmless and draft.table.place != "logs":
        draft.say(f"{harmless} rows end before the last heading. What they lack feeds no check.")


def costs_the_row(table: Table, column: str) -> bool:
    """Whether a row of ``table`` is of no use without this cell."""
    kept_by = _KEPT_BY.get(table.name)
    return kept_by is None or column in kept_by


def _tell_unknown(draft: Draft, unknown: Iterable[str]) -> None:
    for heading in unknown:
        draft.say(f"{draft.table.name} has no column {heading!r}: it is not read.", heading)


def _read_cells(draft: Draft, raw: RawTable) -> None:
    table = draft.table
    numeric = {name: cells for name, cells in draft.originals.items() if table.kind(name) == "number"}
    units = {name: table.unit(name) for name in numeric}
    takes = {name: table.takes(name) for name in numeric}
    numbers = read_numbers(numeric, units, comma_separated=raw.comma_separated, takes=takes)
    draft.values[BOUNDS] = _bounds(numbers, len(draft))
    for name in table.columns:
        cells = draft.originals.get(name)
        if table.kind(name) == "number":
            read = numbers.get(name)
            draft.values[name] = np.full(len(draft), np.nan) if read is None else read.values
            faults = {} if read is None else read.faults
        else:
            column = _read_text(table, name, as_texts([""] * len(draft)) if cells is None else cells)
            draft.values[name] = column.values
            faults = column.faults
        _tell_bad_cells(draft, name, faults)


def _bounds(numbers: Mapping[str, NumberColumn], count: int) -> Cells:
    """Which cells of each row are bounds, as :class:`~kit.basis.rows.Rows` names them."""
    found: list[list[str]] = [[] for _ in range(count)]
    for name, read in numbers.items():
        for place, bound in read.bounds.items():
            found[place].append(f"{name}:{bound}")
    return as_texts([" ".join(each) for each in found])


def _read_text(table: Table, name: str, cells: Cells) -> TextColumn:
    kind = table.kind(name)
    if kind == "word":
        return read_words(cells, table.words(name))
    if kind == "date":
        return read_dates(cells)
    if kind == "time":
        return read_times(cells)
    return read_keys(cells) if name in _KEYS or name.endswith("_instrument") else read_texts(cells)


def _tell_bad_cells(draft: Draft, name: str, faults: Mapping[int, str]) -> None:
    if costs_the_row(draft.table, name):
        draft.set_aside(faults, name, faults)
    else:
        draft.leave_open(faults, name, {place: f"{text} {NOT_KNOWN}" for place, text in faults.items()})


def _tell_missing_columns(draft: Draft, slips: Sequence[Slip]) -> None:
    """Tell of columns that are not there, and of those that are and could not be read."""
    told: set[Slip] = set()
    for group in draft.table.needed:
        if any(name in draft.originals for name in group):
            continue
        slip = next((each for each in slips if not each.meant or set(each.meant) & set(group)), None)
        text = slip.text if slip else f"The file has no column {' or '.join(group)}. Add it."
        if costs_the_row(draft.table, group[0]):
            draft.set_aside(np.ones(len(draft), dtype=bool), group[0], text)
            told.update([slip] if slip else [])
        elif not slip:
            (draft.say if draft.table.name in _BLANK_IS_KNOWN else draft.say_open)(text, group[0])
    for slip in slips:
        if slip not in told:
            draft.say_open(slip.text, slip.heading, _fed_by(draft.table, slip.meant))


def _fed_by(table: Table, columns: Sequence[str]) -> tuple[str, ...]:
    """What an unread column could have filled; one that holds no numbers may say which rows feed any check."""
    return tuple(columns) if all(table.kind(each) == "number" for each in columns) else ()


def _validate(draft: Draft) -> None:
    """Hold the typed columns against the schema: blank cells that must be filled, impossible values."""
    frame = pd.DataFrame({name: _for_schema(draft, name) for name in draft.table.columns})
    try:
        schema_of(draft.table).validate(frame, lazy=True)
    except pandera.errors.SchemaErrors as errors:
        cases = errors.failure_cases
        for name, places in cases.groupby("column", sort=False)["index"]:
            _tell_invalid(draft, str(name), sorted(set(places.astype(int))))


def _for_schema(draft: Draft, name: str) -> pd.Series[Any]:
    values = draft.values[name]
    if draft.table.takes(name):
        values = np.where(np.isinf(values), 0.0, values)  # an open circuit, or what has no number
    return pd.Series(values, dtype=values.dtype)


def _tell_invalid(draft: Draft, name: str, places: list[int]) -> None:
    filled = draft.filled(name)
    blank = [place for place in places if not filled[place]]
    impossible = [place for place in places if filled[place]]
    costs = costs_the_row(draft.table, name)
    keep = draft.flag if draft.table.name in _BLANK_IS_KNOWN else draft.leave_open
    (draft.set_aside if costs else keep)(blank, name, f"{name} is blank. Enter it.")
    if not impossible:
        return
    if costs:
        draft.set_aside(impossible, name, impossible_text(draft.table, name))
    else:
        draft.leave_open(impossible, name, f"{impossible_text(draft.table, name)} {NOT_KNOWN}")
        draft.values[name][impossible] = np.nan


def impossible_text(table: Table, name: str) -> str:
    """What to say about a value outside the bounds of its column."""
    low, high = table.bounds(name)
    unit = "" if table.unit(name) in ("travel_unit", "measures", "1") else f" {table.unit(name)}"
    if high is None:
        return f"Impossible: {name} is at least {low:g}{unit}. Correct it."
    if low is None:
        return f"Impossible: {name} is at most {high:g}{unit}. Correct it."
    return f"Impossible: {name} lies between {low:g} and {high:g}{unit}. Correct it."


def _tell_missing_alternatives(draft: Draft) -> None:
    for group in draft.table.needed:
        present = [name for name in group if name in draft.originals]
        if len(group) == 1 or not present:
            continue
        empty = ~np.any([draft.filled(name) | draft.is_faulty(name) for name in present], axis=0)
        draft.set_aside(empty, present[0], f"No value in {' or '.join(present)}. Enter one of {', '.join(group)}.")


def _places(places: Mask | Iterable[int]) -> list[int]:
    if isinstance(places, np.ndarray) and places.dtype == bool:
        return [int(place) for place in np.flatnonzero(places)]
    return [int(place) for place in places]
