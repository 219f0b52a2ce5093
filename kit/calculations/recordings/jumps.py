"""The jumps in which a valve may follow a ramp of the command: which motions are one, when each starts and ends."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.noise import Noise

_EVEN_SHARE: Final = 0.5  # House definition: of a ramp's travel or time; less of it in jumps is even following
_RUNNING: Final = 0.25  # House definition: of a ramp's time; a valve that runs for more of it does not stand between
_FEWEST_JUMPS: Final = 3  # House definition: on a ramp; fewer show no jump that is usual
_CLEAR: Final = 2.0  # House definition: of the least motion that is seen; lesser jumps may be missed
_PART: Final = 0.3  # House definition: of the usual jump or stand; less is a part of one
_SEEN_PCT: Final = 0.05  # House definition: of travel, the least motion that is looked for
_EARLY: Final = 0.2  # House definition: of a jump, gone when its start is traced back


@dataclass(frozen=True, slots=True)
class Jump:
    """One jump of the travel on a ramp."""

    episode: int  # of the motion, its first
    from_s: float
    to_s: float
    change_pct: float  # [% of travel]


@dataclass(frozen=True, slots=True)
class Bounds:
    """When a jump starts and ends [s], and what noise leaves open of either."""

    start_s: float
    end_s: float
    deviation_s: float


def jump_of(motion: Motion, episode: int) -> Jump:
    """One episode of the motion."""
    return Jump(episode, *(float(each[episode]) for each in (motion.from_s, motion.to_s, motion.change_pct)))


def jumps_on(ramp: Segment, motion: Motion, noise: Noise, interval_s: float) -> list[Jump]:
    """The jumps in which the travel follows a ramp; none where it follows evenly, or noise may hide some.

    Parameters
    ----------
    ramp : Segment
    motion : Motion
        Of the recording.
    noise : Noise
        Of its travel.
    interval_s : float
        Sampling interval [s].

    Notes
    -----
    **House definition**: three motions or more, each shorter than a quarter of the ramp, that make up half of
    its travel and take at most a quarter of its time, and are usually twice as great as the least that stands out of
    the noise. Motions that a stand of less than 0.3 of the usual one parts are one; a motion of less than 0.3
    of the usual one is none.
    """
    longest = _EVEN_SHARE * 0.5 * ramp.duration_s
    own = motion.within(ramp.from_s, ramp.to_s)
    moved = abs(sum(float(motion.change_pct[each]) for each in own))
    jumps = _whole(motion, [each for each in own if float(motion.to_s[each] - motion.from_s[each]) < longest])
    sizes = np.array([abs(each.change_pct) for each in jumps])
    running = sum(each.to_s - each.from_s for each in jumps)
    if sizes.size < _FEWEST_JUMPS or sizes.sum() < _EVEN_SHARE * moved or running > _RUNNING * ramp.duration_s:
        return []
    width = max(motion.window_s / interval_s, 1.0)
    least_seen = max(noise.band * sqrt(2.0 / width), noise.quantum, _SEEN_PCT)
    return jumps if float(np.median(sizes)) >= _CLEAR * least_seen else []


def _whole(motion: Motion, episodes: Sequence[int]) -> list[Jump]:
    """Episodes as jumps: those that a short stand parts are one, and what is far less than the others is none."""
    if not episodes:
        return []
    sizes = np.abs(motion.change_pct[list(episodes)])
    kept = [each for each, size in zip(episodes, sizes, strict=True) if size >= _PART * _weighted(sizes)]
    stands = np.array([max(float(motion.from_s[b] - motion.to_s[a]), 0.0) for a, b in pairwise(kept)])
    least = _PART * _weighted(stands)
    jumps = [jump_of(motion, kept[0])]
    for each, stand in zip(kept[1:], stands, strict=True):
        last, here = jumps[-1], jump_of(motion, each)
        if stand < least and here.change_pct * last.change_pct > 0.0:
            jumps[-1] = Jump(last.episode, last.from_s, here.to_s, last.change_pct + here.change_pct)
        else:
            jumps.append(here)
    return jumps


def _weighted(sizes: FloatArray) -> float:
    """The size that half of the sum is in sizes of at most that; 0 of none."""
    ordered = np.sort(sizes)
    total = np.cumsum(ordered)
    return float(ordered[int(np.searchsorted(total, 0.5 * total[-1]))]) if ordered.size else 0.0


def bounds_of(recording: Recording, jump: Jump, motion: Motion, noise: Noise) -> Bounds:
    """Start and end of a jump.

    Parameters
    ----------
    recording : Recording
    jump : Jump
        One of its travel.
    motion : Motion
        Of the recording.
    noise : Noise
        Of its travel.

    Notes
    -----
    **House definition**: on the straight lines through where it has gone a half of its way and a fifth, or four fifths;
    as the motion has them where its levels before and after were not recorded.
    """
    reach = 2.0 * max(motion.window_s, recording.interval_s)
    place = recording.place(jump.from_s - reach, jump.to_s + reach)
    known = np.isfinite(recording.travel_pct[place])
    times, travel = recording.time_s[place][known], recording.travel_pct[place][known]
    before, after = travel[times <= jump.from_s], travel[times >= jump.to_s]
    seen = Bounds(jump.from_s, jump.to_s, motion.window_s)
    if before.size == 0 or after.size == 0 or float(after.mean()) == float(before.mean()):
        return seen
    change = float(after.mean() - before.mean())
    share = (travel - before.mean()) / change
    half = int((share >= 0.5).argmax())
    if half == 0:
        return seen
    first = _passes(times[: half + 1], share[: half + 1])
    last = -_passes(-times[half - 1 :][::-1], 1.0 - share[half - 1 :][::-1])
    middle = float(np.interp(0.5, share[half - 1 : half + 1], times[half - 1 : half + 1]))
    onward = _EARLY / (0.5 - _EARLY)
    deviation = (last - first) / (1.0 - 2.0 * _EARLY) * noise.deviation / abs(change)
    return Bounds(first - onward * (middle - first), last + onward * (last - middle), deviation)


def _passes(times: FloatArray, share: FloatArray) -> float:
    """When a share that rises to a half last passes a fifth."""
    below = np.flatnonzero(share < _EARLY)
    if below.size == 0:
        return float(times[0])
    place = int(below[-1])
    if place + 1 >= share.size:
        return float(times[-1])
    return float(np.interp(_EARLY, share[place : place + 2], times[place : place + 2]))
