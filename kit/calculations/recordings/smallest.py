"""Dead band and resolution: the smallest commands that the valve answers, by small steps and by ramps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final

import numpy as np

from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.leaving import response_start
from kit.calculations.recordings.levels import Change, Level, command_parts
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.noise import JUST_OVER
from kit.calculations.recordings.ramps import Delays, command_at, plateau_trials, rate_of, travel_rise
from kit.calculations.recordings.segments import stretches_of
from kit.calculations.recordings.terms import noise, sampling
from kit.calculations.recordings.trials import Found, Trial
from kit.calculations.uncertainty import type_a

WIDEST_PCT: Final = 1.0  # House definition: of command range; a coarser bracket says too little
_EVEN_SHARE: Final = 0.5  # House definition: of a ramp's travel or time; less of it in jumps is even following
_LEAST_MOVE_PCT: Final = 0.03  # House definition: less is play of the pick-up
_DEVIATIONS: Final = 4.0  # House definition: means that differ by more have moved
_SAME_S: Final = 1e-9  # House definition: times that are alike differ by rounding
_LEAD_S: Final = 5.0  # House definition: before a motion, to show where the valve stood
_TRACED_S: Final = 2.0  # House definition: before a motion was seen, where its start is looked for
_FEWEST: Final = 3  # House definition: fewer samples show no start
_OF_HALF_WIDTH: Final = 3.0  # JCGM 100:2008, 4.3.7: square of a uniform half width over its variance
_RANGE: Final = "% of command range"
_SPAN: Final = "% of travel span"
_NO_STEPS: Final = "neither small steps nor ramps of the command that the valve answered after a reversal"


@dataclass(frozen=True, slots=True)
class _Stand:
    """The command at a level and the travel that came to rest there."""

    level: Level
    travel: Rest


def small_step_trials(recording: Recording, channels: Channels, ideal: Callable[[float], float]) -> tuple[Trial, ...]:
    """What small steps of the command tell of dead band and resolution.

    Parameters
    ----------
    recording : Recording
    channels : Channels
        Noise of the recording.
    ideal : callable
        Ideal position [% of travel] for a command; only its direction is used.

    Returns
    -------
    tuple of Trial
        In order of time; brackets wider than 1 % of range are left out.

    References
    ----------
    ANSI/ISA-75.25.01 (terms from memory): dead band is the range through which the input may be varied, with
    reversal, without change of the output; resolution is the smallest increment in one direction that
    moves it. **House definition**: counted from the command at which the valve last moved, so that
    small steps add up until it moves again.
    """
    trials: list[Trial] = []
    for stands in _stands(recording, channels):
        trials += _trials(stands, channels, ideal)
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
                stands.append(_Stand(part, rest))
        found.append(stands)
    return [stands for stands in found if len(stands) > 2]


def _trials(stands: Sequence[_Stand], channels: Channels, ideal: Callable[[float], float]) -> list[Trial]:
    trials: list[Trial] = []
    heading, moved_at = 0.0, stands[0].level.command_pct
    for before, here in pairwise(stands):
        moved = here.travel.value - before.travel.value
        by_noise = channels.travel.deviation * (1.0 / before.travel.count + 1.0 / here.travel.count) ** 0.5
        if abs(moved) <= max(_DEVIATIONS * by_noise, _LEAST_MOVE_PCT, JUST_OVER * channels.travel.flicker):
            continue
        command, earlier = here.level.command_pct, before.level.command_pct
        opens = ideal(command) - ideal(earlier)
        direction = float(np.sign(command - earlier))
        if heading != 0.0 and moved * opens > 0.0:
            what: Found = "resolution" if direction == heading else "dead_band"
            low, high = direction * (earlier - moved_at), direction * (command - moved_at)
            trials.append(Trial(what, "small_steps", max(low, 0.0), high, here.level.from_s, command, 0.0, moved_at))
        heading, moved_at = direction, command
    return trials


def ramp_trials(
    recording: Recording, segments: Sequence[Segment], channels: Channels, motion: Motion, delays: Delays
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

    Notes
    -----
    **House definition**, in the sense of the dead-band test by slow input of JB/T 8219-1999 (as quoted in
    secondary texts): the command at which the travel last moved one way, less the one at which it first
    moves back.
    """
    ramps = [each for each in segments if each.what in ("ramp_up", "ramp_down")]
    trials: list[Trial] = []
    for ramp in ramps:
        trials += _same_way(recording, ramp, channels, motion, delays)
    for there, back in pairwise(ramps):
        if there.what != back.what and not _something_between(segments, there, back):
            trials += _reversal(recording, there, back, channels, motion, delays)
    return tuple(trials)


def _something_between(segments: Sequence[Segment], there: Segment, back: Segment) -> bool:
    return any(
        each.what not in ("hold", "rest") and each.to_s > there.to_s and each.from_s < back.from_s - _SAME_S
        for each in segments
        if each not in (there, back)
    )


def _reversal(
    recording: Recording,
    there: Segment,
    back: Segment,
    channels: Channels,
    motion: Motion,
    delays: Delays,
) -> list[Trial]:
    """Dead band from a ramp and the one back: by jumps, or by the plateau of a valve that follows evenly."""
    if _follows_evenly(recording, there, motion) and _follows_evenly(recording, back, motion):
        return plateau_trials(recording, there, back, delays)
    moved = motion.within(there.from_s, back.to_s)
    delay = delays.dead_time_s or 0.0
    on_the_way = [each for each in moved if motion.from_s[each] < back.from_s + delay]
    if not on_the_way:
        return []
    last = max(on_the_way, key=lambda each: motion.to_s[each])
    heading = np.sign(motion.change_pct[last])
    later = [each for each in moved if each > last and np.sign(motion.change_pct[each]) == -heading]
    if not later:
        return []
    started, deviation = _start(recording, motion, later[0], channels)
    rate = rate_of(recording, back)
    if rate is None:
        return []
    rate = abs(rate)
    last_command = command_at(recording, float(motion.to_s[last]))
    first_command = command_at(recording, started - delay)
    width = abs(first_command - last_command)
    loose = rate * (delays.jump_slack_s + 0.5 * recording.interval_s)
    return [
        Trial(
            "dead_band",
            "ramp",
            max(width - loose, 0.0),
            width + loose,
            started,
            first_command,
            rate * deviation,
            last_command,
        )
    ]


def _follows_evenly(recording: Recording, ramp: Segment, motion: Motion) -> bool:
    """Whether the travel on a ramp is not one of jumps."""
    rise = travel_rise(recording, ramp)
    if rise is None:
        return False
    own = motion.within(ramp.from_s, ramp.to_s)
    in_jumps = sum(abs(float(motion.change_pct[each])) for each in own if _is_jump(motion, each, ramp))
    return rise != 0.0 and in_jumps < _EVEN_SHARE * abs(rise)


def _is_jump(motion: Motion, episode: int, ramp: Segment) -> bool:
    return float(motion.to_s[episode] - motion.from_s[episode]) < _EVEN_SHARE * 0.5 * ramp.duration_s


def _same_way(recording: Recording, ramp: Segment, channels: Channels, motion: Motion, delays: Delays) -> list[Trial]:
    """Command from the end of one jump to the start of the next, on a ramp that the valve follows in jumps."""
    known_rate = rate_of(recording, ramp)
    if known_rate is None or _follows_evenly(recording, ramp, motion):
        return []
    moved = motion.within(ramp.from_s, ramp.to_s)
    delay, rate = delays.dead_time_s or 0.0, abs(known_rate)
    loose = rate * (delays.jump_slack_s + 0.5 * recording.interval_s)
    trials = []
    for before, after in pairwise(moved):
        if np.sign(motion.change_pct[before]) != np.sign(motion.change_pct[after]):
            continue
        started, deviation = _start(recording, motion, after, channels)
        first = command_at(recording, float(motion.to_s[before]))
        second = command_at(recording, started - delay)
        width, by_noise = abs(second - first), rate * deviation
        low = max(width - loose, 0.0)
        trials.append(Trial("resolution", "ramp", low, width + loose, started, second, by_noise, first))
    return trials


def _start(recording: Recording, motion: Motion, episode: int, channels: Channels) -> tuple[float, float]:
    """Start of a motion, traced back from where it stands out of the noise, and its standard deviation [s]."""
    seen = float(motion.from_s[episode])
    before = float(motion.to_s[episode - 1]) if episode else float(recording.time_s[0])
    begin = max(before, seen - _LEAD_S)
    lead = recording.place(begin, seen)
    rest = rest_of(recording.time_s[lead], recording.travel_pct[lead], channels.travel, restless=True)
    if rest is None:
        return seen, motion.window_s
    whole = recording.place(seen - min(_TRACED_S, seen - begin), float(motion.to_s[episode]))
    sign = float(np.sign(motion.change_pct[episode]))
    along = sign * (recording.travel_pct[whole] - rest.value)
    usable = np.isfinite(along)
    if np.count_nonzero(usable) < _FEWEST:
        return seen, motion.window_s
    final = max(abs(float(motion.change_pct[episode])), 2.0 * channels.travel.band, _LEAST_MOVE_PCT)
    found = response_start(recording.time_s[whole][usable], along[usable], final, channels.travel)
    if found is None:
        return seen, motion.window_s
    return found.time_s, (found.deviation_s**2 + found.half_width_s**2 / _OF_HALF_WIDTH) ** 0.5


def smallest_command(
    trials: Sequence[Trial], what: Found, *, slope: Callable[[float], float] | None = None
) -> Quantity:
    """Dead band or resolution from every trial of it.

    Parameters
    ----------
    trials : sequence of Trial
    what : "dead_band" or "resolution"
    slope : callable or None
        Slope of the ideal characteristic at a command [% of travel span per % of command range], by which each trial
        is converted at its own place. None: no conversion.

    Returns
    -------
    Quantity
        [% of travel span] by a slope, else [% of command range]; from small steps where there are any, else from
        ramps. None without a trial, or where the ideal position is held at the place of each. The greatest of the
        trials stands beside it, and the figure from the other kind, where there is one.

    Notes
    -----
    **House definition**: the mean of the middles of the brackets; half a bracket is the sampling half width.
    Small steps come before ramps, on which a first motion too small to be seen makes the figure too great.
    """
    own = [each for each in trials if each.what == what]
    if not own:
        return Quantity(
            None, _NO_STEPS if what == "dead_band" else "no small steps or ramps that the valve answered twice"
        )
    scaled = [(each, 1.0 if slope is None else abs(slope(each.place_pct))) for each in own]
    known = [(each, steepness) for each, steepness in scaled if steepness > 0.0]
    groups = {means: [pair for pair in known if pair[0].means == means] for means in ("small_steps", "ramp")}
    figures = {means: _figure(pairs, _RANGE if slope is None else _SPAN) for means, pairs in groups.items() if pairs}
    if not figures:
        return Quantity(None, "the ideal position is held where it was tried: the command there asks for no travel")
    best = "small_steps" if "small_steps" in figures else "ramp"
    chosen = [each.middle_pct * steepness for each, steepness in groups[best]]
    beside = {"greatest": max(chosen), "trials": float(len(chosen))}
    beside |= {f"by_{means}": figure.value for means, figure in figures.items() if figure.value is not None}
    return replace(figures[best], beside=beside)


def _figure(pairs: Sequence[tuple[Trial, float]], unit: str) -> Quantity:
    """The brackets repeat themselves, so that averaging does not narrow them; scatter and noise it does."""
    middles = np.array([each.middle_pct * steepness for each, steepness in pairs])
    half = float(np.mean([each.half_width_pct * steepness for each, steepness in pairs]))
    components = [sampling(half, unit, "between the last command without answer and the first with one")]
    count = middles.size
    by_noise = float(np.mean([(each.deviation_pct * steepness) ** 2 for each, steepness in pairs]) / count) ** 0.5
    if by_noise > 0.0:
        components.append(noise(by_noise, unit, "start of the motion"))
    if count > 1:
        scatter = float(middles.std(ddof=1)) / count**0.5
        components.append(type_a("scatter of the repeats, standard deviation of the mean", scatter, unit, count - 1))
    (first, steepness), width = pairs[0], float(np.mean([each.middle_pct for each, _ in pairs]))
    relies = (
        Reliance("command", first.command_pct, steepness, 0),
        Reliance("command", first.command_pct - width, -steepness, 0),
    )
    return Quantity(float(middles.mean()), at_s=first.at_s, components=tuple(components), relies_on=relies)
