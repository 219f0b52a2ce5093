"""Ramps of the command: what a valve that follows them in jumps, or evenly, tells of dead band and resolution."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.ramps import CommandLine, Delays, command_line, loop_trial
from kit.calculations.recordings.trials import Trial

Ideal = Callable[[float], float]

_EVEN_SHARE: Final = 0.5  # House definition: of a ramp's travel or time; less of it in jumps is even following
_RUNNING: Final = 0.25  # House definition: of a ramp's time; a valve that runs for more of it does not stand between
_FEWEST_JUMPS: Final = 3  # House definition: on a ramp; fewer show no jump that is usual
_CLEAR: Final = 2.0  # House definition: of the least motion that is seen; lesser jumps may be missed
_PART: Final = 0.3  # House definition: of the usual jump or stand; less is a part of one
_EARLY: Final = 0.2  # House definition: of a jump, gone when its start is traced back
_CLEARLY: Final = 4.0  # House definition: standard deviations of a difference of means that are no noise
_LEAST_STEP_PCT: Final = 0.01  # House definition: of travel; a lesser step in a stand is no motion
_SELDOM: Final = 0.1  # House definition: the share of first motions that noise may hide without more ado
_OFTEN: Final = 0.2  # House definition: likewise, from which on each may be one jump later than it was
_NARROW_PCT: Final = 0.3  # House definition: of command range; a bracket from nothing that still tells something
_SEEN_PCT: Final = 0.05  # House definition: of travel, the least motion that is looked for
_SAME_S: Final = 1e-9  # House definition: times that are alike differ by rounding


@dataclass(frozen=True, slots=True)
class _Jump:
    """One jump of the travel on a ramp."""

    episode: int  # of the motion, its first
    from_s: float
    to_s: float
    change_pct: float  # [% of travel]


@dataclass(frozen=True, slots=True)
class _Ramps:
    """What all ramps of a recording are looked at with."""

    recording: Recording
    channels: Channels
    motion: Motion
    delays: Delays
    ideal: Ideal

    def slope(self, line: CommandLine) -> float:
        """Of the ideal over a ramp [% of travel per % of command]; 0 where it is held."""
        start, end = line.at(line.from_s), line.at(line.to_s)
        return abs((self.ideal(end) - self.ideal(start)) / (end - start)) if end != start else 0.0

    def jump(self, episode: int) -> _Jump:
        """One episode of the motion."""
        motion = self.motion
        return _Jump(episode, *(float(each[episode]) for each in (motion.from_s, motion.to_s, motion.change_pct)))

    def held(self, hold: Segment) -> float:
        """Mean command of a hold [% of command range]."""
        place = self.recording.place(hold.from_s, hold.to_s)
        return float(np.nanmean(self.recording.command_pct[place]))

    @property
    def least_seen_pct(self) -> float:
        """The least jump that stands out of the noise [% of travel]."""
        width = max(self.motion.window_s / self.recording.interval_s, 1.0) if self.recording.interval_s else 1.0
        return max(self.channels.travel.band * sqrt(2.0 / width), self.channels.travel.quantum, _SEEN_PCT)


def ramp_trials(
    recording: Recording,
    segments: Sequence[Segment],
    channels: Channels,
    motion: Motion,
    delays: Delays,
    ideal: Ideal,
) -> tuple[Trial, ...]:
    """What ramps of the command, up and back, tell of dead band and resolution.

    Parameters
    ----------
    recording, segments, channels
        As :func:`~kit.calculations.recordings.segments.cut_recording` takes and gives them.
    motion : Motion
        Of the recording.
    delays : Delays
        How much later than its command the travel moves.
    ideal : callable
        Ideal position [% of travel] for a command.

    Notes
    -----
    **House definition**, in the sense of the dead-band test by slow input of JB/T 8219-1999 (as quoted in
    secondary texts): the command at which the travel last moved one way, less the one at which it first
    moves back. Where a valve follows in three clear jumps or more on either ramp, from jump to jump; else the width of
    the loop that travel over command goes round.
    """
    seen = _Ramps(recording, channels, motion, delays, ideal)
    known = [
        (each, command_line(recording, each, channels.command), _jumps_on(seen, each))
        for each in segments
        if each.what in _WAYS
    ]
    trials: list[Trial] = []
    for _, line, jumps in known:
        if line is not None and jumps:
            trials += _same_way(seen, jumps, line)
    for (there, up, one), (back, down, other) in pairwise(known):
        if up is None or down is None or there.what == back.what or _something_between(segments, there, back):
            continue
        holds = _hold_after(segments, there), _hold_after(segments, back)
        found = _reversal(seen, (up, down), (one, other), holds[0]) if one and other else None
        found = found or loop_trial(recording, (up, down), delays, channels.travel, holds)
        trials += [found] if found is not None else []
    return tuple(each for each in trials if _tells(each))


def _hold_after(segments: Sequence[Segment], ramp: Segment) -> Segment | None:
    """The hold or rest that follows on a ramp, before the command changes again."""
    later = [each for each in segments if each.from_s >= ramp.to_s - _SAME_S]
    first = min(later, key=lambda each: each.from_s, default=None)
    return first if first is not None and first.what in ("hold", "rest") else None


def _tells(trial: Trial) -> bool:
    """Whether a bracket says enough: it is not as wide as what it is about, or narrow."""
    return trial.low_pct > 0.0 or trial.high_pct <= _NARROW_PCT


_WAYS: Final = ("ramp_up", "ramp_down")


def _something_between(segments: Sequence[Segment], there: Segment, back: Segment) -> bool:
    return any(
        each.what not in ("hold", "rest") and each.to_s > there.to_s and each.from_s < back.from_s - _SAME_S
        for each in segments
        if each not in (there, back)
    )


def _jumps_on(seen: _Ramps, ramp: Segment) -> list[_Jump]:
    """The jumps in which the travel follows a ramp; none where it follows evenly, or noise may hide some."""
    motion, longest = seen.motion, _EVEN_SHARE * 0.5 * ramp.duration_s
    own = motion.within(ramp.from_s, ramp.to_s)
    moved = abs(sum(float(motion.change_pct[each]) for each in own))
    jumps = _whole(motion, [each for each in own if float(motion.to_s[each] - motion.from_s[each]) < longest])
    sizes = np.array([abs(each.change_pct) for each in jumps])
    running = sum(each.to_s - each.from_s for each in jumps)
    if sizes.size < _FEWEST_JUMPS or sizes.sum() < _EVEN_SHARE * moved or running > _RUNNING * ramp.duration_s:
        return []
    return jumps if float(np.median(sizes)) >= _CLEAR * seen.least_seen_pct else []


def _whole(motion: Motion, episodes: Sequence[int]) -> list[_Jump]:
    """Episodes as jumps: those that a short stand parts are one, and what is far less than the others is none."""
    if not episodes:
        return []
    sizes = np.abs(motion.change_pct[list(episodes)])
    kept = [each for each, size in zip(episodes, sizes, strict=True) if size >= _PART * _weighted(sizes)]
    stands = np.array([max(float(motion.from_s[b] - motion.to_s[a]), 0.0) for a, b in pairwise(kept)])
    least = _PART * _weighted(stands) if stands.size else 0.0
    jumps: list[_Jump] = []
    for number, each in enumerate(kept):
        start, end = float(motion.from_s[each]), float(motion.to_s[each])
        change = float(motion.change_pct[each])
        if number and stands[number - 1] < least and change * jumps[-1].change_pct > 0.0:
            jumps[-1] = _Jump(jumps[-1].episode, jumps[-1].from_s, end, jumps[-1].change_pct + change)
        else:
            jumps.append(_Jump(each, start, end, change))
    return jumps


def _weighted(sizes: FloatArray) -> float:
    """The size that half of the sum is in sizes of at least that."""
    ordered = np.sort(sizes)
    return float(ordered[int(np.searchsorted(np.cumsum(ordered), 0.5 * ordered.sum()))]) if ordered.size else 0.0


def _same_way(seen: _Ramps, jumps: Sequence[_Jump], line: CommandLine) -> list[Trial]:
    """Command from the end of one jump to the start of the next."""
    rate = abs(line.rate_pct_s)
    late, slack = seen.delays.of_jump_s
    loose = rate * _loose_s(seen, late, slack) + 2.0 * line.uneven_pct
    trials = []
    for before, after in pairwise(jumps):
        if before.change_pct * after.change_pct < 0.0:
            continue
        stopped, started = _bounds(seen, before), _bounds(seen, after)
        first, second = line.at(stopped.end_s - 0.5 * late), line.at(started.start_s - late)
        width = abs(second - first)
        low = max(width - loose, 0.0)
        deviation = rate * sqrt(stopped.deviation_s**2 + started.deviation_s**2)
        trials.append(Trial("resolution", "ramp", low, width + loose, started.start_s, second, deviation, first))
    return trials


def _loose_s(seen: _Ramps, late: float, slack: float) -> float:
    """What the end of one jump and the start of the next are known to within together [s]."""
    return (
        0.5 * late
        + slack
        + 0.5 * max(seen.motion.window_s, seen.recording.interval_s)
        + 0.5 * seen.recording.interval_s
    )


def _reversal(
    seen: _Ramps,
    lines: tuple[CommandLine, CommandLine],
    jumps: tuple[list[_Jump], list[_Jump]],
    hold: Segment | None,
) -> Trial | None:
    """Dead band from the last jump on a ramp to the first on the one back."""
    motion, (there, back) = seen.motion, lines
    late, slack = seen.delays.of_jump_s
    slope = seen.slope(back)
    heading = float(np.sign(jumps[0][-1].change_pct))
    moved = motion.within(jumps[0][-1].from_s, back.to_s)
    ahead = [
        each for each in moved if motion.change_pct[each] * heading > 0.0 and motion.from_s[each] < back.from_s + late
    ]
    later = [each for each in moved if motion.change_pct[each] * heading < 0.0 and each > max(ahead, default=0)]
    if not ahead or not later or slope == 0.0:
        return None
    last, first = seen.jump(ahead[-1]), seen.jump(later[0])
    stopped, started = _bounds(seen, last), _bounds(seen, first)
    held = None if hold is None else seen.held(hold)
    rate = max(abs(each.rate_pct_s) for each in lines)
    last_command = _command(lines, held, stopped.end_s - 0.5 * (late + slack))
    first_command = _command(lines, held, started.start_s - late)
    width = abs(last_command - first_command)
    took = float(np.median([each.to_s - each.from_s for each in jumps[1]]))
    loose = rate * (_loose_s(seen, late + slack, slack) + took) + there.uneven_pct + back.uneven_pct
    usual = float(np.median([abs(each.change_pct) for each in jumps[1]]))
    lacked = max(usual - abs(first.change_pct), 0.0)
    hidden = _hidden(seen, (stopped.end_s, started.start_s), usual, usual / slope / abs(back.rate_pct_s), heading)
    return Trial(
        "dead_band",
        "ramp",
        max(width - loose, 0.0),
        width + loose,
        started.start_s,
        first_command,
        rate * sqrt(stopped.deviation_s**2 + started.deviation_s**2),
        last_command,
        jump_pct=max(lacked, hidden) / slope,
    )


def _hidden(seen: _Ramps, stand: tuple[float, float], usual: float, spacing_s: float, heading: float) -> float:
    """What a first motion back, unseen between two jumps, would make of the next reversal [% of travel].

    Play may leave a part of the first jump back that is too small to be seen; it shows as a step in the stand, one
    spacing before the jump that was seen.
    """
    noise, reach = seen.channels.travel, max(seen.motion.window_s, seen.recording.interval_s)
    place = seen.recording.place(stand[0] + reach, stand[1] - reach)
    times, travel = seen.recording.time_s[place], seen.recording.travel_pct[place]
    late = times > stand[1] - spacing_s
    parts = [travel[each & np.isfinite(travel)] for each in (~late, late)]
    if min(part.size for part in parts) == 0:
        return usual
    step = heading * float(parts[0].mean() - parts[1].mean())
    least = max(_CLEARLY * sqrt(sum(noise.of_mean(part.size) ** 2 for part in parts)), _LEAST_STEP_PCT)
    if step > least:
        return usual
    return 0.0 if least < _SELDOM * usual else usual * min(least / usual / _OFTEN, 1.0)


def _command(lines: tuple[CommandLine, CommandLine], held_pct: float | None, time_s: float) -> float:
    """Command at a time on two ramps, on whichever it does not go beyond, nor beyond the hold between them."""
    heading = float(np.sign(lines[0].rate_pct_s))
    least = min(heading * each.at(time_s) for each in lines)
    return heading * (least if held_pct is None else min(least, heading * held_pct))


@dataclass(frozen=True, slots=True)
class _Bounds:
    """When a jump starts and ends [s], and what noise leaves open of either."""

    start_s: float
    end_s: float
    deviation_s: float


def _bounds(seen: _Ramps, jump: _Jump) -> _Bounds:
    """Start and end of a jump, traced from where it has gone a fifth of its way, a half, and four fifths."""
    recording, reach = seen.recording, 2.0 * max(seen.motion.window_s, seen.recording.interval_s)
    place = recording.place(jump.from_s - reach, jump.to_s + reach)
    known = np.isfinite(recording.travel_pct[place])
    times, travel = recording.time_s[place][known], recording.travel_pct[place][known]
    before, after = travel[times <= jump.from_s], travel[times >= jump.to_s]
    if before.size == 0 or after.size == 0 or float(after.mean()) == float(before.mean()):
        return _Bounds(jump.from_s, jump.to_s, seen.motion.window_s)
    change = float(after.mean() - before.mean())
    share = (travel - before.mean()) / change
    half = int((share >= 0.5).argmax())
    if half == 0:
        return _Bounds(jump.from_s, jump.to_s, seen.motion.window_s)
    first = _passes(times[: half + 1], share[: half + 1], _EARLY)
    last = (
        times[-1]
        + times[half - 1]
        - _passes((times[-1] + times[half - 1] - times[half - 1 :])[::-1], (1.0 - share[half - 1 :])[::-1], _EARLY)
    )
    middle = float(np.interp(0.5, share[half - 1 : half + 1], times[half - 1 : half + 1]))
    onward = _EARLY / (0.5 - _EARLY)
    deviation = (last - first) / (1.0 - 2.0 * _EARLY) * seen.channels.travel.deviation / abs(change)
    return _Bounds(first - onward * (middle - first), last + onward * (last - middle), deviation)


def _passes(times: FloatArray, share: FloatArray, level: float) -> float:
    """When a share that ends above a level last passes it."""
    below = np.flatnonzero(share < level)
    if below.size == 0:
        return float(times[0])
    place = int(below[-1])
    if place + 1 >= share.size:
        return float(times[-1])
    return float(np.interp(level, share[place : place + 2], times[place : place + 2]))
