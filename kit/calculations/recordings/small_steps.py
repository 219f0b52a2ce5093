"""Dead band and resolution by small steps of the command: which of them the travel answered."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from kit.basis.recording import Recording
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.levels import Change, Level, command_parts
from kit.calculations.recordings.noise import JUST_OVER
from kit.calculations.recordings.segments import stretches_of
from kit.calculations.recordings.trials import Found, Trial

Ideal = Callable[[float], float]

WIDEST_PCT: Final = 1.0  # House definition: of command range; a coarser bracket says too little
_LEAST_MOVE_PCT: Final = 0.03  # House definition: less is play of the pick-up
_DEVIATIONS: Final = 4.0  # House definition: means that differ by more have moved
_HIDES: Final = 2.0  # House definition: standard deviations of a mean, what motion may hide in
_LATE: Final = 1.5  # House definition: of the time to answer; after a shorter wait the answer may come one step late
_UNKNOWN_S: Final = 1.0  # House definition: time to answer, where no step response tells of it
_UNEVEN: Final = 0.2  # House definition: of a step; answers that scatter by more are jumps
_JUMPS: Final = 1.5  # House definition: a valve that usually goes that many steps at once moves in jumps


@dataclass(frozen=True, slots=True)
class _Stand:
    """The command at a level and the travel that came to rest there."""

    level: Level
    travel: Rest
    by_noise: float  # standard deviation of the travel's mean [% of travel]


def small_step_trials(
    recording: Recording, channels: Channels, ideal: Ideal, answer_s: float | None = None
) -> tuple[Trial, ...]:
    """What small steps of the command tell of dead band and resolution.

    Parameters
    ----------
    recording : Recording
    channels : Channels
        Noise of the recording.
    ideal : callable
        Ideal position [% of travel] for a command.
    answer_s : float or None
        Time from a step to its answer [s]; None: not known, a second.

    Returns
    -------
    tuple of Trial
        In order of time; brackets wider than 1 % of range are left out.

    References
    ----------
    ANSI/ISA-75.25.01 (terms from memory): dead band is the range through which the input may be varied, with
    reversal, without change of the output; resolution is the smallest increment in one direction that
    moves it. **House definition**: counted from the command at which the valve last moved, so that
    small steps add up until it moves again; a motion counts once the travel differs from where it stood after the
    last one by four standard deviations of that difference, 0.03 % and just over a step of the recorder. What noise
    may have hidden one level earlier widens the bracket downwards, and so does the step before where the wait was
    shorter than 1.5 times the time to answer.
    """
    trials: list[Trial] = []
    for stands in _stands(recording, channels):
        found = _trials(stands, channels, ideal, _UNKNOWN_S if answer_s is None else answer_s)
        trials += _with_jumps(found, float(np.median([each.by_noise for each in stands])))
    return tuple(each for each in trials if each.high_pct - each.low_pct <= WIDEST_PCT)


def _stands(recording: Recording, channels: Channels) -> list[list[_Stand]]:
    found = []
    for first, last in stretches_of(recording):
        usable = first + np.flatnonzero(np.isfinite(recording.command_pct[first : last + 1]))
        if usable.size == 0:
            continue
        times = recording.time_s[usable]
        stands: list[_Stand] = []
        for part in command_parts(times, recording.command_pct[usable], channels.command):
            if isinstance(part, Change):
                if part.kind != "step":
                    found.append(stands)
                    stands = []
                continue
            place = recording.place(part.from_s, part.to_s)
            rest = rest_of(recording.time_s[place], recording.travel_pct[place], channels.travel)
            if rest is None:
                found.append(stands)
                stands = []
            else:
                stands.append(_Stand(part, rest, max(rest.deviation, channels.travel.of_mean(rest.count))))
        found.append(stands)
    return [stands for stands in found if len(stands) > 2]


@dataclass(slots=True)
class _Last:
    """The motion before: which way the command went, where to, and where the travel has stood since."""

    heading: float
    command_pct: float
    step_pct: float  # of the command, to which it was the answer
    since: list[_Stand]

    @property
    def travel_pct(self) -> float:
        return float(np.average([each.travel.value for each in self.since], weights=self._weights))

    @property
    def deviation(self) -> float:
        return float(min(self.since, key=lambda each: each.by_noise).by_noise)

    @property
    def _weights(self) -> list[int]:
        return [each.travel.count for each in self.since]


def _trials(stands: Sequence[_Stand], channels: Channels, ideal: Ideal, answer_s: float) -> list[Trial]:
    trials: list[Trial] = []
    last = _Last(0.0, stands[0].level.command_pct, 0.0, [stands[0]])
    for number, (before, here) in enumerate(pairwise(stands)):
        moved = here.travel.value - last.travel_pct
        by_noise = (here.by_noise**2 + last.deviation**2) ** 0.5
        if abs(moved) <= max(_DEVIATIONS * by_noise, _LEAST_MOVE_PCT, JUST_OVER * channels.travel.flicker):
            last.since.append(here)
            continue
        command, earlier = here.level.command_pct, before.level.command_pct
        opens, direction = ideal(command) - ideal(earlier), float(np.sign(command - earlier))
        if moved * opens < 0.0:  # a late answer to the step before, if it is one at all
            last = _Last(-direction, earlier, abs(command - earlier), [here])
            continue
        if last.heading != 0.0 and opens != 0.0:
            what: Found = "resolution" if direction == last.heading else "dead_band"
            slope = abs(opens / (command - earlier))
            crept = float(np.sign(moved)) * (before.travel.value - last.since[0].travel.value)
            hidden = (max(crept, 0.0) + abs(before.travel.drift) + _HIDES * before.by_noise) / slope
            if before.level.duration_s < _LATE * answer_s and number > 0:
                hidden += abs(earlier - stands[number - 1].level.command_pct)
            low = max(direction * (earlier - last.command_pct) - hidden, 0.0)
            high = direction * (command - last.command_pct)
            if high <= 0.0:
                last = _Last(direction, command, abs(command - earlier), [here])
                continue
            trials.append(
                Trial(
                    what,
                    "small_steps",
                    low,
                    high,
                    here.level.from_s,
                    command,
                    2.0**0.5 * channels.command.of_mean(here.level.last - here.level.first + 1),
                    last.command_pct,
                    moved_pct=abs(moved) / slope,
                    step_pct=last.step_pct,
                )
            )
        last = _Last(direction, command, abs(command - earlier), [here])
    return trials


def _with_jumps(trials: Sequence[Trial], by_noise: float) -> list[Trial]:
    """The trials of a valve that moves in jumps, each with what that leaves open; those of any other as they are.

    Where it sticks after a jump, what is left of the step adds to the next: the command at which it last moved is
    known to within that step. Play behind a jump takes a part of it: where the rest of the first motion back was small,
    the next reversal may need a jump more.
    """
    usual = [each.moved_pct for each in trials if each.what == "resolution" and each.moved_pct is not None]
    step = float(np.median([each.step_pct for each in trials])) if trials else 0.0
    if not usual:
        return list(trials)
    jump, uneven = float(np.median(usual)), float(np.std(usual))
    if jump <= _JUMPS * step and uneven <= _UNEVEN * step + _HIDES * by_noise:
        return list(trials)
    found = []
    for each in trials:
        if each.what == "resolution":
            found.append(replace(each, high_pct=each.high_pct + 0.5 * each.step_pct))
        else:
            low = max(each.low_pct - min(each.step_pct, jump), 0.0)
            found.append(replace(each, low_pct=low, jump_pct=max(jump - (each.moved_pct or 0.0), 0.0)))
    return found
