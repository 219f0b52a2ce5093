"""Dead band and resolution by small steps of the command: which of them the travel answered."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.recording import Recording
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.jogs import stands_of_jogs
from kit.calculations.recordings.levels import LONGEST_STEP_S, TWO_INTERVALS, Level, Part
from kit.calculations.recordings.noise import JUST_OVER
from kit.calculations.recordings.own_jumps import with_own_jumps
from kit.calculations.recordings.segments import Stretches, parts_of_stretches
from kit.calculations.recordings.trials import Found, Trial

Ideal = Callable[[float], float]

WIDEST_PCT: Final = 1.0  # House definition: of command range; a coarser step says too little
_LEAST_MOVE_PCT: Final = 0.03  # House definition: less is play of the pick-up
_DEVIATIONS: Final = 4.0  # House definition: means that differ by more have moved
_ALIKE: Final = 1.2  # House definition: neighbouring samples of a recorder are not quite independent
_HIDES: Final = 2.0  # House definition: standard deviations of a mean, what motion may hide in
_LATE: Final = 1.5  # House definition: of the time to answer; after a shorter wait the answer may come one step late
_UNKNOWN_S: Final = 1.0  # House definition: time to answer, where no step response tells of it
_LEAST_WAY_PCT: Final = 1.0  # House definition: of command range one way, which shows the slope of the travel


@dataclass(frozen=True, slots=True)
class _Stand:
    """The command at a level and the travel that came to rest there."""

    level: Level
    travel: Rest
    by_noise: float  # standard deviation of the travel's mean [% of travel]


def small_step_trials(
    recording: Recording,
    channels: Channels,
    ideal: Ideal,
    answer_s: float | None = None,
    stretches: Stretches | None = None,
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
    stretches : sequence or None
        Parts of the command, as :func:`~kit.calculations.recordings.segments.parts_of_stretches` finds them; None:
        found here.

    Returns
    -------
    tuple of Trial
        In order of time; steps of more than 1 % of range are left out.

    References
    ----------
    ANSI/ISA-75.25.01 (terms from memory): dead band is the range through which the input may be varied, with
    reversal, without change of the output; resolution is the smallest increment in one direction that
    moves it. **House definition**: counted from the command at which the valve last moved, so that
    small steps add up until it moves again; a motion counts once the travel differs from where it stood after the
    last one by four standard deviations of that difference, 0.03 % and just over a step of the recorder. What noise
    may have hidden one level earlier widens the bracket downwards, and so does the step before where the wait was
    shorter than 1.5 times the time to answer; the same wait before the last motion widens it upwards. What follows a
    step of more than 1 % the same way may be the rest of its answer, and tells nothing; nor does what follows at once,
    one step on, an answer before which two steps or more had none: from which of the two the next is counted is open.
    The valve's own jumps come on top: :func:`~kit.calculations.recordings.own_jumps.with_own_jumps`.
    """
    trials: list[Trial] = []
    own = parts_of_stretches(recording, channels) if stretches is None else stretches
    for stands in _stands(recording, channels, own):
        found = _trials(stands, channels, ideal, _UNKNOWN_S if answer_s is None else answer_s)
        trials += with_own_jumps(_with_gain(found), _HIDES * _noise_of(stands, ideal))
    return tuple(trials)


def _stands(recording: Recording, channels: Channels, stretches: Stretches) -> list[list[_Stand]]:
    """Stands that follow on each other without a break."""
    found = []
    for parts, _ in stretches:
        stands: list[_Stand] = []
        for level in _levels(recording, parts, channels):
            stand = None if level is None else _stand(recording, level, channels)
            if stand is not None:
                stands.append(stand)
            else:
                found.append(stands)
                stands = []
        found.append(stands)
    return [stands for stands in found if len(stands) > 2]


def _levels(recording: Recording, parts: Sequence[Part], channels: Channels) -> Iterator[Level | None]:
    """Levels, and the short stands of a command that is jogged; None where the sequence breaks."""
    told_s, longest_s = -np.inf, max(LONGEST_STEP_S, TWO_INTERVALS * recording.interval_s)
    for part in parts:
        if isinstance(part, Level):
            own = [part]
        elif part.kind == "jogs":
            own = stands_of_jogs(recording, part, channels.command)
        else:
            own, told_s = [], told_s if part.kind == "step" else -np.inf
        for level in own:
            if level.from_s - told_s > longest_s:
                yield None
            yield level
            told_s = level.to_s


def _stand(recording: Recording, level: Level, channels: Channels) -> _Stand | None:
    place = recording.place(level.from_s, level.to_s)
    rest = rest_of(recording.time_s[place], recording.travel_pct[place], channels.travel)
    return None if rest is None else _Stand(level, rest, max(rest.deviation, channels.travel.of_mean(rest.count)))


@dataclass(slots=True)
class _Last:
    """The motion before: which way the command went, where to, and where the travel has stood since."""

    heading: float
    command_pct: float
    step_pct: float  # of the command, to which it was the answer
    since: list[_Stand]
    late_pct: float = 0.0  # how much earlier on the command's way its cause may lie
    broke_silence: bool = False  # the steps before it were not answered
    rest_pct: float = 0.0  # how far back on the way the motion lies that this one may be the rest of

    def may_go_on(self, direction: float) -> bool:
        """Whether what follows this motion the same way may be the rest of it.

        A large step is answered in parts; so are small ones by a motor that runs in pulses, on the step after.
        """
        return direction == self.heading and (self.step_pct > WIDEST_PCT or self._in_parts)

    @property
    def _in_parts(self) -> bool:
        return self.broke_silence and len(self.since) == 1

    def moved(self, here: _Stand, channels: Channels) -> bool:
        """Whether the travel has left where it came to rest after this motion, or where it has stood since."""
        first = self.since[0].travel
        whole = sum(each.travel.count for each in self.since)
        mean = sum(each.travel.value * each.travel.count for each in self.since) / whole
        apart_s = here.travel.to_s - first.from_s
        return any(
            abs(here.travel.value - value) > _least_move((count, here.travel.count), apart_s, channels)
            for value, count in ((first.value, first.count), (mean, whole))
        )


def _trials(stands: Sequence[_Stand], channels: Channels, ideal: Ideal, answer_s: float) -> list[Trial]:
    trials: list[Trial] = []
    last = _Last(0.0, stands[0].level.command_pct, 0.0, [stands[0]])
    for place, (before, here) in enumerate(pairwise(stands)):
        if not last.moved(here, channels):
            last.since.append(here)
            continue
        moved = here.travel.value - last.since[0].travel.value
        step = here.level.command_pct - before.level.command_pct
        opens, direction = ideal(here.level.command_pct) - ideal(before.level.command_pct), float(np.sign(step))
        late = _on_its_way(stands[: place + 1], direction, answer_s)
        if moved * opens < 0.0:  # a late answer to the step before, if it is one at all
            last = _Last(-direction, before.level.command_pct, abs(step), [here])
            continue
        rest = last.may_go_on(direction)
        if last.heading != 0.0 and opens != 0.0 and _is_clear(step, here, channels) and not rest:
            hidden = _hidden(last, before, moved) / abs(opens / step) + late
            found = _trial(last, before, here, hidden, channels)
            found = replace(found, moved_pct=abs(moved * step / opens))
            trials += [found] if found.high_pct > 0.0 else []
        rest_pct = abs(step) if rest and last.broke_silence else 0.0
        last = _Last(
            direction, here.level.command_pct, abs(step), [here], late, not rest and len(last.since) > 2, rest_pct
        )
    return trials


def _is_clear(step_pct: float, here: _Stand, channels: Channels) -> bool:
    """Whether a change of the command is a small step, and no noise, wander or hum between two levels."""
    by_noise = sqrt(2.0) * channels.command.of_mean(here.level.last - here.level.first + 1)
    return _HIDES * by_noise < abs(step_pct) <= WIDEST_PCT


def _on_its_way(stands: Sequence[_Stand], direction: float, answer_s: float) -> float:
    """By how much of its way the command had gone on before the valve could answer what it was at [% of range]."""
    last = stands[-1].level
    since_s, most = last.to_s - _LATE * answer_s, 0.0
    for stand, later in zip(reversed(stands[:-1]), reversed(stands), strict=False):
        if later.level.from_s <= since_s:
            break
        most = max(most, direction * (last.command_pct - stand.level.command_pct))
    return most


def _noise_of(stands: Sequence[_Stand], ideal: Ideal) -> float:
    """Standard deviation of the difference of two means of the travel [% of command range]."""
    commands = [each.level.command_pct for each in stands]
    low, high = min(commands), max(commands)
    slope = abs(ideal(high) - ideal(low)) / (high - low) if high > low else 0.0
    deviation = sqrt(2.0) * float(np.median([each.by_noise for each in stands]))
    return deviation / slope if slope > 0.0 else 0.0


def _least_move(counts: tuple[int, int], apart_s: float, channels: Channels) -> float:
    """What two means of so many samples must differ by to show motion [% of travel]; hum swings so long."""
    noise = channels.travel
    by_noise = _ALIKE * noise.deviation * sqrt(sum(1.0 / each for each in counts))
    slow = _DEVIATIONS * sqrt(2.0) * noise.wander + noise.swing_in(apart_s)
    return max(_DEVIATIONS * by_noise + slow, _LEAST_MOVE_PCT, JUST_OVER * noise.quantum)


def _hidden(last: _Last, before: _Stand, moved: float) -> float:
    """Motion that the level before the answer may hold unseen [% of travel]."""
    crept = float(np.sign(moved)) * (before.travel.value - last.since[0].travel.value)
    return max(crept, 0.0) + abs(before.travel.drift) + _HIDES * before.by_noise


def _trial(last: _Last, before: _Stand, here: _Stand, hidden: float, channels: Channels) -> Trial:
    command = here.level.command_pct
    direction = float(np.sign(command - before.level.command_pct))
    what: Found = "resolution" if direction == last.heading else "dead_band"
    return Trial(
        what,
        "small_steps",
        max(direction * (before.level.command_pct - last.command_pct) - hidden, 0.0),
        direction * (command - last.command_pct) + last.late_pct + (last.rest_pct if what == "resolution" else 0.0),
        here.level.from_s,
        command,
        sqrt(2.0) * channels.command.of_mean(here.level.last - here.level.first + 1),
        last.command_pct,
        step_pct=last.step_pct,
    )


def _with_gain(trials: Sequence[Trial]) -> list[Trial]:
    """The trials with how far the valve went one way over what was asked for, where that was enough to tell."""
    moved = [
        (each.moved_pct, abs(each.command_pct - each.from_command_pct))
        for each in trials
        if each.what == "resolution" and each.moved_pct is not None and each.from_command_pct is not None
    ]
    asked = sum(pct for _, pct in moved)
    gain = sum(pct for pct, _ in moved) / asked if asked >= _LEAST_WAY_PCT else None
    return [replace(each, gain=gain) for each in trials]
