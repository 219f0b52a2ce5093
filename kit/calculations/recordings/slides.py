"""Levels of a command that are none: pieces of a ramp in which noise hid the motion."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import Noise

_LEAST_CHANGE_PCT: Final = 0.05  # House definition: less than any source is set by
_BESIDE_S: Final = 3.0  # House definition: before and after a level, where a ramp's slope is looked for
_SIGMAS: Final = 6.0  # House definition: a drift beyond it is no noise
_FEWEST: Final = 3  # House definition: fewer samples show no slope
_RAMP_SHARE: Final = 0.5  # House definition: of the slope beside it; a level with more is a piece of a ramp
_DECISIVE: Final = 10.0  # House definition: of the noise's variance; sums of squares farther apart settle the matter
_OF_SLOPE: Final = 12.0  # n points, 1 apart: variance of a slope times n cubed over that of a point (least squares)


def without_slides(
    time_s: FloatArray, command: FloatArray, noise: Noise, levels: list[tuple[int, int]]
) -> list[tuple[int, int]]:
    """Levels without those pieces of a ramp in which noise hid the motion.

    Parameters
    ----------
    time_s, command : array, shape (n,)
        Time [s], strictly rising, and command [% of command range].
    noise : Noise
        Of the command.
    levels : list of (first, last)
        Places of the first and last sample of each level, in order.

    Notes
    -----
    **House definition**: a level is a piece of a ramp where it has half of the slope beside it, clearly, or
    where the slope from the level before to the one after fits it better than standing still does; levels too
    short to tell are taken together with their neighbours. Where that slope would move it by less than 0.05 %, as
    before and after a ramp that comes back, it stands still.
    """
    kept: list[tuple[int, int]] = []
    doubtful: list[tuple[int, int]] = []
    balance = 0.0
    least = _DECISIVE * max(noise.deviation, _LEAST_CHANGE_PCT / _SIGMAS) ** 2
    for place, level in enumerate(levels):
        better = np.inf if _slides(time_s, command, noise, level) else _better_by_slope(time_s, command, levels, place)
        if abs(better) <= least:
            doubtful.append(level)
            balance += better
            continue
        kept += doubtful if balance <= 0.0 else []
        doubtful, balance = [], 0.0
        if better < 0.0:
            kept.append(level)
    return kept + (doubtful if balance <= 0.0 else [])


def _slides(time_s: FloatArray, command: FloatArray, noise: Noise, level: tuple[int, int]) -> bool:
    """Whether a level clearly has half of the slope of the seconds before or after it."""
    first, last = level
    slope = _slope(time_s[first : last + 1], command[first : last + 1])
    drifts = abs(slope) * float(time_s[last] - time_s[first])
    seen = max(_LEAST_CHANGE_PCT, _SIGMAS * noise.deviation * (_OF_SLOPE / (last - first + 1)) ** 0.5)
    steepest = max(_rates_beside(time_s, command, first, last), key=abs, default=0.0)
    return drifts > seen and steepest * slope > 0.0 and slope / steepest > _RAMP_SHARE


def _rates_beside(time_s: FloatArray, command: FloatArray, first: int, last: int) -> list[float]:
    """Slope of the command in the seconds before and after a level."""
    before = int(np.searchsorted(time_s, time_s[first] - _BESIDE_S))
    after = int(np.searchsorted(time_s, time_s[last] + _BESIDE_S, side="right"))
    return [
        _slope(time_s[start:stop], command[start:stop])
        for start, stop in ((before, first + 1), (last, after))
        if stop - start >= _FEWEST
    ]


def _slope(time_s: FloatArray, values: FloatArray) -> float:
    centred = time_s - time_s.mean()
    return float((centred * values).sum() / (centred * centred).sum())


def _better_by_slope(time_s: FloatArray, command: FloatArray, levels: list[tuple[int, int]], place: int) -> float:
    """By how much the sum of squares of a level shrinks if it has the slope of its surroundings; negative: it grows."""
    first, last = levels[place]
    before, after = levels[max(place - 1, 0)], levels[min(place + 1, len(levels) - 1)]
    own = _mean(command, first, last)
    rises = own - _mean(command, *before), _mean(command, *after) - own
    if rises[0] * rises[1] < 0.0 or rises == (0.0, 0.0):
        return -np.inf
    start, stop = (last if before == (first, last) else before[1]), (first if after == (first, last) else after[0])
    length = float(time_s[stop] - time_s[start])
    rate = (rises[0] + rises[1]) / length if length > 0.0 else np.inf
    if not np.isfinite(rate):
        return -np.inf
    if abs(rate) * float(time_s[last] - time_s[first]) < _LEAST_CHANGE_PCT:
        return -np.inf
    centred = time_s[first : last + 1] - time_s[first : last + 1].mean()
    spread = float((centred * centred).sum())
    slope = _slope(time_s[first : last + 1], command[first : last + 1])
    return rate * spread * (2.0 * slope - rate)


def _mean(command: FloatArray, first: int, last: int) -> float:
    return float(command[first : last + 1].mean())
