"""Static readings out of a recording: one for each hold, with its approach direction."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.noise import OF_UNIFORM, Noise

APPROACH_PCT: Final = 3.0  # House definition: a lesser change of the command takes up no play for certain
_LEAST_RESTLESS_S: Final = 10.0  # House definition: the middle of a swing takes some of its periods
_SWINGS_SHARE: Final = 0.25  # House definition: of the swing, more between a hold's halves is a valve on its way
_STILL_PCT: Final = 0.05  # House definition: a mean known less well than this tells of no drift
_FEWEST: Final = 3  # two samples always lie on a line
_S_A_MIN: Final = 60.0  # seconds in a minute
_HELD: Final = frozenset({"hold", "rest"})


@dataclass(frozen=True, slots=True)
class StaticReading:
    """One hold, brought to a reading. A channel that was not recorded is nan."""

    at_s: float  # end of the hold [s]
    command_pct: float
    travel_pct: float
    travel_deviation_pct: float  # standard uncertainty by noise and drift [% of travel]
    travel_spread_pct: float  # greatest minus least sample
    feedback_pct: float
    position_pct: float
    rising: bool  # the command rose to this hold
    cycle: int  # counted from 1: a cycle ends where the command, after falling, rises again
    drift_pct_per_min: float  # of travel, over the hold; nan where it swings
    drift_deviation: float  # standard uncertainty of that by noise


def static_readings(recording: Recording, segments: Sequence[Segment], channels: Channels) -> tuple[StaticReading, ...]:
    """Bring the holds and rests of a recording to static readings.

    Parameters
    ----------
    recording : Recording
    segments : sequence of Segment
        As :func:`~kit.calculations.recordings.segments.cut_recording` gives them, or as a person set them.
    channels : Channels
        Noise of the recording.

    Returns
    -------
    tuple of StaticReading
        In order of time. A hold is left out where the travel does not come to rest, or where the command did
        not come to it by at least 3 % of range in one go (small steps, a restored signal, a gap).

    Notes
    -----
    **House definition**: means over the end of the hold, as :func:`~kit.calculations.recordings.at_rest.rest_of` takes
    it. The first hold of a recording is taken as approached from where the command does not go next, as a run
    begins at its end.
    """
    held = sorted((each for each in segments if each.what in _HELD), key=lambda each: each.from_s)
    found = [(each, _levels(recording, each, channels)) for each in held]
    usable = [(each, levels) for each, levels in found if levels is not None]
    readings: list[StaticReading] = []
    cycle, rose = 1, True
    for number, (segment, (command, travel)) in enumerate(usable):
        before = usable[number - 1] if number else None
        after = usable[number + 1] if number + 1 < len(usable) else None
        rising = _approach(recording, before, (segment, command), after)
        if rising is None:
            continue
        if rising and not rose:
            cycle += 1
        rose = rising
        readings.append(_reading(recording, segment, command, travel, channels, rising, cycle))
    return tuple(readings)


def _levels(recording: Recording, segment: Segment, channels: Channels) -> tuple[Rest, Rest] | None:
    place = recording.place(segment.from_s, segment.to_s)
    times = recording.time_s[place]
    travel = rest_of(times, recording.travel_pct[place], channels.travel)
    if travel is None:
        travel = _hunting_rest(times, recording.travel_pct[place], segment, channels)
    if travel is None:
        return None
    tail = recording.place(travel.from_s, travel.to_s)
    command = rest_of(recording.time_s[tail], recording.command_pct[tail], channels.command, restless=True)
    return None if command is None else (command, travel)


def _hunting_rest(times: FloatArray, travel: FloatArray, segment: Segment, channels: Channels) -> Rest | None:
    """The middle of a valve that swings and does not come to rest, with its swing in the uncertainty."""
    found = rest_of(times, travel, channels.travel, restless=True)
    if found is None or segment.duration_s < _LEAST_RESTLESS_S or abs(found.drift) > _SWINGS_SHARE * found.spread:
        return None
    return Rest(
        found.value,
        (found.deviation**2 + found.spread**2 / OF_UNIFORM) ** 0.5,
        found.spread,
        found.drift,
        found.from_s,
        found.to_s,
        found.count,
    )


_Held = tuple[Segment, tuple[Rest, Rest]]


def _approach(
    recording: Recording, before: _Held | None, here: tuple[Segment, Rest], after: _Held | None
) -> bool | None:
    """Whether the command rose to a hold; None: it came by too little, or nobody knows how."""
    segment, command = here
    if before is None:
        if after is None or _interrupted(recording, segment.to_s, after[0].from_s):
            return None
        step = after[1][0].value - command.value
        return None if abs(step) < APPROACH_PCT else step > 0
    if _interrupted(recording, before[0].to_s, segment.from_s):
        return None
    step = command.value - before[1][0].value
    return None if abs(step) < APPROACH_PCT else step > 0


def _interrupted(recording: Recording, from_s: float, to_s: float) -> bool:
    lost = recording.signal_lost
    between = recording.place(from_s, to_s)
    return recording.has_gap(from_s, to_s) or bool(lost is not None and np.count_nonzero(lost[between]) > 1)


def _reading(
    recording: Recording, segment: Segment, command: Rest, travel: Rest, channels: Channels, rising: bool, cycle: int
) -> StaticReading:
    tail = recording.place(travel.from_s, travel.to_s)
    whole = recording.place(segment.from_s, segment.to_s)
    drift, deviation = _drift(recording.time_s[whole], recording.travel_pct[whole], travel, channels.travel)
    return StaticReading(
        at_s=segment.to_s,
        command_pct=command.value,
        travel_pct=travel.value,
        travel_deviation_pct=travel.deviation,
        travel_spread_pct=travel.spread,
        feedback_pct=_mean(recording.feedback_pct, tail),
        position_pct=_mean(recording.position_pct, tail),
        rising=rising,
        cycle=cycle,
        drift_pct_per_min=drift,
        drift_deviation=deviation,
    )


def _mean(channel: FloatArray | None, place: slice) -> float:
    if channel is None:
        return float("nan")
    known = channel[place][np.isfinite(channel[place])]
    return float(known.mean()) if known.size else float("nan")


def _drift(time_s: FloatArray, travel: FloatArray, rest: Rest, noise: Noise) -> tuple[float, float]:
    """Slope of the travel over a hold and its standard deviation [% of travel per min]."""
    usable = np.isfinite(travel)
    times, values = time_s[usable], travel[usable]
    if times.size < _FEWEST or rest.deviation > max(noise.deviation, noise.quantum, _STILL_PCT):
        return float("nan"), float("nan")
    centred = times - times.mean()
    spread = float((centred * centred).sum())
    return float(_S_A_MIN * (centred * values).sum() / spread), _S_A_MIN * noise.deviation / spread**0.5
