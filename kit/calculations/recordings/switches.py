"""Limit switches in a recording: where they make and break."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import hypot
from typing import Final, Literal

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.quantity import Component, Quantity, Reliance
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.terms import mean_of, recorder, sampling

End = Literal["closed", "open"]

BOUNCE_S: Final = 0.2  # House definition: a state that lasts longer is one
_NEAR_END_PCT: Final = 5.0  # House definition: a switch should have made there
_FIT_S: Final = 0.12  # House definition: before the change; the switch may stop the motor
_STEADY: Final = 2.0  # House definition: times the noise, within which the travel before went steadily
_AT_THE_END: Final = 2.0  # of a straight line the end is as uncertain as twice its middle: any textbook of statistics
_BOUNCES_S: Final = 0.02  # House definition: a contact bounces for as long, and a sample may fall between two touches
_FILTERS_S: Final = 0.03  # House definition: a position is shown late by the filter of its sensor, and by no more
_HIDDEN: Final = 4.0  # House definition: samples; one in sixteen bounces shows none of so many touches
_ROUNDING_S: Final = 1e-9  # House definition: times that are alike differ by rounding
_FEWEST_FITTED: Final = 4  # House definition: fewer make no line
_NO_STOP: Final = (
    "nothing shows that the travel beyond the {} switch rests on its stop and not where it was told to: record the "
    "supply, or type stop_at_pct"
)
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
    **House definition**: the change lies in the middle between two samples; states shorter than 0.2 s are bounce, and
    a switch changes at its first contact. The travel there lies half-way between the sample before, or as much sooner
    as contacts bounce (0.02 s, or what the column shows, four samples at most), and the one after: by the straight line
    through the 0.12 s before where that has four samples, since the switch itself may stop the motor, and then no
    farther than the sample after. Its uncertainty holds what the travel makes in 0.03 s, by which its sensor may be
    late.
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
    made = column[known] > 0.5
    changes = _changes(recording.time_s[known], made)
    bounces_s = max((each.bounces_s for each in changes), default=0.0)
    bounces_s = max(_BOUNCES_S, min(bounces_s, _HIDDEN * recording.interval_s))
    events = []
    for each in changes:
        left, right = int(known[each.right - 1]), int(known[each.right])
        from_s, to_s = float(recording.time_s[left]), float(recording.time_s[right])
        if recording.has_gap(from_s, to_s):
            continue
        found = _travel_between(recording, channels, left, right, bounces_s)
        if found is not None:
            value, half_width = 0.5 * (found.before + found.after), 0.5 * abs(found.after - found.before)
            at_s = 0.5 * (from_s + to_s)
            events.append(SwitchEvent(end, bool(made[each.right]), at_s, value, half_width, found.deviation))
    return events


@dataclass(frozen=True, slots=True)
class _Change:
    """A change of a switch: its first sample, and for how long it bounces then [s]."""

    right: int
    bounces_s: float


def _changes(times: FloatArray, made: BoolArray) -> list[_Change]:
    """Where a switch changes for good, at its first contact; what comes back within 0.2 s is bounce."""
    starts = np.flatnonzero(made[1:] != made[:-1]) + 1
    lasts = np.diff(times[starts], append=np.inf)
    found, first = list[_Change](), 0
    for number in np.flatnonzero(lasts >= BOUNCE_S - _ROUNDING_S).tolist():
        if (number - first) % 2 == 0:  # an odd number of changes: it is another state than before
            found.append(_Change(int(starts[first]), float(times[starts[number]] - times[starts[first]])))
        first = number + 1
    return found


@dataclass(frozen=True, slots=True)
class _Between:
    """Travel at the sample before a change of a switch and at the one after, and its standard deviation."""

    before: float  # or where its contact may have touched first
    after: float
    deviation: float


def _travel_between(
    recording: Recording, channels: Channels, left: int, right: int, bounces_s: float
) -> _Between | None:
    """None where the travel was not recorded at either sample, nor at the one next to it."""
    times, travel, noise_seen = recording.time_s, recording.travel_pct, channels.travel
    left = left if np.isfinite(travel[left]) else max(left - 1, 0)
    right = right if np.isfinite(travel[right]) else min(right + 1, travel.size - 1)
    before, after = float(travel[left]), float(travel[right])
    if not np.isfinite(before + after):
        return None
    place = recording.place(float(times[left]) - _FIT_S, float(times[left]))
    usable = np.isfinite(travel[place])
    since, lead = times[place][usable] - times[left], travel[place][usable]
    if since.size >= _FEWEST_FITTED and noise_seen.deviation > 0.0:
        level, slope = (float(each) for each in np.polynomial.polynomial.polyfit(since, lead, 1))
        scatter = float(np.sqrt(((lead - level - slope * since) ** 2).sum() / (since.size - 2)))
        if scatter <= _STEADY * noise_seen.deviation:
            goes = slope * float(times[right] - times[left])
            least, most = sorted((0.0, after - level + float(np.sign(goes)) * noise_seen.band))
            deviation = _AT_THE_END * max(scatter, noise_seen.deviation) / float(since.size) ** 0.5
            deviation = hypot(max(deviation, noise_seen.of_mean(since.size)), slope * _FILTERS_S / 3.0**0.5)
            return _Between(level - slope * bounces_s, level + float(np.clip(goes, least, most)), deviation)
    came = before - float(travel[left - 1]) if left > 0 and np.isfinite(travel[left - 1]) else 0.0
    bounced = came * bounces_s / recording.interval_s if abs(came) > noise_seen.band else 0.0
    lags = (after - before) / float(times[right] - times[left]) * _FILTERS_S / 3.0**0.5
    return _Between(before - bounced, after, hypot(noise_seen.of_mean(2), lags))


def switch_makes(events: Sequence[SwitchEvent], end: End) -> Quantity:
    """Mean position at which a switch makes, with where it breaks beside it.

    Returns
    -------
    Quantity
        [% of travel]. None where the switch never made.

    Notes
    -----
    **House definition**: the mean of all; the mean of the breaks stands beside it. What sampling leaves open is
    no less for being repeated: where the switch stops the motor, the middle between the samples is early each time.
    Nor is what the recorder does: its filters make the travel late each time, and its step is the same at one place.
    """
    own = [each for each in events if each.end == end and each.makes]
    if not own:
        return Quantity(None, f"the {end} switch never made while it was recorded")
    made = [switch_figure(each) for each in own]
    figure = mean_of(made, _PCT, with_scatter=False)
    common = _by_sampling(max(each.half_width_pct for each in own))
    rest = [each for each in figure.components if each.name != common.name]
    figure = replace(figure, components=(common, *rest))
    breaks = [each.travel_pct for each in events if each.end == end and not each.makes]
    beside = {"times": float(len(made))} | ({"breaks_at_pct": float(np.mean(breaks))} if breaks else {})
    return replace(figure, beside=beside)


def switch_figure(event: SwitchEvent) -> Quantity:
    """The travel at one change of a switch [% of travel]. House definition."""
    components: tuple[Component, ...] = (_by_sampling(event.half_width_pct),)
    if event.deviation_pct > 0:
        components += (recorder(event.deviation_pct, _PCT, "travel at the switch"),)
    return Quantity(
        event.travel_pct, at_s=event.at_s, components=components, relies_on=(Reliance("travel", event.travel_pct, 1.0),)
    )


def _by_sampling(half_width_pct: float) -> Component:
    return sampling(half_width_pct, _PCT, "travel between the samples at the switch")


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
