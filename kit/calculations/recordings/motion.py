"""When the valve moves: starts, stops, running share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.noise import JUST_OVER, Noise
from kit.calculations.recordings.terms import sampling

PULSE_PAUSE_S: Final = 2.0  # House definition: a longer pause ends the run of a pulsed motor
_SIGMAS: Final = 6.0  # House definition: a difference beyond it is no noise, once in 500 million samples
_LEAST_MOVE_PCT: Final = 0.05  # House definition: less is play of the pick-up
_WINDOWS_S: Final = (0.05, 0.1, 0.2, 0.4, 0.8)  # House definition: the shortest that shows the motion is taken
_FAST_SHARE: Final = 0.5  # House definition: motion at half speed must stand out of the noise in the window
_SHORTEST_S: Final = 60.0  # House definition: starts an hour from less than a minute are a guess
_FEWEST: Final = 4  # House definition: fewer samples show no motion
_BREAK_INTERVALS: Final = 3.0  # House definition: times farther apart are a break
_SPEED_LAG_S: Final = 1.0  # House definition: over which the valve's speed is taken
_USUAL: Final = 0.8  # House definition: the quantile of the speeds that is the usual one


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """When the valve moves, sample by sample and episode by episode."""

    moving: BoolArray  # (n,)
    from_s: FloatArray  # (m,) start of each episode [s]
    to_s: FloatArray  # (m,) end of each episode [s]
    change_pct: FloatArray  # (m,) travel in each episode [% of travel]
    window_s: float  # starts and ends are known to within this [s]

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
    noise twice over, so that pulses are told apart where the recording can. Episodes that do not bring
    the travel further than that are none.
    """
    usable = np.isfinite(recording.travel_pct)
    times, travel = recording.time_s[usable], recording.travel_pct[usable]
    moving = np.zeros(len(recording), dtype=bool)
    if times.size < _FEWEST:
        return Motion(moving, np.empty(0), np.empty(0), np.empty(0), 0.0)
    interval = recording.interval_s
    width = _width(times, travel, noise, interval)
    seen = _seen(travel, width, noise)
    broken = np.diff(times) > _BREAK_INTERVALS * interval
    seen[_near(broken, width)] = False
    starts, ends, changes = [], [], []
    for first, last in extents(seen):
        left, right = _trimmed(times, travel, first, last + 1, width, noise)
        change = float(travel[min(right + width, travel.size - 1)] - travel[max(left - width, 0)])
        starts.append(float(times[left]))
        ends.append(float(times[right]))
        changes.append(change)
    inside = np.zeros(times.size, dtype=bool)
    for start, end in zip(starts, ends, strict=True):
        inside[np.searchsorted(times, start) : np.searchsorted(times, end) + 1] = True
    moving[usable] = inside
    return Motion(moving, np.array(starts), np.array(ends), np.array(changes), width * interval)


def starts_per_hour(recording: Recording, motion: Motion, ramps: Sequence[tuple[float, float]] = ()) -> Quantity:
    """Starts of the motor an hour, over the whole recording.

    Parameters
    ----------
    recording : Recording
    motion : Motion
        Of the recording.
    ramps : sequence of (from, to)
        Ramps of the command [s], on which every jump is a start of its own.

    Returns
    -------
    Quantity
        [1/h]. None for less than a minute of recording. The running share [%] stands beside it.

    Notes
    -----
    **House definition**: a start is the begin of an episode of motion that the travel shows; what goes on the same
    way after less than 2 s, with the command at rest, is a pulse of the same run. One start more or less
    may be cut off at the ends of the recording.
    """
    hours = recording.duration_s / 3600.0
    if recording.duration_s < _SHORTEST_S:
        return Quantity(None, "less than a minute was recorded")
    count = len(motion) - _pulses(motion, ramps)
    share = 100.0 * float((motion.to_s - motion.from_s).sum()) / recording.duration_s
    return Quantity(
        count / hours,
        at_s=float(motion.from_s[0]) if len(motion) else None,
        components=(sampling(1.0 / hours, "1/h", "one start more or less"),),
        beside={"starts": float(count), "episodes": float(len(motion)), "running_share_pct": share},
    )


def _pulses(motion: Motion, ramps: Sequence[tuple[float, float]]) -> int:
    """Episodes that go on the same way after a short pause."""
    if len(motion) < 2:
        return 0
    same = np.sign(motion.change_pct[1:]) == np.sign(motion.change_pct[:-1])
    short = motion.from_s[1:] - motion.to_s[:-1] < PULSE_PAUSE_S
    on_ramp = np.zeros(len(motion) - 1, dtype=bool)
    for start, end in ramps:
        on_ramp |= (motion.from_s[1:] >= start) & (motion.from_s[1:] <= end)
    return int(np.count_nonzero(same & short & ~on_ramp))


def _width(times: FloatArray, travel: FloatArray, noise: Noise, interval: float) -> int:
    """Samples in the shortest window in which the valve's usual speed stands out of the noise."""
    lag = max(1, round(_SPEED_LAG_S / interval)) if interval > 0 else 1
    if travel.size <= lag:
        return 1
    speed = np.abs(travel[lag:] - travel[:-lag]) / (times[lag:] - times[:-lag])
    fast = speed[speed > noise.band / (lag * interval)]
    usual = float(np.quantile(fast, _USUAL)) if fast.size else 0.0
    for window in _WINDOWS_S:
        width = max(1, round(window / interval))
        if _FAST_SHARE * usual * width * interval > _least(width, noise):
            return width
    return max(1, round(_WINDOWS_S[-1] / interval))


def _least(width: int, noise: Noise) -> float:
    return max(_SIGMAS * noise.deviation * sqrt(2.0 / width), JUST_OVER * noise.quantum, _LEAST_MOVE_PCT)


def _seen(travel: FloatArray, width: int, noise: Noise) -> BoolArray:
    """Where the means of ``width`` samples after and before differ, shape (n - 1,)."""
    size = travel.size
    total = np.concatenate(([0.0], np.cumsum(travel - travel[0])))
    place = np.arange(1, size)
    low, high = np.maximum(place - width, 0), np.minimum(place + width, size)
    before, after = place - low, high - place
    difference = (total[high] - total[place]) / after - (total[place] - total[low]) / before
    least = np.maximum(
        _SIGMAS * noise.deviation * np.sqrt(1.0 / before + 1.0 / after), max(_LEAST_MOVE_PCT, JUST_OVER * noise.quantum)
    )
    seen: BoolArray = np.abs(difference) > least
    return seen


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
