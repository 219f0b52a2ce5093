"""Dead band and resolution by ramps of the command that the valve follows evenly, or in jumps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.jumps import Bounds, Jump, bounds_of, jump_of, jumps_on
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.ramps import CommandLine, Delays, command_line, loop_trial
from kit.calculations.recordings.trials import Trial

Ideal = Callable[[float], float]

_CLEARLY: Final = 4.0  # House definition: standard deviations of a difference of means that are no noise
_LEAST_STEP_PCT: Final = 0.01  # House definition: of travel; a lesser step in a stand is no motion
_BOTH_ENDS: Final = 0.5**0.5  # House definition: of a jump; half of it at either end, the root of their squares
_LACKS: Final = 0.2  # House definition: of a usual jump; a first one back that lacks more is shortened by play
_SELDOM: Final = 0.1  # House definition: the share of first motions that noise may hide without more ado
_OFTEN: Final = 0.2  # House definition: likewise, from which on each may be one jump later than it was
_NARROW_PCT: Final = 0.3  # House definition: of command range; a bracket from nothing that still tells something
_LEAST_WAY_PCT: Final = 1.0  # House definition: of command range, from jump to jump, that shows the travel's slope
_LIKE: Final = (0.6, 1.6)  # House definition: a jump over what was asked for since the one before; else one is missing
_FASTEST_PCT_S: Final = 2.0  # House definition: of command range; a motor that runs all the time follows no ramp
_AROUND_S: Final = 0.5  # House definition: to either side, for the command at a time
_SAME_S: Final = 1e-9  # House definition: times that are alike differ by rounding
_WAYS: Final = ("ramp_up", "ramp_down")


@dataclass(frozen=True, slots=True)
class _Seen:
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

    def jumps(self, ramp: Segment) -> list[Jump]:
        return jumps_on(ramp, self.motion, self.channels.travel, self.recording.interval_s)

    def bounds(self, jump: Jump) -> Bounds:
        return bounds_of(self.recording, jump, self.motion, self.channels.travel)

    def loose_s(self, late: float, slack: float) -> float:
        """What the end of one jump and the start of the next are known to within together [s]."""
        interval = self.recording.interval_s
        return 0.5 * late + slack + 0.5 * max(self.motion.window_s, interval) + 0.5 * interval


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

    Returns
    -------
    tuple of Trial
        Ramps of more than 2 % of range a second are left out, and so is a bracket from nothing of more than 0.3 %.

    Notes
    -----
    **House definition**, in the sense of the dead-band test by slow input of JB/T 8219-1999 (as quoted in
    secondary texts): the command at which the travel last moved one way, less the one at which it first
    moves back. Where a valve follows in three clear jumps or more on either ramp, from the end of one to the
    start of the next; else the width of the loop that the travel goes round over the command.
    """
    seen = _Seen(recording, channels, motion, delays, ideal)
    known = [
        (each, line, seen.jumps(each))
        for each in segments
        if each.what in _WAYS
        and (line := command_line(recording, each, channels.command)) is not None
        and abs(line.rate_pct_s) <= _FASTEST_PCT_S
    ]
    trials: list[Trial] = []
    for _, line, jumps in known:
        trials += _same_way(seen, jumps, line)
    for (there, up, one), (back, down, other) in pairwise(known):
        if there.what == back.what or _something_between(segments, there, back):
            continue
        holds = _hold_after(segments, there), _hold_after(segments, back)
        found = _reversal(seen, (up, down), (one, other)) if one and other else None
        found = found or loop_trial(recording, (up, down), delays, channels.travel, holds)
        trials += [] if found is None else [_over_ideal(found, seen.slope(up))]
    return tuple(each for each in trials if each.low_pct > 0.0 or _is_narrow(each))


def _is_narrow(trial: Trial) -> bool:
    """Whether a bracket from nothing tells something, with all that is left open."""
    return trial.high_pct + 2.0 * trial.deviation_pct + trial.jump_pct <= _NARROW_PCT


def _something_between(segments: Sequence[Segment], there: Segment, back: Segment) -> bool:
    return any(
        each.what not in ("hold", "rest") and each.to_s > there.to_s and each.from_s < back.from_s - _SAME_S
        for each in segments
        if each not in (there, back)
    )


def _hold_after(segments: Sequence[Segment], ramp: Segment) -> Segment | None:
    """The hold or rest that follows on a ramp, before the command changes again."""
    later = [each for each in segments if each.from_s >= ramp.to_s - _SAME_S]
    first = min(later, key=lambda each: each.from_s, default=None)
    return first if first is not None and first.what in ("hold", "rest") else None


def _over_ideal(trial: Trial, slope: float) -> Trial:
    """A trial whose gain is the travel's slope, with that over what the characteristic asks for."""
    return replace(trial, gain=trial.gain / slope if trial.gain is not None and slope > 0.0 else None)


def _same_way(seen: _Seen, jumps: Sequence[Jump], line: CommandLine) -> list[Trial]:
    """Command from the end of one jump to the start of the next."""
    rate = abs(line.rate_pct_s)
    late, slack = seen.delays.of_jump_s
    loose = rate * seen.loose_s(late, slack) + 2.0 * line.uneven_pct
    trials = []
    for before, after in pairwise(jumps):
        if before.change_pct * after.change_pct < 0.0:
            continue
        asked = seen.slope(line) * abs(line.at(after.from_s) - line.at(before.from_s))
        if not _LIKE[0] * asked <= abs(after.change_pct) <= _LIKE[1] * asked:
            continue  # some jumps between them were not seen
        stopped, started = seen.bounds(before), seen.bounds(after)
        first, second = line.at(stopped.end_s - 0.5 * late), line.at(started.start_s - late)
        width = abs(second - first)
        low = max(width - loose, 0.0)
        deviation = rate * sqrt(stopped.deviation_s**2 + started.deviation_s**2)
        trials.append(Trial("resolution", "ramp", low, width + loose, started.start_s, second, deviation, first))
    return trials


def _reversal(
    seen: _Seen, lines: tuple[CommandLine, CommandLine], jumps: tuple[list[Jump], list[Jump]]
) -> Trial | None:
    """Dead band from the last jump on a ramp to the first on the one back.

    Where the motor is late to start, the last jump ends at the command of that moment; where the command is late, at
    one of before: half of the delay is taken, and as much is left open. The command at either end is known to within
    half a jump. Where play shortened the first jump back the next reversal may take one jump more or less: those on a
    ramp are longer than those of small steps.
    """
    late, slack = seen.delays.of_jump_s
    slope, turn = seen.slope(lines[1]), _turn(seen, jumps[0][-1], lines[1], late)
    if turn is None or slope == 0.0:
        return None
    last, first = turn
    stopped, started = seen.bounds(last), seen.bounds(first)
    last_command = _command(seen, lines, stopped.end_s - 0.5 * (late + slack))
    first_command = _command(seen, lines, started.start_s - late)
    width, rate = abs(last_command - first_command), max(abs(each.rate_pct_s) for each in lines)
    if not np.isfinite(width):
        return None
    took = float(np.median([each.to_s - each.from_s for each in jumps[1]]))
    loose = rate * (seen.loose_s(late + slack, slack) + took) + sum(each.uneven_pct for each in lines)
    usual = float(np.median([abs(each.change_pct) for each in jumps[1]]))
    spacing_s = usual / slope / abs(lines[1].rate_pct_s)
    is_shortened = usual - abs(first.change_pct) > _LACKS * usual
    hidden = _hidden(seen, (stopped.end_s, started.start_s), usual, spacing_s, float(np.sign(last.change_pct)))
    return Trial(
        "dead_band",
        "ramp",
        max(width - loose, 0.0),
        width + loose,
        started.start_s,
        first_command,
        rate * sqrt(stopped.deviation_s**2 + started.deviation_s**2),
        last_command,
        jump_pct=max(usual if is_shortened else _BOTH_ENDS * usual, hidden) / slope,
        gain=_slope(lines[0], jumps[0]),
    )


def _turn(seen: _Seen, last_on_ramp: Jump, back: CommandLine, late: float) -> tuple[Jump, Jump] | None:
    """The last motion one way and the first back; the last may come once the ramp has ended."""
    motion, heading = seen.motion, float(np.sign(last_on_ramp.change_pct))
    moved = motion.within(last_on_ramp.from_s, back.to_s)
    along = [each for each in moved if motion.change_pct[each] * heading > 0.0]
    ahead = [each for each in along if motion.from_s[each] < back.from_s + late]
    if not ahead:
        return None
    later = [each for each in moved if each > ahead[-1] and motion.change_pct[each] * heading < 0.0]
    return (jump_of(motion, ahead[-1]), jump_of(motion, later[0])) if later else None


def _slope(line: CommandLine, jumps: Sequence[Jump]) -> float | None:
    """Travel from jump to jump over the command between them; None where that is too little to tell."""
    asked = abs(line.at(jumps[-1].from_s) - line.at(jumps[0].from_s))
    return abs(sum(each.change_pct for each in jumps[1:])) / asked if asked >= _LEAST_WAY_PCT else None


def _hidden(seen: _Seen, stand: tuple[float, float], usual: float, spacing_s: float, heading: float) -> float:
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


def _command(seen: _Seen, lines: tuple[CommandLine, CommandLine], time_s: float) -> float:
    """Command at a time: on the ramp that it lies in, else the mean of what was recorded around it; nan: nothing."""
    for line in lines:
        if line.from_s <= time_s <= line.to_s:
            return line.at(time_s)
    reach = max(_AROUND_S, 2.0 * seen.recording.interval_s)
    command = seen.recording.command_pct[seen.recording.place(time_s - reach, time_s + reach)]
    known = command[np.isfinite(command)]
    return float(known.mean()) if known.size else float("nan")
