"""Which of two channels of a recording changes first."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

_GRID_S: Final = 0.25  # House definition: of the common times; a lead shorter than a few of them is none
_LONGEST_S: Final = 30.0  # House definition: farther apart, changes do not belong together
_LEAST_LEAD_S: Final = 1.0  # House definition: more than clocks and filters put between two channels
_LEAD_INTERVALS: Final = 3.0  # House definition: of sampling, likewise
_TIMES_LIKELIER: Final = 1.3  # House definition: by how much changes ahead must fit better than changes behind
_TIMES_NEARER: Final = 1.3  # House definition: by how much the two must lie nearer to each other when shifted so
_LEAST_CHANGE_PCT: Final = 20.0  # House definition: of travel, in all, that both must have made
_MOST_POINTS: Final = 40_000  # House definition: of the grid; longer recordings are looked at more coarsely


def changes_ahead_s(time_s: Numbers, asked_pct: Numbers, travel_pct: Numbers) -> float | None:
    """By how much the travel changes before what the command asks for [s]; None: it does not.

    Parameters
    ----------
    time_s, asked_pct, travel_pct : array, shape (n,)
        Time [s], ideal position and travel [% of travel]. A nan is a lost sample.

    Notes
    -----
    House definition: the shift, up to 30 s, at which the changes of the two over 0.25 s agree best (cross-correlation),
    where it is more than 1 s and three intervals, and 1.3 times as high as at any shift the other way; and where the
    two then lie 1.3 times as near to each other as by the best shift the other way.

    Examples
    --------
    >>> time = np.arange(0.0, 200.0, 0.5)
    >>> ahead = changes_ahead_s(time, np.where(time < 100.0, 0.0, 50.0), np.clip(10.0 * (time - 90.0), 0.0, 50.0))
    >>> bool(ahead > 4.0)
    True
    """
    known = np.isfinite(time_s) & np.isfinite(asked_pct) & np.isfinite(travel_pct)
    times, asked, travel = time_s[known], asked_pct[known], travel_pct[known]
    if times.size < 4 or not bool(np.all(np.diff(times) > 0.0)):
        return None
    length = float(times[-1] - times[0])
    step = max(_GRID_S, length / _MOST_POINTS)
    grid = np.arange(times[0], times[-1], step)
    if grid.size < 4 or min(float(np.ptp(asked)), float(np.ptp(travel))) < _LEAST_CHANGE_PCT:
        return None
    first, second = np.diff(np.interp(grid, times, asked)), np.diff(np.interp(grid, times, travel))
    reach = min(round(_LONGEST_S / step), first.size - 1)
    size = 1 << int(first.size + reach).bit_length()
    agreement = np.fft.irfft(np.conj(np.fft.rfft(first, size)) * np.fft.rfft(second, size), size)
    behind, ahead = agreement[: reach + 1], agreement[-reach:][::-1]
    lead = (int(ahead.argmax()) + 1) * step
    interval = float(np.median(np.diff(times)))
    if lead <= max(_LEAST_LEAD_S, _LEAD_INTERVALS * interval):
        return None
    if float(ahead.max()) <= max(_TIMES_LIKELIER * float(behind.max()), 0.0):
        return None
    asked_at, travel_at = np.interp(grid, times, asked), np.interp(grid, times, travel)
    fits = _apart(travel_at, asked_at, int(ahead.argmax()) + 1)
    return lead if _TIMES_NEARER * fits < _apart(asked_at, travel_at, int(behind.argmax())) else None


def _apart(first: Numbers, second: Numbers, steps: int) -> float:
    """Mean distance of two series, the second of them taken so many steps later."""
    return float(np.abs(first[: first.size - steps] - second[steps:]).mean())
