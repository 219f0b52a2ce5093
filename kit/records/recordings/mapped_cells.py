"""A logger's file with lines or cells that are no samples: each looked at, each set aside with its reason."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

import numpy as np
import pandas as pd
import pyarrow as pa
from numpy.typing import NDArray

from kit.basis.recording import extents
from kit.basis.recording_maps import THOUSANDS, RecordingMap
from kit.basis.records import Problem
from kit.records.files.raw import is_blank
from kit.records.recordings.channels import RecordingColumns, extent_problem
from kit.records.recordings.mapped_layout import MappedLayout, key_of
from kit.records.recordings.mapped_values import numbers_of, state_of, value_of
from kit.records.recordings.quick import BLANKS, MOST_PROBLEMS, summed
from kit.records.recordings.stamps import Times, times_of_numbers, times_of_texts
from kit.records.recordings.time_patterns import is_number_of_time

Line = tuple[int, list[str], str]  # as a person counts it, cells, what is wrong with it

_HEADINGS_AGAIN: Final = "The headings once more: no sample."
_BELOW: Final = "Below the last sample and without a time: no sample."
_CUT: Final = "The last row ends before its last column: the logger stopped there."
_SHORT: Final = "The row ends before the last column that is read. Complete it."
_BEYOND: Final = "More cells than columns, as a decimal comma between commas makes. Give the delimiter and the decimal."


def columns_of_lines(file: str, lines: Iterable[Line], layout: MappedLayout, own: RecordingMap) -> RecordingColumns:
    """The columns of the lines below a logger's headings, whatever their cells are; blank lines are left out."""
    kept = [line for line in lines if not is_blank(line[1])]
    rows = np.array([number for number, _, _ in kept], dtype=np.int64)
    aside = _Aside(file, rows)
    _set_lines_aside(aside, kept, layout)
    texts = {place: _column(kept, place, aside.bad) for place in set(layout.places.values())}
    times = _times(aside, texts, layout, own)
    thousands = THOUSANDS.get(own.thousands, "")
    numbers: dict[str, NDArray[np.float64]] = {}
    for channel in own.channels:
        column = texts[layout.places[channel.heading]]
        if channel.is_switch and not channel.is_level:
            states = {cell: state_of(cell, channel) for cell in column.unique().tolist()}
            values = np.array(column.map(states), dtype=np.float64)
            text = f"It is neither {channel.made} nor {channel.not_made}. Correct it, or say what made looks like."
        else:
            values = value_of(numbers_of(column, channel.unit, layout.decimal, thousands), channel)
            text = "It is no number. Correct it, or clear it where nothing was measured."
        aside.cells(np.isnan(values) & _is_filled(column), channel.column, column, text)
        numbers[channel.column] = values
    aside.problems[MOST_PROBLEMS:] = summed(file, aside.problems[MOST_PROBLEMS:])
    return RecordingColumns(rows, numbers, times.time_s, times.start, aside.bad, aside.problems, times.midnights)


class _Aside:
    """The rows that are set aside, each extent with its reason."""

    def __init__(self, file: str, rows: NDArray[np.int64]) -> None:
        self.file = file
        self.rows = rows
        self.bad = np.zeros(rows.size, dtype=bool)
        self.problems: list[Problem] = []

    def cells(self, mask: NDArray[np.bool_], column: str, cells: Any, text: str, *, is_open: bool = True) -> None:
        mask = mask & ~self.bad
        for place in extents(mask):
            value = str(cells.iloc[place[0]]) if len(column) else ""
            self.problems.append(
                extent_problem(self.file, self.rows, place, column, value, text, set_aside=True, is_open=is_open)
            )
        self.bad |= mask


def _set_lines_aside(aside: _Aside, kept: list[Line], layout: MappedLayout) -> None:
    """Lines that are the headings once more, or do not part into the columns."""
    again = {_keys(layout.header), *map(_keys, layout.between)}
    needed = max(layout.places.values()) + 1
    usual = int(np.median([len(cells) for _, cells, _ in kept])) if kept else needed
    masks = {text: np.zeros(len(kept), dtype=bool) for text in (_HEADINGS_AGAIN, _BEYOND, _CUT, _SHORT)}
    for place, (_, cells, fault) in enumerate(kept):
        if fault:
            masks.setdefault(fault, np.zeros(len(kept), dtype=bool))[place] = True
        elif len(cells) > layout.width and not is_blank(cells[layout.width :]):
            masks[_BEYOND][place] = True
        elif len(cells) < needed or len(cells) == needed < usual:  # its last cell may be cut
            masks[_CUT if place == len(kept) - 1 else _SHORT][place] = True
        elif not cells[0][:1].isdigit() and _keys(cells) in again:
            masks[_HEADINGS_AGAIN][place] = True
    for text, mask in masks.items():
        aside.cells(mask, "", None, text, is_open=text not in (_HEADINGS_AGAIN, _CUT))


def _keys(cells: Iterable[str]) -> tuple[str, ...]:
    return tuple(map(key_of, cells))


def _column(kept: list[Line], place: int, bad: NDArray[np.bool_]) -> Any:
    """A column's cells as texts without blanks around them; those of rows set aside are blank."""
    cells = ["" if skip else line[1][place].strip() for line, skip in zip(kept, bad.tolist(), strict=True)]
    return pd.Series(cells, dtype=object)


def _is_filled(column: Any) -> NDArray[np.bool_]:
    return np.asarray(~column.isin(BLANKS), dtype=bool)


def _times(aside: _Aside, texts: dict[int, Any], layout: MappedLayout, own: RecordingMap) -> Times:
    """The times; a row whose time cannot be read is set aside, one below the last sample without an answer."""
    first, *further = (texts[layout.places[each]] for each in own.time.headings)
    column = first
    for each in further:
        column = (column + " " + each).str.strip()
    written, thousands = own.time.format, THOUSANDS.get(own.thousands, "")
    if is_number_of_time(written):
        times = times_of_numbers(numbers_of(column, written, layout.decimal, thousands), written, own.time.zone)
    else:
        times = times_of_texts(pa.array(column.tolist(), pa.string()), written, own.time.zone)
    unreadable = np.isnan(times.time_s) & _is_filled(column)
    timed = np.flatnonzero(~np.isnan(times.time_s))
    below = np.zeros(len(column), dtype=bool)
    last = int(timed[-1]) + 1 if timed.size else len(column)
    below[last:] = ~np.asarray(column.iloc[last:].str.contains(r"\d"), dtype=bool)
    aside.cells(unreadable & below, "time_s", column, _BELOW, is_open=False)
    aside.cells(unreadable, "time_s", column, f"It is no time written as {written}. Correct it, or the format.")
    return times
