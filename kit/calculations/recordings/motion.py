"""When the valve moves, and which way."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.noise import JUST_OVER, Noise
from kit.calculations.recordings.windows import mean_change

_SIGMAS: Final = 6.0  # House definition: a difference beyond it is no noise, once in 500 million samples
_LEAST_MOVE_PCT: Final = 0.05  # House definition: less is play of the pick-up
_WINDOWS_S: Final = (0.05, 0.1, 0.2, 0.4, 0.8)  # House definition: the shortest that shows the motion is taken
_FAST_SHARE: Final = 0.5  # House definition: motion at half speed must stand out of the noise in the window
_FEWEST: Final = 4  # House definition: fewer samples show no motion
_BREAK_INTERVALS: Final = 3.0  # House definition: times farther apart are a break
_SPEED_LAGS_S: Final = (0.2, 1.0)  # House definition: over which a quick and a slow valve's speed is taken
_BEYOND_BAND: Final = 1.5  # House definition: of what a sample at rest stays within, what tells of motion
_USUAL: Final = 0.8  # House definition: the quantile of the speeds that is the usual one


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """When the valve moves, sample by sample and episode by episode."""

    moving: BoolArray  # (n,)
    from_s: FloatArray  # (m,) start of each episode [s]
    to_s: FloatArray  # (m,) end of each episode [s]
    change_pct: FloatArray  # (m,) travel in each episode [% of travel]
    window_s: float  # starts and ends are known to within this [s]
    least_pct: float = 0.0  # a lesser move does not show [% of travel]

    def __len__(self) -> int:
        return int(self.from_s.size)

    def within(self, from_s: float, to_s: float) -> list[int]:
        """The episodes that start between two times."""
        return [int(each) for each in np.flatnonzero((self.from_s >= from_s) & (self.from_s <= to_s))]


def motion_of(recording: Recording, noise: Noise) -> Motion:
    """Find every motion of the valve.

    Parameters
    ----------
    recording : Recording
    noise : Noise
        Of its travel.

    Returns
    -------
    Motion
        No episode for fewer than four samples. Nothing is found across a gap or a lost sample.

    Notes
    -----
    **House definition**: the valve moves where the mean travel after a sample differs from the mean before by
    more than six standard deviations of that difference, just over one step of the recorder, and 0.05 %;
    the window is the shortest of 0.05, 0.1, 0.2, 0.4 and 0.8 s in which the valve's usual speed stands out of the
    noise twice over, so that pulses are told apart where the recording can. An episode goes one way: where the
    travel turns without a pause, the next begins.
    """
    usable = np.isfinite(recording.travel_pct)
    times, travel = recording.time_s[usable], recording.travel_pct[usable]
    moving = np.zeros(len(recording), dtype=bool)
    if times.size < _FEWEST:
        return Motion(moving, np.empty(0), np.empty(0), np.empty(0), 0.0)
    interval = recording.interval_s
    usual = _usual_pct_s(times, travel, noise, interval)
    width = _width(usual, noise, interval)
    way = ways(travel, width, noise)
    way[_near(np.diff(times) > _BREAK_INTERVALS * interval, width)] = 0
    found = [
        (*_trimmed(times, travel, first, last + 1, width, noise), sign) for first, last, sign in one_way_extents(way)
    ]
    starts, ends = times[[left for left, _, _ in found]], times[[right for _, right, _ in found]]
    inside = np.zeros(times.size, dtype=bool)
    for start, end in zip(starts, ends, strict=True):
        inside[np.searchsorted(times, start) : np.searchsorted(times, end) + 1] = True
    moving[usable] = inside
    changes = _changes(travel, found, width)
    return Motion(moving, starts, ends, changes, width * interval, _least(width, noise))


def ways(travel: FloatArray, width: int, noise: Noise, least_pct: float = _LEAST_MOVE_PCT) -> IntArray:
    """Which way the travel moves between each sample and the next, shape (n - 1,): -1, 1, or 0 where none shows.

    Parameters
    ----------
    travel : array, shape (n,)
        Finite [% of travel].
    width : int
        Samples in the mean before and after.
    noise : Noise
        Of the travel.
    least_pct : float
        A lesser difference of the means is no motion [% of travel].

    Notes
    -----
    **House definition**: the means differ by more than six standard deviations of that difference and just over one
    step of the recorder.

    Examples
    --------
    >>> ways(np.array([1.0, 1.0, 2.0, 3.0, 2.0, 2.0]), 1, Noise(0.0, 0.0)).tolist()
    [0, 1, 1, -1, 0]
    """
    difference, before, after = mean_change(travel, width)
    least = np.maximum(
        _SIGMAS * noise.deviation * np.sqrt(1.0 / before + 1.0 / after), max(least_pct, JUST_OVER * noise.quantum)
    )
    return np.where(np.abs(difference) > least, np.sign(difference), 0.0).astype(np.intp)


def one_way_extents(way: IntArray) -> list[tuple[int, int, int]]:
    """First and last place and sign of each run of one sign, in order: a House definition.

    Examples
    --------
    >>> one_way_extents(np.array([0, 1, 1, -1, 0]))
    [(1, 2, 1), (3, 3, -1)]
    """
    return sorted([(*run, 1) for run in extents(way > 0)] + [(*run, -1) for run in extents(way < 0)])


def _changes(travel: FloatArray, found: list[tuple[int, int, int]], width: int) -> FloatArray:
    """What each episode brings the travel forward by, its neighbours' share apart."""
    if not found:
        return np.empty(0)
    left, right, sign = np.array(found).T
    low = np.maximum(left - width, np.concatenate(([0], right[:-1])))
    high = np.minimum(right + width, np.concatenate((left[1:], [travel.size - 1])))
    changes: FloatArray = sign * np.abs(travel[np.maximum(high, right)] - travel[np.minimum(low, left)])
    return changes


def _usual_pct_s(times: FloatArray, travel: FloatArray, noise: Noise, interval: float) -> float:
    """The speed at which the valve usually moves, where it moves [% of travel per s]."""
    found = [0.0]
    for lag_s in _SPEED_LAGS_S:
        lag = max(1, round(lag_s / interval)) if interval > 0 else 1
        if travel.size <= lag:
            continue
        speed = np.abs(travel[lag:] - travel[:-lag]) / (times[lag:] - times[:-lag])
        fast = speed[speed > _BEYOND_BAND * noise.band / (lag * interval)]
        found.append(float(np.quantile(fast, _USUAL)) if fast.size else 0.0)
    return max(found)


def _width(usual_pct_s: float, noise: Noise, interval: float) -> int:
    """Samples in the shortest window in which the valve's usual speed stands out of the noise."""
    for window in _WINDOWS_S:
        width = max(1, round(window / interval))
        if _FAST_SHARE * usual_pct_s * width * interval > _least(width, noise):
            return width
    return max(1, round(_WINDOWS_S[-1] / interval))


def _least(width: int, noise: Noise) -> float:
    return max(_SIGMAS * noise.deviation * sqrt(2.0 / width), JUST_OVER * noise.quantum, _LEAST_MOVE_PCT)


def _near(broken: BoolArray, width: int) -> BoolArray:
    """Where a window would reach across a break."""
    if not broken.any():
        return broken
    reach: BoolArray = np.convolve(broken.astype(float), np.ones(2 * width + 1), mode="same") > 0
    return reach


def _trimmed(times: FloatArray, travel: FloatArray, first: int, last: int, width: int, noise: Noise) -> tuple[int, int]:
    """First and last sample of an episode, without what the window reaches beyond it."""
    if width == 1:
        return first, last
    start = float(travel[max(first - width, 0) : first + 1].mean())
    end = float(travel[last : min(last + width, travel.size) + 1].mean())
    inner = travel[first : last + 1]
    left = np.flatnonzero(np.abs(inner - start) > noise.band)
    right = np.flatnonzero(np.abs(inner - end) > noise.band)
    begin = first + (max(int(left[0]) - 1, 0) if left.size else 0)
    finish = first + (min(int(right[-1]) + 1, inner.size - 1) if right.size else inner.size - 1)
    return (begin, finish) if begin < finish else (first, last)
