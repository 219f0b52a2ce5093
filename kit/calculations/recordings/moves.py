"""Every move one way that travel or feedback shows, quick or slow."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.motion import Motion, motion_of, one_way_extents, ways
from kit.calculations.recordings.noise import Noise

_SLOW_S: Final = (2.0, 8.0)  # House definition: windows that show motion too slow for those of a quick valve
_LEAST_SLOW_PCT: Final = 0.1  # House definition: a lesser creep is none
_SLOW_BLOCK_S: Final = 0.25  # House definition: means in which slow motion is looked for
_UNBROKEN: Final = 1.5  # House definition: of its length, what a window takes where samples are missing in it
_SIGMAS: Final = 6.0  # House definition: a difference beyond it is no noise, once in 500 million samples
_BESIDE_S: Final = 0.5  # House definition: a feedback that moves so near to the travel moves with it
_MOST: Final = 0.5  # House definition: of the samples, what a feedback lacks that tells no motion


@dataclass(frozen=True, slots=True, eq=False)
class Moves:
    """Moves one way, in order of time: arrays of shape (m,)."""

    from_s: FloatArray
    to_s: FloatArray
    way: IntArray  # -1 or 1
    slow: BoolArray  # only means over 2 s or more show it, so that it may be none of the motor's

    def __len__(self) -> int:
        return int(self.from_s.size)

    def begun(self, from_s: float, to_s: float) -> int:
        """How many begin between two times."""
        return int(np.count_nonzero((self.from_s >= from_s) & (self.from_s <= to_s)))


def moves_of(recording: Recording, motion: Motion, channels: Channels) -> Moves:
    """Every move one way of the travel, and of a feedback of its own while the travel stands.

    Parameters
    ----------
    recording : Recording
    motion : Motion
        Of its travel.
    channels : Channels
        What its channels do at rest.

    Notes
    -----
    **House definition**: beside the quick motions those that means over 2 s, else over 8 s, show by more than six
    standard deviations of their difference and 0.1 %, clear of quick ones, and that do not go on from a move the
    same way within two windows. A feedback shows what the motor does within the play behind it; what it shows within
    half a second of a move of the travel is that move, or a bad spot.
    """
    own = _of_channel(recording, motion, channels.travel)
    feedback = recording.feedback_pct
    if recording.travel_is_feedback or feedback is None or np.mean(np.isfinite(feedback)) < _MOST:
        return own
    other = replace(recording, travel_pct=feedback)
    found = _of_channel(other, motion_of(other, channels.feedback), channels.feedback)
    alone = ~_overlap(found, own)
    if _goes_other_way(recording.travel_pct, feedback):
        found = replace(found, way=-found.way)
    return _in_order(own, Moves(found.from_s[alone], found.to_s[alone], found.way[alone], found.slow[alone]))


def faint_moves(recording: Recording, motion: Motion, moves: Moves, channels: Channels) -> int:
    """How many moves more there are if what the travel wanders by is the valve's own.

    Parameters
    ----------
    recording : Recording
    motion : Motion
        Of its travel.
    moves : Moves
        Those that stand out of its noise and wander.
    channels : Channels
        What its channels do at rest.

    Notes
    -----
    **House definition**: as the slow moves of :func:`moves_of`, with noise and hum alone. A filter makes steps of many
    short starts look like wander.
    """
    if channels.travel.wander == 0.0:
        return 0
    noise, found = replace(channels.travel, wander=0.0), moves
    for scale_s in _SLOW_S:
        found = _in_order(found, _slow(recording, motion, found, noise, scale_s))
    return len(found) - len(moves)


def _of_channel(recording: Recording, motion: Motion, noise: Noise) -> Moves:
    way = np.sign(motion.change_pct).astype(np.intp)
    moves = Moves(motion.from_s, motion.to_s, way, np.zeros(len(motion), dtype=bool))
    for scale_s in _SLOW_S:
        moves = _in_order(moves, _slow(recording, motion, moves, noise, scale_s))
    return moves


def _slow(recording: Recording, motion: Motion, moves: Moves, noise: Noise, scale_s: float) -> Moves:
    """Moves that means over a window show, and that do not go on from another."""
    block = max(1, round(_SLOW_BLOCK_S / recording.interval_s)) if recording.interval_s > 0 else 1
    usable = np.flatnonzero(np.isfinite(recording.travel_pct))
    count = usable.size // block
    width = round(scale_s / (block * recording.interval_s)) if recording.interval_s > 0 else 0
    if width < 1 or count <= 2 * width:
        return _moves([])
    at = usable[: count * block].reshape(count, block)
    times, travel = recording.time_s[at[:, 0]], recording.travel_pct[at].mean(axis=1)
    quick = np.concatenate(([0], np.cumsum(motion.moving[at].any(axis=1))))
    place = np.arange(1, count)
    low, high = np.maximum(place - width - 1, 0), np.minimum(place + width + 1, count)
    clear = (quick[high] == quick[low]) & (times[high - 1] - times[low] < _UNBROKEN * 2.0 * scale_s)
    least = max(_LEAST_SLOW_PCT, _SIGMAS * sqrt(2.0) * noise.of_mean(width * block))
    way = np.where(clear, ways(travel, width, Noise(0.0, 0.0), least), 0)
    found: list[tuple[float, float, int]] = []
    for first, last, sign in one_way_extents(way):
        start, end, reach = float(times[first]), float(times[last + 1]), 2.0 * scale_s
        near = (moves.from_s < end + reach) & (moves.to_s > start - reach) & (moves.way == sign)
        goes_on = bool(found) and found[-1][2] == sign and start - found[-1][1] < scale_s
        if not near.any() and not goes_on:
            found.append((start, end, sign))
    return _moves(found)


def _moves(slow: list[tuple[float, float, int]]) -> Moves:
    starts, ends, signs = (np.array([each[place] for each in slow], dtype=float) for place in range(3))
    return Moves(starts, ends, signs.astype(np.intp), np.ones(len(slow), dtype=bool))


def _in_order(one: Moves, other: Moves) -> Moves:
    if len(other) == 0:
        return one
    from_s = np.concatenate((one.from_s, other.from_s))
    order = np.argsort(from_s, kind="stable")
    to_s, way = np.concatenate((one.to_s, other.to_s)), np.concatenate((one.way, other.way))
    return Moves(from_s[order], to_s[order], way[order], np.concatenate((one.slow, other.slow))[order])


def _overlap(found: Moves, own: Moves) -> BoolArray:
    """Whether each move lies within half a second of one of another channel."""
    if len(own) == 0:
        return np.zeros(len(found), dtype=bool)
    ends = np.maximum.accumulate(own.to_s)
    before = np.searchsorted(own.from_s, found.to_s + _BESIDE_S, side="right")
    last_end = np.where(before > 0, ends[np.maximum(before - 1, 0)], -np.inf)
    beside: BoolArray = last_end >= found.from_s - _BESIDE_S
    return beside


def _goes_other_way(travel: FloatArray, feedback: FloatArray) -> bool:
    known = np.isfinite(travel) & np.isfinite(feedback)
    return bool(known.any() and np.cov(travel[known], feedback[known])[0, 1] < 0.0)
