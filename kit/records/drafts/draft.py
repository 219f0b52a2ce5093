"""A table being read: typed columns, and which rows have been set aside so far and why."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
import pandas as pd
import pandera.errors
from numpy.typing import NDArray

from kit.basis.records import Problem, RowCount
from kit.basis.tables.columns import Table
from kit.records.cells.nearest import NameFinder
from kit.records.cells.typed_numbers import read_numbers
from kit.records.cells.typed_texts import TextColumn, read_dates, read_keys, read_texts, read_times, read_words
from kit.records.drafts.schemas import schema_of
from kit.records.files.raw import Cells, RawTable, as_texts, header_key
from kit.records.files.workbooks import cell_text

Mask = NDArray[np.bool_]

OPEN_CIRCUIT: Final = frozenset({"wiper_ohm"})
_KEYS: Final = frozenset({"tag", "visit", "instrument"})


@dataclass(frozen=True, slots=True)
class _Fault:
    place: int | None
    column: str
    value: str
    text: str
    set_aside: bool


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
    flagged: set[tuple[int, str]] = field(default_factory=set)
    raw: tuple[Cells, ...] = ()  # every column of the file, those not read included

    def __len__(self) -> int:
        return len(self.rows)

    def set_aside(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Set rows aside for a fault in ``column``. A cell's first fault is the one that is told."""
        for place in _places(places):
            self.bad[place] = True
            self._tell(place, column, text if isinstance(text, str) else text[place], set_aside=True)

    def flag(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Say what is odd about rows that are used all the same."""
        for place in _places(places):
            self._tell(place, column, text if isinstance(text, str) else text[place], set_aside=False)

    def say(self, text: str, column: str = "") -> None:
        """Say something about the file as a whole."""
        self.faults.append(_Fault(None, column, "", text, False))

    def is_faulty(self, column: str) -> Mask:
        """Where a cell of ``column`` has been told of already."""
        mask = np.zeros(len(self), dtype=bool)
        mask[[place for place, name in self.flagged if name == column]] = True
        return mask

    def filled(self, column: str) -> Mask:
        """Where ``column`` holds a value."""
        values = self.values[column]
        return ~np.isnan(values) if values.dtype == float else np.asarray(values != "", dtype=bool)

    def problems(self) -> list[Problem]:
        """What has been said so far, with each row's tag."""
        tags = self.values.get("tag")
        where = f"Sheet {self.sheet}: " if self.sheet else ""
        return [
            Problem(
                self.file,
                None if fault.place is None else int(self.rows[fault.place]),
                fault.column,
                fault.value,
                where + fault.text,
                "" if fault.place is None or tags is None else str(tags[fault.place]),
                fault.set_aside,
                self.table.name,
            )
            for fault in self.faults
        ]

    def texts_of(self, place: int) -> tuple[str, ...]:
        """All cells of a row as they stand in the file, in the order of its headings, those not read included."""
        return tuple(_text(cells[place]) for cells in self.raw)

    def place_of(self, row: int) -> int:
        """The place of a row that the file counts as ``row``."""
        return int(np.searchsorted(self.rows, row))

    def written(self, column: str, place: int) -> str:
        """A cell as it stands in the file; "" where the file has no such column."""
        cells = self.originals.get(column)
        return "" if cells is None else _text(cells[place])

    def count(self) -> RowCount:
        aside = int(self.bad.sum())
        return RowCount(self.file, self.table.name, len(self), len(self) - aside, aside)

    def _tell(self, place: int, column: str, text: str, *, set_aside: bool) -> None:
        if (place, column) in self.flagged:
            return
        self.flagged.add((place, column))
        self.faults.append(_Fault(place, column, self.written(column, place), text, set_aside))


def _text(cell: Any) -> str:
    if isinstance(cell, float):
        return "" if np.isnan(cell) else cell_text(float(cell))
    return str(cell)


def draft_table(file: str, table: Table, raw: RawTable, *, keep_bad_cells: bool = False) -> Draft:
    """Understand the cells of a raw table as ``table`` declares them.

    ``keep_bad_cells`` flags a bad cell and takes it as blank where the row need not be lost for it.
    """
    originals, unknown, twice = _match_header(table, raw)
    draft = Draft(file, table, raw.rows, {}, originals, raw.sheet, np.zeros(len(raw), dtype=bool), raw=raw.columns)
    draft.set_aside(raw.row_faults, "", raw.row_faults)
    _tell_twice(draft, twice, keep_bad_cells)
    if table.name != "tags":
        _tell_unknown(draft, unknown)
    _read_cells(draft, raw, keep_bad_cells)
    _tell_missing_columns(draft, keep_bad_cells)
    _validate(draft, keep_bad_cells)
    _tell_missing_alternatives(draft)
    return draft


def _match_header(table: Table, raw: RawTable) -> tuple[dict[str, Cells], list[str], list[str]]:
    names = {name.casefold(): name for name in table.columns}
    originals: dict[str, Cells] = {}
    unknown: list[str] = []
    twice: list[str] = []
    for heading, cells in zip(raw.header, raw.columns, strict=True):
        name = names.get(header_key(heading))
        if name is None:
            unknown.append(heading.strip())
        elif name in originals:
            twice.append(name)
        else:
            originals[name] = cells
    return originals, unknown, twice


def _tell_twice(draft: Draft, twice: list[str], keep_bad_cells: bool) -> None:
    """Nobody can say which of two columns holds: neither is read."""
    for name in twice:
        text = f"The file has two columns {name}. Remove one of them."
        if keep_bad_cells:
            draft.say(f"{text} Neither is read.", name)
            draft.originals.pop(name, None)
        else:
            draft.set_aside(np.ones(len(draft), dtype=bool), name, text)


def _tell_unknown(draft: Draft, unknown: list[str]) -> None:
    finder = NameFinder(draft.table.columns)
    for heading in unknown:
        if not heading:
            draft.say("A column without a heading is not read. Give it one.")
            continue
        close = finder.find(heading)
        hint = f" Was {close} meant?" if close and close not in draft.originals else ""
        draft.say(f"{draft.table.name} has no column {heading!r}: it is not read.{hint}", heading)


def _read_cells(draft: Draft, raw: RawTable, keep_bad_cells: bool) -> None:
    table = draft.table
    numeric = {name: cells for name, cells in draft.originals.items() if table.kind(name) == "number"}
    units = {name: table.unit(name) for name in numeric}
    numbers = read_numbers(numeric, units, comma_separated=raw.comma_separated, may_be_open=OPEN_CIRCUIT)
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
        _tell_bad_cells(draft, name, faults, keep_bad_cells)


def _read_text(table: Table, name: str, cells: Cells) -> TextColumn:
    kind = table.kind(name)
    if kind == "word":
        return read_words(cells, table.words(name))
    if kind == "date":
        return read_dates(cells)
    if kind == "time":
        return read_times(cells)
    return read_keys(cells) if name in _KEYS or name.endswith("_instrument") else read_texts(cells)


def _tell_bad_cells(draft: Draft, name: str, faults: Mapping[int, str], keep_bad_cells: bool) -> None:
    if keep_bad_cells:
        draft.flag(faults, name, {place: f"{text} Taken as blank." for place, text in faults.items()})
    else:
        draft.set_aside(faults, name, faults)


def _tell_missing_columns(draft: Draft, keep_bad_cells: bool) -> None:
    for group in draft.table.needed:
        if any(name in draft.originals for name in group):
            continue
        text = f"The file has no column {' or '.join(group)}. Add it."
        if keep_bad_cells:
            draft.say(text, group[0])
        else:
            draft.set_aside(np.ones(len(draft), dtype=bool), group[0], text)


def _validate(draft: Draft, keep_bad_cells: bool) -> None:
    """Hold the typed columns against the schema: blank cells that must be filled, impossible values."""
    frame = pd.DataFrame({name: _for_schema(draft, name) for name in draft.table.columns})
    try:
        schema_of(draft.table).validate(frame, lazy=True)
    except pandera.errors.SchemaErrors as errors:
        cases = errors.failure_cases
        for name, places in cases.groupby("column", sort=False)["index"]:
            _tell_invalid(draft, str(name), sorted(set(places.astype(int))), keep_bad_cells)


def _for_schema(draft: Draft, name: str) -> pd.Series[Any]:
    values = draft.values[name]
    if name in OPEN_CIRCUIT:
        values = np.where(np.isinf(values), 0.0, values)
    return pd.Series(values, dtype=values.dtype)


def _tell_invalid(draft: Draft, name: str, places: list[int], keep_bad_cells: bool) -> None:
    filled = draft.filled(name)
    blank = [place for place in places if not filled[place]]
    impossible = [place for place in places if filled[place]]
    keep = keep_bad_cells and name != "tag"
    (draft.flag if keep else draft.set_aside)(blank, name, f"{name} is blank. Enter it.")
    if not impossible:
        return
    if keep:
        draft.flag(impossible, name, f"{impossible_text(draft.table, name)} Taken as blank.")
        draft.values[name][impossible] = np.nan
    else:
        draft.set_aside(impossible, name, impossible_text(draft.table, name))


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
