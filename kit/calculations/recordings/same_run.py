"""Whether two recordings are of one run, by what the channels that they have in common show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.ndimage import maximum_filter1d, minimum_filter1d

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.noise import noise_of

CHANNELS: Final = ("feedback_pct", "position_pct", "closed_switch", "open_switch", "supply_v")
ALIKE_PCT: Final = 0.5  # House definition: two recorders of one valve, each with its own error, differ by less
_COMPARED: Final = ("command_pct", "position_pct", "feedback_pct")
_GRID_S: Final = 0.25  # House definition: of the common times; changes are sought by it
_MOST_POINTS: Final = 40_000  # House definition: of the grid; longer recordings are looked at more coarsely
_FEWEST: Final = 20  # House definition: points in common; fewer tell nothing
_LATE_S: Final = 0.3  # House definition: by which no person repeats every change of a walk
_MOST_APART: Final = 0.01  # House definition: of the time, in which the two may differ: bad samples
_LONGEST_APART_S: Final = 1.0  # House definition: of one such stretch
_CHANGE_PCT: Final = 1.0  # House definition: within a second, what makes an event of a run
_FEWEST_EVENTS: Final = 3  # House definition: two events lie alike by chance
_COMMON: Final = 0.9  # House definition: of the shorter one, that the two have in common
_SAME_SAMPLE: Final = 0.1  # House definition: of what neighbouring samples differ by; rounding leaves less
_OTHER_RATE: Final = 0.02  # House definition: of the interval, by which two recorders differ
_IN_STEP: Final = 0.05  # House definition: of the interval, within which samples are of one moment
_MOST_TRIED: Final = 200  # House definition: shifts, about the one that the changes tell


@dataclass(frozen=True, slots=True)
class SameRun:
    """Two recordings of one run."""

    later_s: float  # what is at t in the second is at t + later_s in the first [s]
    same_samples: bool  # the one is a copy of the other's samples; else two recorders saw it
    is_sure: bool  # False: one recorder made both, so that a programme may have run twice


def same_run(one: Recording, two: Recording) -> SameRun | None:
    """Hold two recordings against each other, whatever their clocks and columns.

    Parameters
    ----------
    one, two : Recording

    Returns
    -------
    SameRun or None
        None where they are two runs, or have no channel in common that tells.

    Notes
    -----
    **House definition**: shifted so that the changes of command, position and feedback agree best (cross-correlation),
    the two have nine tenths of the shorter one in common, and over 99 % of that each common channel is within 0.5 %
    and its noise of what the other shows within 0.3 s (or one interval), nowhere apart for longer than a second. They
    hold the same samples where these differ by less than a tenth of what neighbours differ by. Else they are two
    recorders of one run where three changes or more agree so and columns or intervals differ; of one recorder, a
    programme may have run twice, and it is not sure.
    """
    pairs = _in_common(one, two)
    if not pairs or min(len(one), len(two)) < _FEWEST:
        return None
    late = _refined(one, two, pairs, _by_changes(one, two, pairs))
    if not _agree(one, two, pairs, late):
        return None
    snapped = _of_same_samples(one, two, pairs, late)
    if snapped is not None:
        return SameRun(snapped, same_samples=True, is_sure=True)
    if _events(one, two, pairs[0][0], late) < _FEWEST_EVENTS:
        return None
    return SameRun(late, same_samples=False, is_sure=_recorded_otherwise(one, two))


def _in_common(one: Recording, two: Recording) -> list[tuple[FloatArray, FloatArray]]:
    found = []
    for name in _COMPARED:
        first, second = getattr(one, name), getattr(two, name)
        if first is not None and second is not None and np.isfinite(first).any() and np.isfinite(second).any():
            found.append((first, second))
    return found


def _at(recording: Recording, values: FloatArray, at_s: FloatArray) -> FloatArray:
    known = np.isfinite(values)
    found: FloatArray = np.interp(at_s, recording.time_s[known], values[known])
    return found


def _by_changes(one: Recording, two: Recording, pairs: list[tuple[FloatArray, FloatArray]]) -> float:
    """The shift at which the changes agree best, to a point of the grid [s]."""
    longest = max(float(each.time_s[-1] - each.time_s[0]) for each in (one, two))
    step = max(_GRID_S, longest / _MOST_POINTS)
    grids = [np.arange(each.time_s[0], each.time_s[-1], step) for each in (one, two)]
    size = 1 << int(grids[0].size + grids[1].size).bit_length()
    agreement = np.zeros(size)
    for first, second in pairs:
        changes = [np.diff(_at(each, v, g)) for each, v, g in zip((one, two), (first, second), grids, strict=True)]
        agreement += np.fft.irfft(np.fft.rfft(changes[0], size) * np.conj(np.fft.rfft(changes[1], size)), size)
    place = int(agreement.argmax())
    place -= size if place >= grids[0].size else 0
    return float(one.time_s[0] - two.time_s[0]) + place * step


def _refined(one: Recording, two: Recording, pairs: list[tuple[FloatArray, FloatArray]], late: float) -> float:
    """The shift about it at which the values lie nearest to each other [s]."""
    reach = 1.5 * max(_GRID_S, one.interval_s, two.interval_s)
    tried = late + np.linspace(-reach, reach, min(_MOST_TRIED, round(4.0 * reach / one.interval_s) | 1))
    every = slice(None, None, max(1, len(two) // (_MOST_POINTS // 10)))
    apart = [
        sum(float(np.nanmean(np.abs(_at(one, a, two.time_s[every] + each) - b[every]))) for a, b in pairs)
        for each in tried
    ]
    return float(tried[int(np.argmin(apart))])


def _grid_of(one: Recording, two: Recording, late: float) -> FloatArray:
    """Points of time that both hold [s of the second]."""
    begins, ends = max(one.time_s[0] - late, two.time_s[0]), min(one.time_s[-1] - late, two.time_s[-1])
    step = max(one.interval_s, two.interval_s, (ends - begins) / _MOST_POINTS)
    return np.arange(begins, ends, step) if ends > begins and step > 0.0 else np.empty(0)


def _agree(one: Recording, two: Recording, pairs: list[tuple[FloatArray, FloatArray]], late: float) -> bool:
    grid = _grid_of(one, two, late)
    shorter = min(float(each.time_s[-1] - each.time_s[0]) for each in (one, two))
    if grid.size < _FEWEST or grid[-1] - grid[0] < _COMMON * shorter:
        return False
    step = float(grid[1] - grid[0])
    return all(_is_alike(one, two, pair, (grid, late, step)) for pair in pairs)


def _is_alike(
    one: Recording, two: Recording, pair: tuple[FloatArray, FloatArray], times: tuple[FloatArray, float, float]
) -> bool:
    grid, late, step = times
    first, second = _at(one, pair[0], grid + late), _at(two, pair[1], grid)
    width = 2 * max(1, int(np.ceil(_LATE_S / step))) + 1
    low, high = minimum_filter1d(first, width), maximum_filter1d(first, width)
    allowed = ALIKE_PCT + noise_of(pair[0], one.interval_s).band + noise_of(pair[1], two.interval_s).band
    apart: BoolArray = (second < low - allowed) | (second > high + allowed)
    longest = max((last - start + 1 for start, last in extents(apart)), default=0) * step
    return float(np.mean(apart)) <= _MOST_APART and longest <= max(_LONGEST_APART_S, step)


def _of_same_samples(
    one: Recording, two: Recording, pairs: list[tuple[FloatArray, FloatArray]], late: float
) -> float | None:
    """The shift at which the samples are the same; None: at none."""
    for intervals in (0, -1, 1):
        at_s = two.time_s + late + intervals * one.interval_s
        after = np.clip(np.searchsorted(one.time_s, at_s), 1, len(one) - 1)
        near = after - (at_s - one.time_s[after - 1] < one.time_s[after] - at_s)
        off = one.time_s[near] - at_s
        snap = float(np.median(off))
        inside = (np.abs(off - snap) < _IN_STEP * one.interval_s) & (near > 0) & (near < len(one) - 1)
        if np.count_nonzero(inside) < _COMMON * min(len(two), len(one)):
            continue
        bands = [noise_of(a, one.interval_s).band or np.inf for a, _ in pairs]
        told = [_repeats(a, b[inside], near[inside], band) for (a, b), band in zip(pairs, bands, strict=True)]
        if any(told) and False not in told:
            return late + intervals * one.interval_s + snap
    return None


def _repeats(first: FloatArray, second: FloatArray, near: IntArray, band_pct: float) -> bool | None:
    """Whether a channel has the same samples, by its noise where it has any; None: no sample differs from the next."""
    apart = [np.abs(first[near + by] - second) for by in (0, -1, 1)]
    here, before, after = (float(np.nanmean(np.minimum(each, band_pct))) for each in apart)
    return None if max(before, after) == 0.0 else here <= _SAME_SAMPLE * min(before, after)


def _events(one: Recording, two: Recording, values: FloatArray, late: float) -> int:
    """How many changes of a channel the common time holds."""
    grid = _grid_of(one, two, late)
    shown = _at(one, values, grid + late)
    width = 2 * max(1, int(np.ceil(_LONGEST_APART_S / (grid[1] - grid[0])))) + 1
    return len(extents(maximum_filter1d(shown, width) - minimum_filter1d(shown, width) > _CHANGE_PCT))


def _recorded_otherwise(one: Recording, two: Recording) -> bool:
    columns = [(each.has_command, *(getattr(each, name) is None for name in CHANNELS)) for each in (one, two)]
    return columns[0] != columns[1] or abs(two.interval_s / one.interval_s - 1.0) > _OTHER_RATE
