"""Step responses: dead time, T63, T86, overshoot, settling, gain; and the time of a full stroke."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.ahead import ahead_by
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.levels import Change, Level, command_parts
from kit.calculations.recordings.overshoots import overshoot
from kit.calculations.recordings.response_times import (
    NO_RESPONSE,
    UNFINISHED,
    Answer,
    dead_time,
    reaches,
    stays,
    too_coarse,
)
from kit.calculations.recordings.terms import noise

TIMED: Final = ("dead_time", "t63", "t86", "settling_time", "end_of_travel")  # figures that count from the command
_FIGURES: Final = (*TIMED, "overshoot", "travel_gain")
_AHEAD_S: Final = "ahead_s"  # beside figures that there are none of: by how much the travel came before its command
_NO_CLOCK: Final = "the two have no common clock; record both with one logger"
T63_SHARE: Final = 0.632  # ANSI/ISA-75.25.01 and IEC 60534-9, from memory: of the change at rest
T86_SHARE: Final = 0.865  # likewise
SETTLING_SHARE: Final = 0.02  # House definition: of the change; the 2 % of any textbook of control
END_BAND_PCT: Final = 0.5  # House definition: of travel, about the final position
LEAST_RESPONSE_PCT: Final = 2.0  # House definition: a smaller step is one of the dead-band test
_SIGMAS: Final = 3.0  # House definition: what differs by more is no noise
_FEWEST: Final = 3  # House definition: samples of a response, or of a mean
_FEWEST_COMMANDS: Final = 4  # House definition: two on each side of a step
_LEFT_PCT: Final = 1.0  # House definition: of command range; what hum makes of a level is no other one
_LOOKS_S: Final = 600.0  # House definition: beyond which a command held is held long enough for any travel

_NO_STEP: Final = "no step of the command in this part of the recording"
RESTLESS: Final = "the travel was not at rest before the step"
_UNDER_WAY: Final = "the travel was on its way already when the command changed"


@dataclass(frozen=True, slots=True, eq=False)
class StepResponse:
    """One step of the command and the travel that answers it. Times of the figures count from the step."""

    segment: Segment
    step_s: float  # when the command passed half of its step
    from_command_pct: float
    to_command_pct: float
    asked_pct: float  # ideal change of travel, signed
    from_travel_pct: float
    to_travel_pct: float
    dead_time: Quantity
    t63: Quantity
    t86: Quantity
    overshoot: Quantity
    settling_time: Quantity
    travel_gain: Quantity
    end_of_travel: Quantity
    held_s: float  # how long the command stayed there, 600 s at most
    time_s: FloatArray  # (k,) since the step, for drawing
    travel_pct: FloatArray  # (k,)

    @property
    def size_pct(self) -> float:
        """Size of the step, signed [% of command range]."""
        return self.to_command_pct - self.from_command_pct

    @property
    def opens(self) -> bool:
        return self.asked_pct > 0

    @property
    def has_no_clock(self) -> bool:
        """Whether the travel came before its command, so that the two have no common clock."""
        return _AHEAD_S in self.dead_time.beside

    def untimed(self, why_not: str) -> StepResponse:
        """The same without what counts from the command, for a reason."""
        none = Quantity(None, why_not)
        return replace(self, dead_time=none, t63=none, t86=none, settling_time=none, end_of_travel=none)


def step_response(
    recording: Recording, segment: Segment, channels: Channels, ideal: Callable[[float], float]
) -> StepResponse | None:
    """Reduce one step, or one full stroke, of a recording.

    Parameters
    ----------
    recording : Recording
    segment : Segment
        A step or stroke: it holds the rest before the step of the command, the step and what follows.
    channels : Channels
        Noise of the recording.
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].

    Returns
    -------
    StepResponse or None
        None where there is no step in it, or no travel around the step.

    References
    ----------
    ANSI/ISA-75.25.01 and IEC 60534-9 (terms from memory): dead time, T63 and T86 count from the step of the
    command, the latter to 63.2 % and 86.5 % of the whole change at rest. **House definition**: the step is at half
    of the command's change; settling is the last entry into 2 % of the change about the final value (or into what
    noise needs); end of travel is the last entry into 0.5 % of travel about the final position (or into what noise
    needs); overshoot is the travel beyond the final value; gain is change of travel over ideal change.
    """
    whole = recording.place(segment.from_s, segment.to_s)
    change, until = _step_in(recording, whole, channels)
    if change is None:
        return None
    before = recording.place(segment.from_s, change.from_s)
    after = slice(before.stop - 1, recording.place(change.to_s, until).stop)
    start = rest_of(recording.time_s[before], recording.travel_pct[before], channels.travel)
    travel = recording.travel_pct[after]
    usable = np.isfinite(travel)
    times, travel = recording.time_s[after][usable], travel[usable]
    if times.size < _FEWEST:
        return None
    settled = np.searchsorted(times, change.to_s)
    end = rest_of(times[settled:], travel[settled:], channels.travel)
    asked = ideal(change.to_pct) - ideal(change.from_pct)
    ahead_s = _ahead_by(recording, slice(whole.start, after.stop), change, end, channels)
    figures = (
        _figures(recording, change, start, end, times, travel, channels, asked)
        if ahead_s is None
        else _without_clock(ahead_s)
    )
    return StepResponse(
        segment=segment,
        step_s=change.half_way_s,
        from_command_pct=change.from_pct,
        to_command_pct=change.to_pct,
        asked_pct=asked,
        from_travel_pct=float("nan") if start is None else start.value,
        to_travel_pct=float("nan") if end is None else end.value,
        **figures,
        held_s=_held_s(recording, change, channels),
        time_s=times - change.half_way_s,
        travel_pct=travel,
    )


def _step_in(recording: Recording, whole: slice, channels: Channels) -> tuple[Change | None, float]:
    """The greatest step of the command in a part of a recording, and until when the command then stays."""
    usable = whole.start + np.flatnonzero(np.isfinite(recording.command_pct[whole]))
    if usable.size < _FEWEST_COMMANDS:
        return None, 0.0
    parts = command_parts(recording.time_s[usable], recording.command_pct[usable], channels.command)
    steps = [(number, part) for number, part in enumerate(parts) if isinstance(part, Change) and part.kind == "step"]
    if not steps:
        return None, 0.0
    number, step = max(steps, key=lambda each: abs(each[1].change_pct))
    after = parts[number + 1] if number + 1 < len(parts) else None
    if not isinstance(after, Level) or recording.has_gap(step.from_s, after.to_s):
        return None, 0.0
    return step, after.to_s


def _held_s(recording: Recording, change: Change, channels: Channels) -> float:
    """How long the command stayed at its new level, hum apart, which may cut the level into several [s].

    Notes
    -----
    **House definition**: until three samples in a row lie 1 % of command range from it, or twice the noise's band.
    """
    place = recording.place(change.to_s, change.to_s + _LOOKS_S)
    off = np.abs(recording.command_pct[place] - change.to_pct) > max(_LEFT_PCT, 2.0 * channels.command.band)
    left = np.flatnonzero(off[:-2] & off[1:-1] & off[2:])
    last = int(left[0]) if left.size else off.size - 1
    return float(recording.time_s[place][last]) - change.half_way_s


def _ahead_by(recording: Recording, place: slice, change: Change, end: Rest | None, channels: Channels) -> float | None:
    usable = np.isfinite(recording.travel_pct[place])
    if end is None or not usable.any():
        return None
    times, travel = recording.time_s[place][usable], recording.travel_pct[place][usable]
    return ahead_by(times, travel, change, end, channels.travel)


def _without_clock(ahead_s: float) -> dict[str, Quantity]:
    why_not = f"the travel started {ahead_s:.2g} s before its command: {_NO_CLOCK}"
    return {name: Quantity(None, why_not, beside={_AHEAD_S: ahead_s}) for name in _FIGURES}


def _figures(
    recording: Recording,
    change: Change,
    start: Rest | None,
    end: Rest | None,
    times: FloatArray,
    travel: FloatArray,
    channels: Channels,
    asked: float,
) -> dict[str, Quantity]:
    if start is None:
        return {name: Quantity(None, RESTLESS) for name in _FIGURES}
    if end is None:
        found = {name: Quantity(None, UNFINISHED) for name in _FIGURES}
        found["dead_time"] = _unfinished_dead_time(recording, change, start, times, travel, channels)
        return found
    answer = _answer(recording, change, (start, end), times, travel, channels)
    gain = _gain(answer, asked)
    least = channels.travel.band + _SIGMAS * (start.deviation + end.deviation)
    if answer.size <= least:
        return {name: Quantity(None, NO_RESPONSE) for name in _FIGURES} | {"travel_gain": gain}
    if answer.was_under_way:
        untimed = {name: Quantity(None, _UNDER_WAY) for name in TIMED}
        return untimed | {"overshoot": overshoot(answer), "travel_gain": gain}
    hidden = too_coarse(answer, "how the travel arrived") if answer.arrival_is_hidden else None
    return {
        "dead_time": dead_time(answer),
        "t63": reaches(answer, T63_SHARE),
        "t86": reaches(answer, T86_SHARE),
        "overshoot": overshoot(answer),
        "settling_time": hidden or stays(answer, SETTLING_SHARE * answer.size),
        "travel_gain": gain,
        "end_of_travel": stays(answer, END_BAND_PCT),
    }


def _unfinished_dead_time(
    recording: Recording, change: Change, start: Rest, times: FloatArray, travel: FloatArray, channels: Channels
) -> Quantity:
    """A valve that is still on its way has started all the same."""
    moved = float(travel[-1]) - start.value
    if abs(moved) <= 2.0 * channels.travel.band:
        return Quantity(None, UNFINISHED)
    last = Rest(float(travel[-1]), 0.0, 0.0, 0.0, float(times[-1]), float(times[-1]), 1)
    return dead_time(_answer(recording, change, (start, last), times, travel, channels))


def _answer(
    recording: Recording,
    change: Change,
    rests: tuple[Rest, Rest],
    times: FloatArray,
    travel: FloatArray,
    channels: Channels,
) -> Answer:
    start, end = rests
    moved = end.value - start.value
    sign = -1.0 if moved < 0 else 1.0
    along = sign * (travel - start.value)
    return Answer(change, start, end, sign, abs(moved), times, along, channels.travel, recording.interval_s)


def _gain(answer: Answer, asked: float) -> Quantity:
    if asked == 0.0:
        return Quantity(None, "the step asks for no travel")
    moved = answer.end.value - answer.start.value
    deviation = (answer.start.deviation**2 + answer.end.deviation**2) ** 0.5 / abs(asked)
    value = moved / asked
    change = answer.change
    per_command = -value / (change.to_pct - change.from_pct)
    components = (noise(deviation, "%/%", "travel at rest"),) if deviation > 0.0 else ()
    relies = (
        Reliance("travel", answer.end.value, 1.0 / asked, 1),
        Reliance("travel", answer.start.value, -1.0 / asked, 0),
        Reliance("command", change.to_pct, per_command, 1),
        Reliance("command", change.from_pct, -per_command, 0),
    )
    return Quantity(value, at_s=answer.end.from_s, components=components, relies_on=relies)
