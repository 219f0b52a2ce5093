"""Static readings out of a recording: one for each hold, with its approach direction."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.approach import BY_SMALL_STEP, Stand, approach
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.left_out import UNSETTLED, LeftOut
from kit.calculations.recordings.noise import OF_UNIFORM, Noise
from kit.calculations.recordings.outages import outages_of
from kit.calculations.recordings.settled import (
    MOST_TO_GO_PCT,
    OF_HALF_SWING,
    half_swing_s,
    is_on_its_way,
    level_since_s,
    still_to_go_pct,
)

_LEAST_RESTLESS_S: Final = 10.0  # House definition: the middle of a swing takes some of its periods
_ARRIVED_SHARE: Final = 0.6  # House definition: of a hold, its end, in which a valve that swings has arrived
_OF_ONE_SWING: Final = 10  # House definition: parts of one swing, of which the first and the last are alike to a half
_SWINGS_SHARE: Final = 0.25  # House definition: of the swing, more between a hold's halves is a valve on its way
_STILL_PCT: Final = 0.05  # House definition: a mean known less well than this tells of no drift
_ALIKE: Final = 1.2  # House definition: neighbouring samples of a recorder are not quite independent
_OF_DRIFT: Final = 2.0  # JCGM 101:2008, 6.4.6.1: square of an arc sine's half width over its variance
_OF_RECTANGLE: Final = 3.0**0.5  # JCGM 100:2008, 4.3.7: a rectangle's half width over its standard deviation
_OF_HALVES: Final = 2.0  # standard deviation of the difference of a mean's halves over that of the mean
_FEWEST: Final = 3  # two samples always lie on a line
_FEWEST_SWINGS: Final = 2  # House definition: holds that swing, of a valve that may do so in any
_S_A_MIN: Final = 60.0  # seconds in a minute
_HELD: Final = frozenset({"hold", "rest"})


@dataclass(frozen=True, slots=True)
class StaticReading:
    """One hold, brought to a reading. A channel that was not recorded is nan."""

    from_s: float  # start of the samples that were averaged [s]
    at_s: float  # end of the hold [s]
    command_pct: float
    command_deviation_pct: float  # standard uncertainty by noise, step and drift [% of command range]
    travel_pct: float
    travel_deviation_pct: float  # the same [% of travel]
    travel_spread_pct: float  # greatest minus least sample
    feedback_pct: float
    feedback_deviation_pct: float  # the same [% of feedback range]
    position_pct: float
    rising: bool  # the command came to it from below
    cycle: int  # counted from 1: a cycle ends where the command, after falling, rises again
    drift_pct_per_min: float  # of travel, over the hold; nan where it swings
    drift_deviation: float  # standard uncertainty of that by noise
    begins_run: bool = False  # nothing shows its side: it is the one on which the run goes on


@dataclass(frozen=True, slots=True)
class Holds:
    """The holds of a recording: those that are readings, and those that are none."""

    readings: tuple[StaticReading, ...]
    left_out: tuple[LeftOut, ...]


def static_readings(
    recording: Recording,
    segments: Sequence[Segment],
    channels: Channels,
    ideal: Callable[[float], float] = float,
) -> Holds:
    """Bring the holds and rests of a recording to static readings.

    Parameters
    ----------
    recording : Recording
    segments : sequence of Segment
        As :func:`~kit.calculations.recordings.segments.cut_recording` gives them, or as a person set them.
    channels : Channels
        Noise of the recording.
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].

    Returns
    -------
    Holds
        In order of time. A hold is left out where the travel does not come to rest, and where nobody knows from which
        side it was come to, as :func:`~kit.calculations.recordings.approach.approach` says; those of small steps are
        no readings either, and not told: they are the test of dead band.

    Notes
    -----
    **House definition**: means over the end of the hold, as :func:`~kit.calculations.recordings.at_rest.rest_of` takes
    it of the travel, for every channel. The mean of a channel that drifts lies from its end by what its halves differ
    by, give or take what noise does to that difference: both are in its uncertainty, as the half width of an arc sine
    distribution. A travel that creeps by more than 0.02 % a second has not settled, nor has one that by its arrival may
    have more than 0.1 % to go; what it may have to go is in its uncertainty. Of a valve that swings in two holds and
    more, only a rest of 1.5 times half its swing is one; else the mean over whole swings is taken, with the swing in
    the uncertainty.
    """
    held = sorted((each for each in segments if each.what in _HELD), key=lambda each: each.from_s)
    stands = _stands(recording, held, channels)
    usable = [stand for _, stand in stands if stand is not None]
    left_out = [LeftOut("hold", each.from_s, each.to_s, UNSETTLED) for each, stand in stands if stand is None]
    outages = outages_of(recording)
    readings: list[StaticReading] = []
    cycle, rose = 1, True
    for number, stand in enumerate(usable):
        before = usable[number - 1] if number else None
        after = usable[number + 1] if number + 1 < len(usable) else None
        found = approach(recording, before, stand, after, channels, ideal, outages)
        if found.why_not == BY_SMALL_STEP:  # of the test of dead band
            continue
        if found.rising is None:
            left_out.append(LeftOut("hold", stand.segment.from_s, stand.segment.to_s, found.why_not))
            continue
        cycle += found.rising and not rose
        rose = found.rising
        reading = _reading(recording, stand, channels, rising=found.rising, cycle=cycle)
        readings.append(replace(reading, begins_run=found.begins_run))
    return Holds(tuple(readings), tuple(sorted(left_out, key=lambda each: each.from_s)))


def _stands(recording: Recording, held: Sequence[Segment], channels: Channels) -> list[tuple[Segment, Stand | None]]:
    """Each hold with where the travel came to rest in it; of a valve that swings elsewhere only what outlasts that."""
    rests = [_rest(recording, each, channels) for each in held]
    swings = [swing_s for *_, swing_s in rests if swing_s > 0.0]
    usual_s = float(np.median(swings)) if len(swings) >= _FEWEST_SWINGS else 0.0
    found = []
    for segment, (since_s, travel, swing_s) in zip(held, rests, strict=True):
        too_short = segment.duration_s < OF_HALF_SWING * usual_s
        if travel is None or swing_s > 0.0 or too_short:
            travel = _hunting_rest(recording, since_s, segment.to_s, 2.0 * (swing_s or usual_s), channels)
        found.append((segment, None if travel is None else _stand(recording, segment, since_s, travel, channels)))
    return found


def _rest(recording: Recording, segment: Segment, channels: Channels) -> tuple[float, Rest | None, float]:
    """Since when the command is where it is in a hold, where the travel rests, and half a swing if it does not [s]."""
    place = recording.place(segment.from_s, segment.to_s)
    times, values = recording.time_s[place], recording.travel_pct[place]
    command, _ = _mean_of(recording.command_pct[place], channels.command)
    since_s = min(level_since_s(recording, command, channels.command, segment.from_s), segment.from_s)
    whole = recording.place(since_s, segment.to_s)
    travel = rest_of(times, values, channels.travel)
    swing_s = half_swing_s(recording.time_s[whole], recording.travel_pct[whole], travel, channels.travel)
    if travel is None:
        return since_s, None, swing_s
    to_go = still_to_go_pct(recording, travel, channels.travel, travel.to_s)
    if is_on_its_way(times, values, travel, channels.travel) or to_go > MOST_TO_GO_PCT + channels.travel.band:
        return since_s, None, swing_s
    return since_s, travel, swing_s


def _stand(recording: Recording, segment: Segment, since_s: float, travel: Rest, channels: Channels) -> Stand | None:
    command, _ = _mean_of(recording.command_pct[recording.place(travel.from_s, travel.to_s)], channels.command)
    return Stand(segment, since_s, command, travel) if np.isfinite(command) else None


def _hunting_rest(recording: Recording, since_s: float, to_s: float, swing_s: float, channels: Channels) -> Rest | None:
    """The middle of a valve that swings and does not come to rest, with its swing in the uncertainty."""
    lasts_s = to_s - since_s
    swings = int(_ARRIVED_SHARE * lasts_s / swing_s) if swing_s > 0.0 else 0
    whole = recording.place(to_s - swings * swing_s if swings else since_s, to_s)
    times, travel = recording.time_s[whole], recording.travel_pct[whole]
    found = rest_of(times, travel, channels.travel, restless=True)
    if found is None or lasts_s < _LEAST_RESTLESS_S:
        return None
    if swings:
        known = travel[np.isfinite(travel)]
        part = known.size // 2 if swings > 1 else max(known.size // _OF_ONE_SWING, 1)
        drift = float(known[-part:].mean() - known[:part].mean()) / (1.0 if swings > 1 else 2.0)
        found = Rest(
            float(known.mean()), found.deviation, float(np.ptp(known)), drift, float(times[0]), found.to_s, known.size
        )
    if abs(found.drift) > _SWINGS_SHARE * found.spread:
        return None
    return replace(found, deviation=(found.deviation**2 + found.spread**2 / OF_UNIFORM) ** 0.5)


def _reading(recording: Recording, stand: Stand, channels: Channels, *, rising: bool, cycle: int) -> StaticReading:
    segment, travel = stand.segment, stand.travel
    tail = recording.place(travel.from_s, travel.to_s)
    whole = recording.place(segment.from_s, segment.to_s)
    drift, deviation = _drift(recording.time_s[whole], recording.travel_pct[whole], travel, channels.travel)
    to_go = still_to_go_pct(recording, travel, channels.travel, travel.from_s) / _OF_RECTANGLE
    of_travel = _with_drift(travel.deviation, travel.drift, channels.travel, travel.count)
    command, command_deviation = _mean_of(recording.command_pct[tail], channels.command)
    feedback_pct, feedback_deviation = _mean_of(recording.feedback_pct, channels.feedback, tail)
    return StaticReading(
        from_s=travel.from_s,
        at_s=segment.to_s,
        command_pct=command,
        command_deviation_pct=command_deviation,
        travel_pct=travel.value,
        travel_deviation_pct=float(np.hypot(of_travel, to_go)),
        travel_spread_pct=travel.spread,
        feedback_pct=feedback_pct,
        feedback_deviation_pct=float(np.hypot(feedback_deviation, to_go)),
        position_pct=_mean_of(recording.position_pct, channels.travel, tail)[0],
        rising=rising,
        cycle=cycle,
        drift_pct_per_min=drift,
        drift_deviation=deviation,
    )


def _mean_of(channel: FloatArray | None, noise: Noise, place: slice = slice(None)) -> tuple[float, float]:
    """Mean of a channel at rest, and its standard uncertainty by noise, step and drift."""
    if channel is None:
        return float("nan"), float("nan")
    known = channel[place][np.isfinite(channel[place])]
    if not known.size:
        return float("nan"), float("nan")
    half = known.size // 2
    drift = float(known[known.size - half :].mean() - known[:half].mean()) if half else 0.0
    return float(known.mean()), _with_drift(_ALIKE * noise.of_mean(known.size), drift, noise, known.size)


def _with_drift(deviation: float, drift: float, noise: Noise, count: int) -> float:
    """Standard uncertainty of a mean, with what its halves differ by, and what noise may have hidden of that."""
    hidden = _OF_HALVES * noise.deviation / count**0.5
    return float((deviation**2 + (drift**2 + hidden**2) / _OF_DRIFT) ** 0.5)


def _drift(time_s: FloatArray, travel: FloatArray, rest: Rest, noise: Noise) -> tuple[float, float]:
    """Slope of the travel over a hold and its standard deviation [% of travel per min]."""
    usable = np.isfinite(travel)
    times, values = time_s[usable], travel[usable]
    if times.size < _FEWEST or rest.deviation > max(noise.deviation, noise.quantum, _STILL_PCT, 2.0 * noise.wander):
        return float("nan"), float("nan")
    centred = times - times.mean()
    spread = float((centred * centred).sum())
    return float(_S_A_MIN * (centred * values).sum() / spread), _S_A_MIN * noise.deviation / spread**0.5
