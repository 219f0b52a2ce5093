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
from kit.calculations.recordings.at_rest import rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.crossings import response_start
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.ramps import CommandLine, Delays, command_line, loop_trial
from kit.calculations.recordings.trials import Trial

Ideal = Callable[[float], float]

_EVEN_SHARE: Final = 0.5  # House definition: of a ramp's travel or time; less of it in jumps is even following
_FEWEST_JUMPS: Final = 3  # House definition: on a ramp; fewer show no jump that is usual
_CLEAR: Final = 2.0  # House definition: of the least motion that is seen; lesser jumps may be missed
_PART: Final = 0.3  # House definition: of the usual jump or stand; less is a part of one
_SELDOM: Final = 0.1  # House definition: the share of first motions that noise may hide without more ado
_OFTEN: Final = 0.2  # House definition: likewise, from which on each may be one jump later than it was
_NARROW_PCT: Final = 0.3  # House definition: of command range; a bracket from nothing that still tells something
_LEAST_MOVE_PCT: Final = 0.03  # House definition: less is play of the pick-up
_SEEN_PCT: Final = 0.05  # House definition: of travel, the least motion that is looked for
_SAME_S: Final = 1e-9  # House definition: times that are alike differ by rounding
_LEAD_S: Final = 5.0  # House definition: before a motion, to show where the valve stood
_TRACED_S: Final = 2.0  # House definition: before a motion was seen, where its start is looked for
_FEWEST: Final = 3  # House definition: fewer samples show no start
_OF_HALF_WIDTH: Final = 3.0  # JCGM 100:2008, 4.3.7: square of a uniform half width over its variance


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
        found = _reversal(seen, (up, down), (one, other)) if one and other else None
        found = found or loop_trial(recording, (up, down), delays, channels.travel)
        trials += [found] if found is not None else []
    return tuple(each for each in trials if _tells(each))


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
    if sizes.size < _FEWEST_JUMPS or sizes.sum() < _EVEN_SHARE * moved:
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
        started, deviation = _start(seen, after)
        first, second = line.at(before.to_s - 0.5 * late), line.at(started - late)
        width = abs(second - first)
        low = max(width - loose, 0.0)
        trials.append(Trial("resolution", "ramp", low, width + loose, started, second, rate * deviation, first))
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
    seen: _Ramps, lines: tuple[CommandLine, CommandLine], jumps: tuple[list[_Jump], list[_Jump]]
) -> Trial | None:
    """Dead band from the last jump on a ramp to the first on the one back."""
    motion, (there, back) = seen.motion, lines
    late, slack = seen.delays.of_jump_s
    slope = seen.slope(back)
    heading = float(np.sign(jumps[0][-1].change_pct))
    last = jumps[0][-1]
    later = [
        each
        for each in motion.within(last.to_s, back.to_s)
        if each > last.episode and np.sign(motion.change_pct[each]) == -heading
    ]
    if not later or slope == 0.0:
        return None
    first = _Jump(later[0], *(float(each[later[0]]) for each in (motion.from_s, motion.to_s, motion.change_pct)))
    started, deviation = _start(seen, first)
    rate = max(abs(each.rate_pct_s) for each in lines)
    last_command = _command(lines, last.to_s - 0.5 * late)
    first_command = _command(lines, started - late)
    width = abs(last_command - first_command)
    loose = rate * _loose_s(seen, late, slack) + there.uneven_pct + back.uneven_pct
    usual = float(np.median([abs(each.change_pct) for each in jumps[1]]))
    lacked = max(usual - abs(first.change_pct), 0.0)
    hidden = usual * min(seen.least_seen_pct / usual / _OFTEN, 1.0)
    hidden = 0.0 if seen.least_seen_pct < _SELDOM * usual else hidden
    return Trial(
        "dead_band",
        "ramp",
        max(width - loose, 0.0),
        width + loose,
        started,
        first_command,
        rate * deviation,
        last_command,
        jump_pct=max(lacked, hidden) / slope,
    )


def _command(lines: tuple[CommandLine, CommandLine], time_s: float) -> float:
    """Command at a time on one of two ramps, or between them."""
    return lines[0].at(time_s) if time_s <= lines[0].to_s else lines[1].at(time_s)


def _start(seen: _Ramps, jump: _Jump) -> tuple[float, float]:
    """Start of a motion, traced back from where it stands out of the noise, and its standard deviation [s]."""
    recording, motion, channels = seen.recording, seen.motion, seen.channels
    episode, first_seen = jump.episode, jump.from_s
    before = float(motion.to_s[episode - 1]) if episode else float(recording.time_s[0])
    begin = max(before, first_seen - _LEAD_S)
    lead = recording.place(begin, first_seen)
    rest = rest_of(recording.time_s[lead], recording.travel_pct[lead], channels.travel, restless=True)
    if rest is None:
        return first_seen, motion.window_s
    whole = recording.place(first_seen - min(_TRACED_S, first_seen - begin), jump.to_s)
    sign = float(np.sign(motion.change_pct[episode]))
    along = sign * (recording.travel_pct[whole] - rest.value)
    usable = np.isfinite(along)
    if np.count_nonzero(usable) < _FEWEST:
        return first_seen, motion.window_s
    final = max(abs(jump.change_pct), 2.0 * channels.travel.band, _LEAST_MOVE_PCT)
    found = response_start(recording.time_s[whole][usable], along[usable], final, channels.travel)
    if found is None:
        return first_seen, motion.window_s
    return found.time_s, (found.deviation_s**2 + found.half_width_s**2 / _OF_HALF_WIDTH) ** 0.5
