"""Samples that have no time, or one that was there already, or one before it."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import extents
from kit.basis.records import Problem
from kit.records.recordings.channels import RecordingColumns, extent_problem

_HOUR_S: Final = 3600.0
_ABOUT_S: Final = 60.0  # House definition: from an hour, within which a step back may be the end of summer time
_BACK: Final = (
    "Time steps back by {by} s. Split the file there if the clock was set, and record again if it was not.{zone}"
)
_SUMMER_TIME: Final = " At the end of summer time give the zone of the clock, under [[recordings]] in unit.toml."


def without_time(file: str, columns: RecordingColumns, problems: list[Problem]) -> NDArray[np.bool_]:
    """Samples without a time, shape (n,); each extent is told."""
    missing = np.isnan(columns.time_s) & ~columns.bad
    for place in extents(missing):
        text = "No time in time_s or timestamp. Enter it."
        problems.append(extent_problem(file, columns.rows, place, "time_s", "", text, set_aside=True))
    return missing


def out_of_order(
    file: str, columns: RecordingColumns, bad: NDArray[np.bool_], problems: list[Problem]
) -> NDArray[np.bool_]:
    """Samples at a time that was there already, or before it."""
    aside = np.zeros(len(columns), dtype=bool)
    kept = np.flatnonzero(~bad)
    if kept.size < 2:
        return aside
    ahead = _far_ahead(columns.time_s[kept])
    places = np.zeros(len(columns), dtype=bool)
    places[kept[ahead]] = True
    for place in extents(places):
        text = "A time later than the rows after it. Correct it."
        value = f"{columns.time_s[place[0]]:g} s"
        problems.append(extent_problem(file, columns.rows, place, "time_s", value, text, set_aside=True))
    aside |= places
    kept = kept[~ahead]
    time = columns.time_s[kept]
    latest = np.concatenate(([-np.inf], np.maximum.accumulate(time)[:-1]))
    same, back = time == latest, time < latest
    again = same & _repeats(columns, kept)
    for mask, text, is_open in (
        (again, "The sample of the row before once more: read once.", False),
        (same & ~again, "A time that stands in the row before already.", True),
        (back, _BACK, True),
    ):
        places = np.zeros(len(columns), dtype=bool)
        places[kept[mask]] = True
        for place in extents(places):
            by = float(np.max(latest[np.searchsorted(kept, place[0])] - columns.time_s[place[0]]))
            value = f"{columns.time_s[place[0]]:g} s"
            said = text.format(by=f"{by:.4g}", zone=_SUMMER_TIME if abs(by - _HOUR_S) < _ABOUT_S else "")
            problems.append(
                extent_problem(file, columns.rows, place, "time_s", value, said, set_aside=True, is_open=is_open)
            )
        aside |= places
    return aside


def _repeats(columns: RecordingColumns, kept: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which of these rows hold in every column what the one before holds."""
    alike = np.ones(kept.size, dtype=bool)
    alike[:1] = False
    for values in columns.numbers.values():
        own = values[kept]
        alike[1:] &= (own[1:] == own[:-1]) | (np.isnan(own[1:]) & np.isnan(own[:-1]))
    return alike


def _far_ahead(time: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Single times later than the two that follow, which go on from the one before."""
    ahead = np.zeros(time.size, dtype=bool)
    if time.size >= 4:
        ahead[1:-2] = (time[1:-2] > time[2:-1]) & (time[1:-2] > time[3:]) & (time[2:-1] > time[:-3])
    return ahead
