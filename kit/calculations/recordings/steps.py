"""Step responses: dead time, T63, T86, overshoot, settling, gain; and the time of a full stroke."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Component, Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.crossings import Instant, crossing, last_entry, response_start
from kit.calculations.recordings.levels import Change, Level, command_parts
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.peaks import Peak, peak_of
from kit.calculations.recordings.terms import noise, sampling

T63_SHARE: Final = 0.632  # ANSI/ISA-75.25.01 and IEC 60534-9, from memory: of the change at rest
T86_SHARE: Final = 0.865  # likewise
SETTLING_SHARE: Final = 0.02  # House definition: of the change; the 2 % of any textbook of control
END_BAND_PCT: Final = 0.5  # House definition: of travel, about the final position
LEAST_RESPONSE_PCT: Final = 2.0  # House definition: a smaller step is one of the dead-band test
_SMOOTH_S: Final = 0.5  # House definition: longer means would shift the entry into the band
_CLEAR_PEAK: Final = 1.6  # House definition: of the noise's band; a higher peak is looked at sample by sample
_SIGMAS: Final = 3.0  # House definition: what differs by more is no noise
_FEWEST: Final = 3  # House definition: samples of a response, or of a mean
_FEWEST_COMMANDS: Final = 4  # House definition: two on each side of a step
_ALIKE_SAMPLES: Final = 5.0  # House definition: about as many samples near a level tell that it was crossed
_SPEED_S: Final = 0.1  # House definition: to either side, for the speed at a time
_HIDDEN_PEAK: Final = 5.0  # House definition: times narrower, what the band of the noise about a hidden peak is made
_PCT: Final = "% of travel"

_NO_STEP: Final = "no step of the command in this part of the recording"
_RESTLESS: Final = "the travel was not at rest before the step"
_UNFINISHED: Final = "the travel had not come to rest when the command changed again or the recording ended"
_NO_RESPONSE: Final = "the valve did not answer the step"


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
    time_s: FloatArray  # (k,) since the step, for drawing
    travel_pct: FloatArray  # (k,)

    @property
    def size_pct(self) -> float:
        """Size of the step, signed [% of command range]."""
        return self.to_command_pct - self.from_command_pct

    @property
    def opens(self) -> bool:
        return self.asked_pct > 0


@dataclass(frozen=True, slots=True, eq=False)
class _Answer:
    """What every figure of one step is drawn from, counted in the direction of the response."""

    change: Change
    start: Rest
    end: Rest
    sign: float
    size: float  # whole change of travel, above 0 unless nothing moved
    time_s: FloatArray  # from the last sample before the step on
    along: FloatArray  # travel from its start, in the direction of the response
    noise: Noise
    interval_s: float


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
    figures = _figures(recording, change, start, end, times, travel, channels, asked)
    return StepResponse(
        segment=segment,
        step_s=change.half_way_s,
        from_command_pct=change.from_pct,
        to_command_pct=change.to_pct,
        asked_pct=asked,
        from_travel_pct=float("nan") if start is None else start.value,
        to_travel_pct=float("nan") if end is None else end.value,
        **figures,
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
    names = ("dead_time", "t63", "t86", "overshoot", "settling_time", "travel_gain", "end_of_travel")
    if start is None:
        return {name: Quantity(None, _RESTLESS) for name in names}
    if end is None:
        found = {name: Quantity(None, _UNFINISHED) for name in names}
        found["dead_time"] = _unfinished_dead_time(recording, change, start, times, travel, channels)
        return found
    answer = _answer(recording, change, (start, end), times, travel, channels)
    gain = _gain(answer, asked)
    least = channels.travel.band + _SIGMAS * (start.deviation + end.deviation)
    if answer.size <= least:
        return {name: Quantity(None, _NO_RESPONSE) for name in names} | {"travel_gain": gain}
    return {
        "dead_time": _dead_time(answer),
        "t63": _reaches(answer, T63_SHARE),
        "t86": _reaches(answer, T86_SHARE),
        "overshoot": _overshoot(answer),
        "settling_time": _stays(answer, SETTLING_SHARE * answer.size),
        "travel_gain": gain,
        "end_of_travel": _stays(answer, END_BAND_PCT),
    }


def _unfinished_dead_time(
    recording: Recording, change: Change, start: Rest, times: FloatArray, travel: FloatArray, channels: Channels
) -> Quantity:
    """A valve that is still on its way has started all the same."""
    moved = float(travel[-1]) - start.value
    if abs(moved) <= 2.0 * channels.travel.band:
        return Quantity(None, _UNFINISHED)
    last = Rest(float(travel[-1]), 0.0, 0.0, 0.0, float(times[-1]), float(times[-1]), 1)
    return _dead_time(_answer(recording, change, (start, last), times, travel, channels))


def _answer(
    recording: Recording,
    change: Change,
    rests: tuple[Rest, Rest],
    times: FloatArray,
    travel: FloatArray,
    channels: Channels,
) -> _Answer:
    start, end = rests
    moved = end.value - start.value
    sign = -1.0 if moved < 0 else 1.0
    along = sign * (travel - start.value)
    return _Answer(change, start, end, sign, abs(moved), times, along, channels.travel, recording.interval_s)


def _dead_time(answer: _Answer) -> Quantity:
    found = response_start(answer.time_s, answer.along, answer.size, answer.noise)
    if found is None:
        return Quantity(None, _NO_RESPONSE)
    figure = _time(answer, found, answer.start.deviation, "start of the response")
    early = -(figure.value or 0.0)
    if early <= 0.0 or early > _SIGMAS * figure.standard_uncertainty:
        return figure  # a response well before its step is left as it is: the clocks do not agree
    return replace(figure, value=0.0)


def _reaches(answer: _Answer, share: float) -> Quantity:
    found = crossing(answer.time_s, answer.along, share * answer.size, answer.noise)
    if found is None:
        return Quantity(None, "the travel jumped past the level between the step and the next sample")
    base = ((1.0 - share) ** 2 * answer.start.deviation**2 + share**2 * answer.end.deviation**2) ** 0.5
    paused = _paused_s(answer, share * answer.size, (base**2 + answer.noise.deviation**2 / _ALIKE_SAMPLES) ** 0.5)
    if paused > _SIGMAS * max(found.half_width_s, found.deviation_s):
        found = Instant(found.time_s, paused, 0.0)
    return _time(answer, found, base, f"{100 * share:.1f} % of the change")


def _paused_s(answer: _Answer, level: float, deviation: float) -> float:
    """Half of the time that the travel takes past a level that is known to within two deviations."""
    if deviation == 0.0:
        return 0.0
    sides = [crossing(answer.time_s, answer.along, level + each * deviation, answer.noise) for each in (-2.0, 2.0)]
    first, last = sides
    return 0.0 if first is None or last is None else 0.5 * abs(last.time_s - first.time_s)


def _stays(answer: _Answer, band: float) -> Quantity:
    """Last entry into a band about the final value; the band is as wide as noise needs."""
    distance = answer.along - answer.sign * (answer.end.value - answer.start.value)
    channel = answer.noise
    if channel.band > band:
        distance, channel = _smoothed(distance, channel, band, answer.interval_s)
    held = max(band, channel.band)
    found = last_entry(answer.time_s, distance, held, channel)
    if found is None:
        return Quantity(None, "the travel was within the band all the time")
    figure = _time(answer, found, answer.end.deviation, "entry into the band")
    return replace(figure, beside={"band_pct": held})


def _smoothed(values: FloatArray, channel: Noise, band: float, interval_s: float) -> tuple[FloatArray, Noise]:
    """Means of as many samples as bring the noise within a band, over half a second at most."""
    most = max(1, round(_SMOOTH_S / interval_s)) if interval_s > 0 else 1
    width = min(int(np.ceil((channel.band / band) ** 2)), most)
    width += 1 - width % 2
    if width < _FEWEST or width > most + 1 or values.size <= width:
        return values, channel
    total = np.cumsum(np.concatenate(([0.0], values)))
    means = np.pad((total[width:] - total[:-width]) / width, width // 2, mode="edge")
    return means, Noise(channel.deviation / width**0.5, 0.0)


def _time(answer: _Answer, found: Instant, level_deviation: float, what: str) -> Quantity:
    """Time from the step, with what sampling, noise and the levels at rest leave open."""
    value = found.time_s - answer.change.half_way_s
    speed = _speed_at(answer, found.time_s)
    deviation = (found.deviation_s**2 + ((level_deviation / speed) ** 2 if speed > 0 else 0.0)) ** 0.5
    components: tuple[Component, ...] = (sampling(answer.change.half_width_s, "s", "step of the command"),)
    if found.half_width_s > 0.0:
        components += (sampling(found.half_width_s, "s", what),)
    if deviation > 0.0:
        components += (noise(deviation, "s", what),)
    return Quantity(
        value, at_s=found.time_s, components=components, relies_on=(Reliance("time", max(value, 0.0), 1.0),)
    )


def _speed_at(answer: _Answer, time_s: float) -> float:
    """How fast the travel moves about a time [% of travel per s]."""
    reach = max(2, round(_SPEED_S / answer.interval_s)) if answer.interval_s > 0 else 2
    place = int(np.searchsorted(answer.time_s, time_s))
    low, high = max(place - reach, 0), min(place + reach, answer.time_s.size - 1)
    rise = float(answer.along[high] - answer.along[low])
    return abs(rise) / float(answer.time_s[high] - answer.time_s[low]) if high > low else 0.0


def _overshoot(answer: _Answer) -> Quantity:
    """Travel beyond the final value."""
    final = answer.sign * (answer.end.value - answer.start.value)
    beyond = answer.along - final
    top = _top_of(answer, beyond)
    value = max(top.height, 0.0)
    components: tuple[Component, ...] = ()
    if top.half_width > 0.0:
        components += (sampling(top.half_width, _PCT, "between the samples at the peak"),)
    total = (top.deviation**2 + answer.end.deviation**2) ** 0.5
    if total > 0.0:
        components += (noise(total, _PCT, "travel at the peak and at rest"),)
    relies = (
        Reliance("travel", answer.end.value + answer.sign * value, answer.sign, 0),
        Reliance("travel", answer.end.value, -answer.sign, 0),
    )
    return Quantity(value, at_s=float(answer.time_s[int(beyond.argmax())]), components=components, relies_on=relies)


def _top_of(answer: _Answer, beyond: FloatArray) -> Peak:
    """The farthest of the travel; 0 where the noise hides it."""
    channel = answer.noise
    if channel.band > 0.0 and float(beyond.max()) <= _CLEAR_PEAK * channel.band:
        means, quieter = _smoothed(beyond, channel, channel.band / _HIDDEN_PEAK, answer.interval_s)
        top = float(means.max())
        return Peak(0.0 if top <= quieter.band else top, 2.0 * quieter.deviation, 0.0)
    return peak_of(answer.time_s, beyond, channel)


def _gain(answer: _Answer, asked: float) -> Quantity:
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
