"""Drafting a table: its headings matched, its cells understood, its rows held against what the table declares."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, Final

import numpy as np
import pandera.errors
from numpy.typing import NDArray

from kit.basis.rows import BOUNDS
from kit.basis.tables.columns import Table
from kit.records.cells.typed_numbers import NumberColumn, read_numbers
from kit.records.cells.typed_texts import (
    TextColumn,
    read_dates,
    read_keys,
    read_terms,
    read_texts,
    read_times,
    read_words,
)
from kit.records.drafts.draft import NOT_KNOWN, Draft, Mask, costs_the_row
from kit.records.drafts.headings import Slip, match_headings
from kit.records.drafts.misfits import missing_cells, with_decimal_commas, with_rows_above
from kit.records.drafts.schemas import framed, impossible_text, schema_of, unsound
from kit.records.files.raw import Cells, RawTable, as_texts

_KEYS: Final = frozenset({"tag", "visit", "instrument", "continues"})
_BLANK_IS_KNOWN: Final = frozenset({"tags"})  # a register without a nominal value lacks the checks against it
_TELLS_NOTHING: Final = frozenset(
    {"remark", "remarks", "technician", "checked_by", "witness", "process_state", "description", "certificate"}
    | {"service"}
)


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
    (draft.leave_open if table.name == "tags" else draft.set_aside)(raw.row_faults, "", raw.row_faults)
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
    if name in _KEYS or name.endswith("_instrument"):
        return read_keys(cells)
    return read_texts(cells) if name in _TELLS_NOTHING else read_terms(cells)


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
    values = {name: _for_schema(draft, name) for name in draft.table.columns}
    names = unsound(draft.table, values)
    if not names:
        return
    try:
        schema_of(draft.table, names).validate(framed({name: values[name] for name in names}), lazy=True)
    except pandera.errors.SchemaErrors as errors:
        cases = errors.failure_cases
        for name, places in cases.groupby("column", sort=False)["index"]:
            _tell_invalid(draft, str(name), sorted(set(places.astype(int))))


def _for_schema(draft: Draft, name: str) -> NDArray[Any]:
    values = draft.values[name]
    if draft.table.takes(name):
        values = np.where(np.isinf(values), 0.0, values)  # an open circuit, or what has no number
    return values


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


def _tell_missing_alternatives(draft: Draft) -> None:
    for group in draft.table.needed:
        present = [name for name in group if name in draft.originals]
        if len(group) == 1 or not present:
            continue
        empty = ~np.any([draft.filled(name) | draft.is_faulty(name) for name in present], axis=0)
        draft.set_aside(empty, present[0], f"No value in {' or '.join(present)}. Enter one of {', '.join(group)}.")
