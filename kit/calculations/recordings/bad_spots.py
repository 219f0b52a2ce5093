"""Bad spots of a feedback over the travel: where it leaves its line, and where that could have been seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.recording import extents
from kit.calculations.recordings.noise import MAD_TO_DEVIATION

BIN_PCT: Final = 0.5  # House definition: of travel
WITHIN_PCT: Final = 2.0  # House definition: of travel, the neighbourhood of a bin to either side
DEVIATIONS: Final = 6.0  # House definition: of the scatter; a bin farther off is no noise
LEAST_SPIKE_PCT: Final = 1.0  # House definition: of range; less upsets no positioner
_LEAST_BANDS: Final = 1.6  # House definition: of the noise's band; the farthest of many samples leaves it by chance
_JOIN_PCT: Final = 2.0  # House definition: of travel; spots less far apart are one
END_PCT: Final = 2.0  # House definition: of travel, within which a valve is at its end
_LOOSE_QUANTILE: Final = 0.8  # House definition: of the bins, which no bad spot reaches
_LOOSE: Final = 1.5  # House definition: times what samples within a bin differ by there; farther off is no scatter
SPOT_PCT: Final = 1.0  # House definition: of travel, the width of a bad spot, a triangle, that has to be seen
DEEPEST_PCT: Final = 3.0  # House definition: of range; a bad spot that only shows where it is deeper is not seen
_ALL_SEEN: Final = 0.95  # House definition: of the travel between its ends, both ways
FEWEST_FITTED: Final = 3  # two points always lie on a line


@dataclass(frozen=True, slots=True)
class BadSpot:
    """A place of the track at which the feedback leaves its neighbourhood."""

    position_pct: float
    width_pct: float
    depth_pct: float  # greatest distance from its neighbourhood, signed [% of feedback range]
    opening: bool  # seen on the way open
    closing: bool  # seen on the way closed

    @property
    def is_confirmed(self) -> bool:
        """Seen both ways at the same place: the track, and no loose wire."""
        return self.opening and self.closing


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """Feedback of the passes of one direction, less a straight line, in bins of the position."""

    rate: float  # of the line [% of range per % of travel]
    flat: FloatArray  # (k,) median of each bin; nan: not passed
    extreme: FloatArray  # (k,) the sample farthest from that

    def medians(self, middles: FloatArray) -> FloatArray:
        """Median feedback at the middle of each bin [% of range]."""
        curve: FloatArray = self.flat + self.rate * middles
        return curve


def binned(position: FloatArray, residual: FloatArray, rate: float, edges: FloatArray) -> Way:
    """Median and farthest of the residual in each bin of the travel, one way. House definition of the bins."""
    count = edges.size - 1
    flat, extremes = np.full(count, np.nan), np.full(count, np.nan)
    known = np.isfinite(residual)
    position, residual = position[known], residual[known]
    if position.size < FEWEST_FITTED or np.ptp(position) < BIN_PCT:
        return Way(rate, flat, extremes)
    place = np.clip(np.searchsorted(edges, position, side="right") - 1, 0, count - 1)
    order = np.lexsort((residual, place))
    place, residual = place[order], residual[order]
    starts = np.flatnonzero(np.diff(np.concatenate(([-1], place))))
    ends = np.append(starts[1:], place.size)
    flat[place[starts]] = 0.5 * (residual[(starts + ends - 1) // 2] + residual[(starts + ends) // 2])
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        inside = residual[start:end]
        extremes[place[start]] = inside[int(np.abs(inside - flat[place[start]]).argmax())]
    return Way(rate, flat, extremes)


def least_depth(way: Way, band_pct: float) -> float:
    """How far from its neighbourhood a bin of one way is no scatter [% of range]. House definition."""
    off = np.abs(way.flat - _neighbourhood(way.flat, round(WITHIN_PCT / BIN_PCT)))
    within = np.abs(way.extreme - way.flat)
    known = np.isfinite(off)
    scatter = MAD_TO_DEVIATION * float(np.median(off[known])) if known.any() else 0.0
    loose = _LOOSE * float(np.quantile(within[known], _LOOSE_QUANTILE)) if known.any() else 0.0
    return max(DEVIATIONS * scatter, loose, LEAST_SPIKE_PCT, _LEAST_BANDS * band_pct)


def spots_of(middles: FloatArray, way: Way, least_pct: float) -> list[tuple[float, float, float]]:
    """Places (from, to, depth) at which the feedback of one way leaves its neighbourhood. House definition."""
    flat, far = way.flat, way.extreme
    neighbourhood = _neighbourhood(flat, round(WITHIN_PCT / BIN_PCT))
    away = np.where(np.abs(far - neighbourhood) > np.abs(flat - neighbourhood), far, flat) - neighbourhood
    found: list[tuple[float, float, float]] = []
    inside = (middles > BIN_PCT) & (middles < 100.0 - BIN_PCT)
    for place in np.flatnonzero(inside & (np.nan_to_num(np.abs(away)) > least_pct)).tolist():
        low, high, depth = middles[place] - BIN_PCT / 2, middles[place] + BIN_PCT / 2, float(away[place])
        if found and low - found[-1][1] <= _JOIN_PCT / 2:
            start, _, deepest = found[-1]
            found[-1] = (start, float(high), depth if abs(depth) > abs(deepest) else deepest)
        else:
            found.append((float(low), float(high), depth))
    return found


def _neighbourhood(flat: FloatArray, reach: int) -> FloatArray:
    """Median of the bins around each bin; nan where none was passed."""
    padded = np.pad(flat, reach, constant_values=np.nan)
    windows = np.lib.stride_tricks.sliding_window_view(padded, 2 * reach + 1)
    medians = np.full(flat.size, np.nan)
    passed = np.isfinite(windows).any(axis=1)
    medians[passed] = np.nanmedian(windows[passed], axis=1)
    return medians


def matched(
    opening: list[tuple[float, float, float]], closing: list[tuple[float, float, float]]
) -> tuple[BadSpot, ...]:
    """Places of both ways that lie together as one spot, the others as spots of one way. House definition."""
    spots = []
    left = list(closing)
    for low, high, depth in opening:
        near = [each for each in left if each[0] - _JOIN_PCT <= high and each[1] + _JOIN_PCT >= low]
        for each in near:
            left.remove(each)
        start, end = min([low, *(each[0] for each in near)]), max([high, *(each[1] for each in near)])
        deepest = max([depth, *(each[2] for each in near)], key=abs)
        spots.append(BadSpot(0.5 * (start + end), end - start, deepest, True, bool(near)))
    spots += [BadSpot(0.5 * (low + high), high - low, depth, False, True) for low, high, depth in left]
    return tuple(sorted(spots, key=lambda each: each.position_pct))


def unseen(middles: FloatArray, seen: BoolArray) -> str:
    """Over how much of the travel a bad spot could not have been seen both ways, and where first; "": nowhere.

    House definition.
    """
    inside = (middles > END_PCT) & (middles < 100.0 - END_PCT)
    missed = inside & ~seen
    share = np.count_nonzero(missed) / np.count_nonzero(inside)
    if share <= 1.0 - _ALL_SEEN:
        return ""
    first, last = max(extents(missed), key=lambda each: each[1] - each[0])
    return (
        f"over {100.0 * share:.0f} % of the travel, as from {middles[first] - BIN_PCT / 2:.3g} to "
        f"{middles[last] + BIN_PCT / 2:.3g} %, a bad spot could not have been seen both ways: make a whole stroke each "
        "way, slower or recorded faster"
    )
