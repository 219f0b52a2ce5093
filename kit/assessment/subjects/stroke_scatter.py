"""How strokes of one stage scatter: pooled over both ways and every speed, relative to their time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np

from kit.assessment.budgets import Repeats
from kit.assessment.subjects.speeds import Direction
from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.rows import Rows
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.repeats import finite_end

END_PCT: Final = 1.0  # House definition: how near to an end a stroke over the whole travel begins and ends


def over_whole_travel(rows: Rows, direction: Direction) -> BoolArray:
    """Which strokes went from end to end, shape (n,): blank is at the end of travel."""
    start, end = (0.0, 100.0) if direction == "open" else (100.0, 0.0)
    at_start, at_end = (
        np.isnan(places) | (np.abs(places - where) <= END_PCT)
        for places, where in ((rows["from_pct"].astype(float), start), (rows["to_pct"].astype(float), end))
    )
    whole: BoolArray = at_start & at_end
    return whole


def typed_repeats(rows: Rows, direction: Direction, speed_pct: float, mean_s: float) -> Repeats:
    """Every stroke of a stage; those of one way and speed over the whole travel are in the mean.

    Parameters
    ----------
    rows : Rows
        Of the table strokes, the whole stage. A bound repeats nothing.
    speed_pct : float
        The speed setting of the strokes in the mean [%]; nan: those without one.
    mean_s : float
        Their mean time [s].
    """
    low_s, high_s = rows.interval("time_s")
    whole = np.where(rows["direction"] == "open", over_whole_travel(rows, "open"), over_whole_travel(rows, "close"))
    kinds, own = [], np.zeros(len(rows), dtype=bool)
    for place in range(len(rows)):
        kind = _kind(rows["direction"][place], rows["speed_setting_pct"][place])
        part = "" if whole[place] else f" {rows['from_pct'][place]} {rows['to_pct'][place]}"
        own[place] = not part and kind == _kind(direction, speed_pct)
        alone = "" if low_s[place] == high_s[place] else f" bound {place}"
        kinds.append(f"{kind}{part}{alone}")
    return _repeats(finite_end(low_s, high_s), kinds, own, mean_s)


def recorded_repeats(every: Sequence[Stroke], own: Sequence[Stroke], mean_s: float) -> Repeats:
    """Every recorded stroke of a stage; ``own`` are in the mean [s]. One without its dead time repeats no other."""
    time_s = np.array([np.nan if each.time.value is None else each.time.value for each in every], dtype=float)
    kinds = [f"{each.opens} {each.is_pulsed} {each.without_step}" for each in every]
    return _repeats(time_s, kinds, np.array([each in own for each in every], dtype=bool), mean_s)


def _kind(direction: str, speed_pct: float) -> str:
    return f"{direction} {float(speed_pct):g}"


def _repeats(time_s: FloatArray, kinds: Sequence[str], own: BoolArray, mean_s: float) -> Repeats:
    """Strokes in % of the mean of their kind; a nan is left out.

    Notes
    -----
    House definition: strokes of either way and at every speed have one scatter, relative to their time.
    """
    known = np.isfinite(time_s) & (time_s > 0)
    group = np.unique(np.array(kinds)[known], return_inverse=True)[1]
    means = np.bincount(group, weights=time_s[known]) / np.bincount(group)
    weights = own[known] / max(int(np.count_nonzero(own[known])), 1)
    return Repeats(100.0 * time_s[known] / means[group], group, weights, {"time": 1.0}, "strokes", mean_s / 100.0)
