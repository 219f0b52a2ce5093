"""Runs of a valve from end to end that are timed from its own start: no step of the command begins them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray, IntArray
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.leaving import response_start
from kit.calculations.recordings.levels import Change
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.overshoots import overshoot
from kit.calculations.recordings.response_times import Answer, stays
from kit.calculations.recordings.steps import END_BAND_PCT, StepResponse
from kit.calculations.recordings.terms import noise, sampling

NO_COMMAND: Final = "no command was recorded"
WHOLE_RUN_PCT: Final = 90.0  # House definition: of travel, as for a full stroke
LONGEST_TURN_S: Final = 30.0  # House definition: a slower turn of the command is a ramp, which times no stroke
_ENDS_PCT: Final = (10.0, 90.0)  # House definition: of travel, outside which the valve is at one of its ends
_LOOK_S: Final = 30.0  # House definition: at an end, where the travel's rest is looked for
_STANDS_PCT: Final = 0.05  # House definition: of travel, within which it stands where there is no noise
_STANDS_SHARE: Final = 0.5  # House definition: of the noise's band; a travel at rest comes back into that at once
_REST_S: Final = 10.0  # House definition: of that rest, what is averaged
_LEAD_S: Final = 5.0  # House definition: before the command turns, to show what the travel started from
_AHEAD_SHARE: Final = 0.10  # House definition: of the run, by which a command that is turned must stay ahead of it
_FIRST_SHARE: Final = 0.10  # House definition: of the run, its beginning, in which a command may have held it back
_HELD_BACK: Final = 0.1  # House definition: of the time, what that may take at most
_STRETCH_PCT: Final = 4.0  # House definition: of travel, each of which is passed in about the same time
_STOOD_TIMES: Final = 4.0  # House definition: of that time; one that took longer held a stop
_STOOD_S: Final = 2.0  # House definition: a shorter stop is a pulse
_FEWEST: Final = 3  # House definition: samples of a rest
_STAND_S: Final = 3.0  # House definition: at an end; a shorter stand may be a pulse of the run
_CLEAR: Final = 4.0  # House definition: deviations by which halves of a stand differ once in 16,000 times


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A run from end to end: its figures, and why it is not timed from the command."""

    response: StepResponse
    why: str  # a clause: "the command was turned over 12 s"


def runs_without_command(recording: Recording, channels: Channels) -> tuple[Run, ...]:
    """Every run from one end of travel to the other of a recording without a command column.

    Notes
    -----
    **House definition**: from the last stand below 10 % of travel to the next above 90 %, or back, over at least 90 %
    of travel; its time is from where the travel leaves the one, as any response starts, to the last entry into 0.5 %
    of travel about the other. The dead time before that is not in it: it is less than a time from the command. A run
    that took four times as long for some 4 % of travel as for most of them, and 2 s, stopped on its way and is none.
    """
    usable = np.flatnonzero(np.isfinite(recording.travel_pct))
    times, travel = recording.time_s[usable], recording.travel_pct[usable]
    side = np.where(travel <= _ENDS_PCT[0], -1, np.where(travel >= _ENDS_PCT[1], 1, 0))
    at_end = np.flatnonzero(side)
    turns = np.flatnonzero(side[at_end][1:] != side[at_end][:-1])
    found = []
    for number, turn in enumerate(turns):
        last, first = int(at_end[turn]), int(at_end[turn + 1])
        begin = int(at_end[turns[number - 1] + 1]) if number else 0
        end = int(at_end[turns[number + 1]]) if number + 1 < turns.size else times.size - 1
        begin = max(begin, int(np.searchsorted(times, times[last] - _LOOK_S)))
        end = min(end, int(np.searchsorted(times, times[first] + _LOOK_S)))
        rests = _rests(times, travel, (begin, last, first, end), channels.travel)
        if rests is None or abs(rests[1].value - rests[0].value) < WHOLE_RUN_PCT:
            continue
        way = slice(last, first + 1)
        if not recording.has_gap(rests[0].from_s, rests[1].to_s) and _goes_on(times[way], travel[way]):
            place = usable[(times >= rests[0].from_s) & (times <= rests[1].to_s)]
            found.append(Run(_response(recording, place, rests, channels.travel, NO_COMMAND), NO_COMMAND))
    return tuple(found)


def _goes_on(times: FloatArray, travel: FloatArray) -> bool:
    """Whether a run went on from end to end: it stood nowhere for longer than pulses let it."""
    way = np.maximum.accumulate(np.sign(travel[-1] - travel[0]) * (travel - travel[0]))
    passed, places = np.unique(way, return_index=True)
    marks = np.arange(0.0, passed[-1] + _STRETCH_PCT, _STRETCH_PCT)
    took = np.diff(np.interp(marks, passed, times[places]))
    return bool(took.max() <= max(_STOOD_S, _STOOD_TIMES * float(np.median(took))))


def _rests(
    times: FloatArray, travel: FloatArray, places: tuple[int, int, int, int], channel: Noise
) -> tuple[Rest, Rest] | None:
    """Where the travel rested before and after a run: its samples near where it last stood, and next."""
    begin, last, first, end = places
    near = max(_STANDS_SHARE * channel.band, channel.quantum, _STANDS_PCT)
    before, after = travel[begin : last + 1], travel[first : end + 1]
    stood_at = _stood_at(times[begin : last + 1], before, channel)[-1]
    came_to = _stood_at(times[first : end + 1], after, channel)[0]
    stood = np.flatnonzero(np.abs(before - stood_at) <= near)
    came = np.flatnonzero(np.abs(after - came_to) <= near)
    if stood.size < _FEWEST or came.size < _FEWEST:
        return None
    to = begin + int(stood[-1]) + 1
    since = max(begin, int(np.searchsorted(times, times[to - 1] - _REST_S)))
    until = first + int(came[-1]) + 1
    start = rest_of(times[since:to], travel[since:to], channel)
    finish = rest_of(times[first:until], travel[first:until], channel)
    return None if start is None or finish is None else (start, finish)


def _stood_at(times: FloatArray, travel: FloatArray, channel: Noise) -> FloatArray:
    """Where a travel stood for longer than pulses let it, in order of time; its median where it did so nowhere.

    Notes
    -----
    **House definition**: where the halves of 3 s differ by no more than 0.05 %, a step of the recorder, hum and noise.
    """
    half = int(np.searchsorted(times, times[0] + _STAND_S)) // 2
    total = np.concatenate(([0.0], np.cumsum(travel)))
    if half < 1 or total.size <= 2 * half:
        return np.array([float(np.median(travel))])
    earlier, later = (total[half:-half] - total[: -2 * half]) / half, (total[2 * half :] - total[half:-half]) / half
    still = _STANDS_PCT + channel.quantum + channel.swing_in(_STAND_S) + _CLEAR * channel.deviation * sqrt(2.0 / half)
    stood = 0.5 * (earlier + later)[np.abs(later - earlier) <= still]
    return stood if stood.size else np.array([float(np.median(travel))])


def runs_by_hand(
    recording: Recording, segments: Sequence[Segment], channels: Channels, ideal: Callable[[float], float]
) -> tuple[Run, ...]:
    """Every run from end to end for which the command was turned in up to 30 s rather than stepped.

    Parameters
    ----------
    recording : Recording
    segments : sequence of Segment
        Among them the ramps, and the holds after them.
    channels : Channels
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].

    Notes
    -----
    **House definition**: the travel has a time of its own where the command stays ahead of it by 10 % of the run until
    it has come to its end, so that the valve runs at its own speed; what the first tenth of the run took longer than
    the rest of it, at that speed, is the half width of its start, and a tenth of the time at most. It is less than a
    time from the command by the dead time.
    """
    found = []
    for each in segments:
        if each.what not in ("ramp_up", "ramp_down") or each.duration_s > LONGEST_TURN_S:
            continue
        until = _held_until(segments, each, float(recording.time_s[-1]))
        place = recording.place(each.from_s - _LEAD_S, until)
        turned = recording.place(each.from_s, each.to_s)
        command = recording.command_pct[turned]
        ends = command[np.isfinite(command)][[0, -1]] if np.isfinite(command).any() else np.zeros(2)
        if abs(ideal(float(ends[1])) - ideal(float(ends[0]))) >= WHOLE_RUN_PCT:
            found.append(_by_hand(recording, place, each, channels, ideal))
    return tuple(each for each in found if each is not None)


def _held_until(segments: Sequence[Segment], ramp: Segment, end_s: float) -> float:
    """Until when the command stays where a ramp took it."""
    after = [each for each in segments if each.to_s > ramp.to_s and each.from_s >= ramp.to_s - _LEAD_S and each != ramp]
    held = [each.to_s for each in after if each.what in ("hold", "rest")]
    return min(held, default=end_s if not after else ramp.to_s)


def _by_hand(
    recording: Recording, place: slice, ramp: Segment, channels: Channels, ideal: Callable[[float], float]
) -> Run | None:
    why = f"the command was turned over {ramp.duration_s:.2g} s"
    usable = place.start + np.flatnonzero(np.isfinite(recording.travel_pct[place]))
    times, travel = recording.time_s[usable], recording.travel_pct[usable]
    start = rest_of(times[times <= ramp.from_s], travel[times <= ramp.from_s], channels.travel)
    end = rest_of(times[times >= ramp.to_s], travel[times >= ramp.to_s], channels.travel)
    if start is None or end is None or abs(end.value - start.value) < WHOLE_RUN_PCT:
        return None
    response = _response(recording, usable, (start, end), channels.travel, why)
    time, late_s = response.end_of_travel, _held_back_s(response, recording, ramp, (start, end), ideal)
    if time.value is not None and (late_s is None or late_s > _HELD_BACK * time.value):
        time = Quantity(None, f"{why}, and the valve followed it: step the command to measure the stroke")
    elif time.value is not None and late_s:
        time = replace(time, components=(*time.components, sampling(late_s, "s", "command that was turned")))
    return Run(replace(response, end_of_travel=time), why)


def _held_back_s(
    response: StepResponse,
    recording: Recording,
    ramp: Segment,
    rests: tuple[Rest, Rest],
    ideal: Callable[[float], float],
) -> float | None:
    """By how much a command that was turned held back the beginning of a run [s]; None: it led the valve."""
    start, way = rests[0].value, rests[1].value - rests[0].value
    share = np.maximum.accumulate((response.travel_pct - start) / way)
    times = response.time_s + response.step_s
    turning = recording.place(ramp.from_s, ramp.to_s)
    known = np.isfinite(recording.command_pct[turning])
    turned_s, command = recording.time_s[turning][known], recording.command_pct[turning][known]
    asked = (np.array([ideal(float(each)) for each in command]) - start) / way
    gone = np.interp(turned_s, times, share)
    if bool(((gone > _FIRST_SHARE) & (asked - gone < _AHEAD_SHARE)).any()):
        return None
    first, last = np.interp([_FIRST_SHARE, 1.0 - _FIRST_SHARE], *_rising(share, times))
    even_s = _FIRST_SHARE / (1.0 - 2.0 * _FIRST_SHARE) * float(last - first)
    return max(float(first) - response.step_s - even_s, 0.0)


def _rising(share: FloatArray, times: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The first time at which each share was passed."""
    passed, places = np.unique(share, return_index=True)
    return passed, times[places]


def _response(
    recording: Recording, place: IntArray, rests: tuple[Rest, Rest], channel: Noise, why: str
) -> StepResponse:
    """The run as a response that begins where the travel leaves, with nothing that counts from the command."""
    start, end = rests
    times, travel = recording.time_s[place], recording.travel_pct[place]
    moved = end.value - start.value
    sign, size = (1.0 if moved > 0 else -1.0), abs(moved)
    along = sign * (travel - start.value)
    left = response_start(times, along, size, channel)
    none = Quantity(None, why)
    command = recording.command_pct[place]
    known = command[np.isfinite(command)]
    ends = (float(known[0]), float(known[-1])) if known.size else (float("nan"), float("nan"))
    assert left is not None  # it went from end to end
    change = Change("step", left.time_s, left.time_s, *ends, left.time_s, left.half_width_s)
    answer = Answer(
        change, start, end, sign, size, times, along, channel, recording.interval_s, begins="start of the travel"
    )
    time = stays(answer, END_BAND_PCT)
    if time.value is not None and left.deviation_s > 0.0:
        time = replace(time, components=(*time.components, noise(left.deviation_s, "s", "start of the travel")))
    return StepResponse(
        segment=Segment("stroke_open" if moved > 0 else "stroke_close", float(times[0]), float(times[-1])),
        step_s=left.time_s,
        from_command_pct=ends[0],
        to_command_pct=ends[1],
        asked_pct=moved,
        from_travel_pct=start.value,
        to_travel_pct=end.value,
        dead_time=none,
        t63=none,
        t86=none,
        overshoot=overshoot(answer),
        settling_time=none,
        travel_gain=none,
        end_of_travel=time,
        held_s=float(times[-1]) - left.time_s,
        time_s=times - left.time_s,
        travel_pct=travel,
    )
