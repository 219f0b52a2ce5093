"""Limit switches in a recording: where they make and break, and how far before the stop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Component, Quantity, Reliance
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.terms import mean_of, noise, sampling

End = Literal["closed", "open"]

BOUNCE_S: Final = 0.2  # House definition: a state that lasts longer is one
_SAME_STOP_PCT: Final = 0.3  # House definition: rests farther apart are on no stop
_RUN_ON_S: Final = 0.3  # House definition: a motor that the switch stops coasts no longer
_NEAR_END_PCT: Final = 5.0  # House definition: a switch should have made there
_FIT_S: Final = 0.06  # House definition: to either side; the switch may stop the motor
_SHORT: Final = 3  # House definition: samples of a bounce, at most
_FEWEST_FITTED: Final = 4  # House definition: fewer make no line
_FEWEST: Final = 5  # House definition: samples beyond a switch, to show a rest
_FEWEST_RESTING: Final = 3  # House definition: of them at the rest
_FARTHEST: Final = 0.02  # House definition: the quantile of the travel that stands for its end
_RESTING_PCT: Final = 0.05  # House definition: within which of the end the travel rests
_ONE_INTERVAL: Final = 1.01  # House definition: one sampling interval, with what its clock is off by
_PCT: Final = "% of travel"


@dataclass(frozen=True, slots=True)
class SwitchEvent:
    """A switch that changed: makes, or breaks."""

    end: End
    makes: bool
    at_s: float
    travel_pct: float
    half_width_pct: float  # by sampling
    deviation_pct: float  # by noise


def switch_events(recording: Recording, channels: Channels) -> tuple[SwitchEvent, ...]:
    """Every change of the limit switches, with the travel at it.

    Parameters
    ----------
    recording : Recording
    channels : Channels
        Noise of the recording.

    Returns
    -------
    tuple of SwitchEvent
        In order of time; without the columns, none. A change at a lost sample of the travel is left out.

    Notes
    -----
    **House definition**: the change lies in the middle between two samples; states shorter than 0.2 s are bounce;
    the travel there is on the straight line through 0.06 s to either side, or through the samples next to it: the
    switch itself may stop the motor.
    """
    events: list[SwitchEvent] = []
    columns: tuple[tuple[End, FloatArray | None], ...] = (
        ("closed", recording.closed_switch),
        ("open", recording.open_switch),
    )
    for end, column in columns:
        if column is not None:
            events += _events(recording, channels, end, column)
    return tuple(sorted(events, key=lambda each: each.at_s))


def _events(recording: Recording, channels: Channels, end: End, column: FloatArray) -> list[SwitchEvent]:
    known = np.flatnonzero(np.isfinite(column))
    if known.size < 2:
        return []
    times = recording.time_s[known]
    state = _without_bounce(times, column[known] > 0.5)
    events = []
    for place in np.flatnonzero(state[1:] != state[:-1]):
        left, right = int(known[place]), int(known[place + 1])
        from_s, to_s = float(recording.time_s[left]), float(recording.time_s[right])
        if recording.has_gap(from_s, to_s):
            continue
        travel = _travel_at(recording, channels, 0.5 * (from_s + to_s))
        if travel is None:
            continue
        value, speed, deviation = travel
        half_width = 0.5 * abs(speed) * (to_s - from_s)
        events.append(SwitchEvent(end, bool(state[place + 1]), 0.5 * (from_s + to_s), value, half_width, deviation))
    return events


def _without_bounce(
    times: FloatArray, made: np.ndarray[tuple[int], np.dtype[np.bool_]]
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    state = made.copy()
    for value in (True, False):
        for first, last in extents(state == value):
            inner = first > 0 and last < state.size - 1
            if inner and times[last + 1] - times[first] < BOUNCE_S and last - first < _SHORT:
                state[first : last + 1] = not value
    return state


def _travel_at(recording: Recording, channels: Channels, time_s: float) -> tuple[float, float, float] | None:
    """Travel at a time, its speed and its standard deviation."""
    reach = max(_FIT_S, _ONE_INTERVAL * recording.interval_s)
    place = recording.place(time_s - reach, time_s + reach)
    usable = np.isfinite(recording.travel_pct[place])
    times, travel = recording.time_s[place][usable], recording.travel_pct[place][usable]
    if times.size < 2 or not times[0] <= time_s <= times[-1]:
        return None
    nearest = np.argsort(np.abs(times - time_s), kind="stable")[:2]
    close = np.sort(nearest)
    speed = float((travel[close[1]] - travel[close[0]]) / (times[close[1]] - times[close[0]]))
    if times.size < _FEWEST_FITTED or channels.travel.deviation == 0.0:
        return float(np.interp(time_s, times, travel)), speed, channels.travel.deviation / 2.0**0.5
    centred = times - time_s
    start, slope = np.polynomial.polynomial.polyfit(centred, travel, 1)
    residual = float(((travel - start - slope * centred) ** 2).sum())
    scatter = max((residual / max(times.size - 2, 1)) ** 0.5, channels.travel.deviation)
    return float(start), float(slope), scatter / times.size**0.5


def switch_makes(events: Sequence[SwitchEvent], end: End) -> Quantity:
    """Mean position at which a switch makes, with where it breaks beside it.

    Returns
    -------
    Quantity
        [% of travel]. None where the switch never made.

    Notes
    -----
    **House definition**: the mean of all; the mean of the breaks stands beside it.
    """
    made = [_figure(each) for each in events if each.end == end and each.makes]
    if not made:
        return Quantity(None, f"the {end} switch never made while it was recorded")
    figure = mean_of(made, _PCT, with_scatter=False)
    breaks = [each.travel_pct for each in events if each.end == end and not each.makes]
    beside = {"times": float(len(made))} | ({"breaks_at_pct": float(np.mean(breaks))} if breaks else {})
    return replace(figure, beside=beside)


def switch_lead(
    recording: Recording, events: Sequence[SwitchEvent], motion: Motion, channels: Channels, end: End
) -> Quantity:
    """How far before the stop a switch makes; of several, the smallest.

    Parameters
    ----------
    recording, motion, channels
        The recording, its motions and its noise.
    events : sequence of SwitchEvent
        Of the recording.
    end : "closed" or "open"

    Returns
    -------
    Quantity
        [% of travel], positive where the switch makes first. None unless the travel goes on beyond the switch and
        comes to rest at one and the same place.

    Notes
    -----
    **House definition**: the travel rests on the stop where it goes on for 0.3 s and two samples after the switch
    made, so that the switch did not stop the motor, and where its rests beyond the switch agree within
    0.3 %. A valve whose switch stops the motor before the stop does not show the stop, and nothing is said.
    """
    sign = 1.0 if end == "closed" else -1.0
    rests = _rests_beyond(recording, events, motion, channels, end)
    pairs = [(event, rest) for event, rest, _ in rests]
    if not pairs:
        return Quantity(None, f"the travel was not recorded at rest beyond the {end} switch")
    least = max(_RUN_ON_S, 2.0 * recording.interval_s)
    if not any(run_on >= least for *_, run_on in rests):
        return Quantity(None, f"the motor stops where the {end} switch makes: the recording does not show the stop")
    stops = np.array([rest for _, rest in pairs])
    if float(np.ptp(stops)) > max(_SAME_STOP_PCT, 2.0 * channels.travel.band):
        return Quantity(
            None, f"beyond the {end} switch the travel rests at different places: it does not show the stop"
        )
    event, stop = min(pairs, key=lambda pair: sign * (pair[0].travel_pct - pair[1]))
    lead = sign * (event.travel_pct - stop)
    relies = (Reliance("travel", event.travel_pct, sign, 0), Reliance("travel", stop, -sign, 1))
    beside = {"makes_at_pct": event.travel_pct, "rests_at_pct": stop}
    return Quantity(lead, at_s=event.at_s, components=_figure(event).components, relies_on=relies, beside=beside)


def _rests_beyond(
    recording: Recording, events: Sequence[SwitchEvent], motion: Motion, channels: Channels, end: End
) -> list[tuple[SwitchEvent, float, float]]:
    """Each make of a switch, where the travel then rested, and for how long it still moved [s]."""
    own = [event for event in events if event.end == end]
    found = []
    for number, event in enumerate(own):
        if not event.makes:
            continue
        until = next((each.at_s for each in own[number + 1 :] if not each.makes), None)
        rest = _extreme(recording, event.at_s, until, 1.0 if end == "closed" else -1.0, channels)
        if rest is None:
            continue
        on = [each for each in range(len(motion)) if motion.from_s[each] <= event.at_s <= motion.to_s[each]]
        run_on = float(motion.to_s[on[-1]]) - event.at_s if on else 0.0
        found.append((event, rest, run_on))
    return found


def _extreme(
    recording: Recording, from_s: float, until_s: float | None, sign: float, channels: Channels
) -> float | None:
    """Where the travel rested farthest beyond a switch."""
    place = recording.place(from_s, float(recording.time_s[-1]) if until_s is None else until_s)
    usable = np.isfinite(recording.travel_pct[place])
    travel = sign * recording.travel_pct[place][usable]
    if travel.size < _FEWEST:
        return None
    least = float(np.quantile(travel, _FARTHEST))
    near = travel[travel <= least + max(2.0 * channels.travel.band, _RESTING_PCT)]
    return sign * float(np.median(near)) if near.size >= _FEWEST_RESTING else None


def _figure(event: SwitchEvent) -> Quantity:
    components: tuple[Component, ...] = (
        sampling(event.half_width_pct, _PCT, "travel between the samples at the switch"),
    )
    if event.deviation_pct > 0:
        components += (noise(event.deviation_pct, _PCT, "travel at the switch"),)
    return Quantity(
        event.travel_pct, at_s=event.at_s, components=components, relies_on=(Reliance("travel", event.travel_pct, 1.0),)
    )


def both_made(recording: Recording) -> tuple[float, float] | None:
    """The first stretch of time in which both switches are made at once; None: never.

    Notes
    -----
    **House definition**: for more than 0.2 s. Common practice, no source: it points to wiring, cam or sense.
    """
    if recording.closed_switch is None or recording.open_switch is None:
        return None
    both = (recording.closed_switch > 0.5) & (recording.open_switch > 0.5)
    for first, last in extents(both):
        if recording.time_s[last] - recording.time_s[first] >= BOUNCE_S:
            return float(recording.time_s[first]), float(recording.time_s[last])
    return None


def none_made_at_end(recording: Recording, end: End) -> bool:
    """Whether a switch that was recorded never made although the travel rested within 5 % of its end.

    Notes
    -----
    **House definition** of the 5 %; that a switch makes at its end is common practice, no source.
    """
    column = recording.closed_switch if end == "closed" else recording.open_switch
    if column is None or not np.isfinite(column).any() or np.nanmax(column) > 0.5:
        return False
    travel = recording.travel_pct if end == "closed" else 100.0 - recording.travel_pct
    return bool(np.nanmin(travel) < _NEAR_END_PCT)
