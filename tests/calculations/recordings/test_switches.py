"""Limit switches in a recording."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.switch_leads import switch_lead
from kit.calculations.recordings.switches import (
    End,
    SwitchEvent,
    both_made,
    none_made_at_end,
    switch_events,
    switch_makes,
)
from tests.calculations.recordings.made import later, mirrored, moved, resting, stalling, stroked

FILTERED = 5.0 * 0.03 / 3**0.5  # what 5 % a second makes in the 0.03 s of a sensor's filter


def events_of(recording: Recording) -> tuple[SwitchEvent, ...]:
    return switch_events(recording, channels_of(recording))


def lead_of(recording: Recording, end: End) -> Quantity:
    channels = channels_of(recording)
    return switch_lead(
        recording, switch_events(recording, channels), motion_of(recording, channels.travel), channels, end
    )


@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
def test_switches_make_where_they_are_set_and_lead_the_stop(noise_pct: float) -> None:
    recording = stroked(noise_pct)
    channels = channels_of(recording)
    events = switch_events(recording, channels)
    closed, opened = switch_makes(events, "closed"), switch_makes(events, "open")
    assert abs(closed.value - 1.5) <= 2.0 * closed.standard_uncertainty
    assert abs(opened.value - 98.0) <= 2.0 * opened.standard_uncertainty
    stalled = replace(recording, supply_v=stalling(stroked()).supply_v)
    lead = switch_lead(stalled, events, motion_of(recording, channels.travel), channels_of(stalled), "closed")
    assert abs(lead.value - 2.0) <= 2.0 * lead.standard_uncertainty + 0.02


def test_a_switch_that_stops_the_motor_shows_no_stop() -> None:
    recording = stroked(stop_pct=1.48)
    channels = channels_of(recording)
    events = switch_events(recording, channels)
    lead = switch_lead(recording, events, motion_of(recording, channels.travel), channels, "closed")
    assert lead.value is None
    assert "does not show the stop" in lead.why_not


def test_a_switch_that_never_makes_is_said_so() -> None:
    recording = stroked()
    dead = Recording(
        recording.time_s, recording.command_pct, recording.travel_pct, closed_switch=np.zeros(len(recording))
    )
    assert switch_makes(switch_events(dead, channels_of(dead)), "closed").value is None


def closing(makes_pct: float, stop_pct: float = 0.0, speed: float = 5.0, interval_s: float = 0.125) -> Recording:
    """From 50 % to the stop at 20 s, and back at 60 s; the closed switch makes at or below ``makes_pct``."""
    took = (50.0 - stop_pct) / speed
    made = moved(
        [0, 20, 20 + took, 60, 60 + took, 90],
        [50, 50, stop_pct, stop_pct, 50, 50],
        length_s=90.0,
        interval_s=interval_s,
    )
    closed = (made.travel_pct <= makes_pct).astype(float)
    return replace(made, closed_switch=closed, open_switch=np.zeros(len(made)))


@settings(max_examples=30)
@given(makes_pct=floats(1, 20), by_s=integers(0, 10**6), mirrors=booleans(), offset=floats(-3, 3))
def test_a_switch_is_found_where_it_makes_and_breaks(makes_pct: float, by_s: int, mirrors: bool, offset: float) -> None:
    """Within half of the way of a sample and of a bounce, 5 % a second over 0.125 and 0.02 s."""
    made = closing(makes_pct)
    made = replace(made, travel_pct=made.travel_pct + offset)
    made = later(mirrored(made) if mirrors else made, by_s)
    end: End = "open" if mirrors else "closed"
    makes, breaks = events_of(made)
    expected = 100.0 - makes_pct - offset if mirrors else makes_pct + offset
    assert (makes.end, makes.makes, breaks.end, breaks.makes) == (end, True, end, False)
    for event in (makes, breaks):
        assert event.half_width_pct == pytest.approx(5.0 * (0.125 + 0.02) / 2)
        assert abs(event.travel_pct - expected) <= event.half_width_pct + 1e-6
        assert event.deviation_pct == pytest.approx(FILTERED, rel=1e-4)
    assert makes.at_s - by_s == pytest.approx(20.0 + (50.0 - makes_pct) / 5.0, abs=0.07)
    figure = switch_makes((makes, breaks), end)
    assert figure.value == makes.travel_pct
    assert figure.beside == {"times": 1.0, "breaks_at_pct": breaks.travel_pct}
    assert switch_makes((makes, breaks), "closed" if mirrors else "open").value is None


def test_a_switch_by_hand() -> None:
    """Between 24.5 s at 27.5 % and 24.625 s at 26.875 %; at 5 % a second a bounce of 0.02 s begins 0.1 % sooner."""
    makes, _ = events_of(closing(27.4))
    assert makes.at_s == pytest.approx(24.5625)
    assert makes.travel_pct == pytest.approx((27.6 + 26.875) / 2.0)
    assert makes.half_width_pct == pytest.approx((27.6 - 26.875) / 2.0)


def test_noise_of_the_travel_makes_the_place_of_a_switch_uncertain() -> None:
    """At 100 samples a second, a line through 0.06 s to either side: twelve samples of the noise."""
    made = stroked()
    time = np.arange(0.0, 80.0, 0.01)
    travel = np.interp(time, made.time_s, made.travel_pct)
    noise = np.random.default_rng(3).normal(0.0, 0.05, time.size)
    recording = Recording(
        time,
        np.interp(time, made.time_s, made.command_pct),
        travel + noise,
        closed_switch=(travel <= 1.5).astype(float),
        open_switch=(travel >= 98.0).astype(float),
    )
    events = events_of(recording)
    assert len(events) == 4
    for event in events:
        assert 0.05 / 13**0.5 * 0.8 < event.deviation_pct < np.hypot(0.05, 1.2 * FILTERED)
        assert abs(event.travel_pct - (1.5 if event.end == "closed" else 98.0)) <= 4.0 * event.deviation_pct + 0.05
    components = switch_makes(events, "closed").components
    assert {each.name for each in components} == {
        "sampling, travel between the samples at the switch",
        "recorder, travel at the switch",
    }


def test_what_the_recorder_does_at_a_switch_is_no_less_for_being_repeated() -> None:
    """A filter that makes the travel late by 0.1 % makes it late each time."""
    one = SwitchEvent("closed", True, 10.0, 2.0, 0.01, 0.1)
    found = switch_makes([replace(one, at_s=10.0 * number) for number in range(1, 10)], "closed")
    named = {each.name: each.standard_uncertainty for each in found.components}
    assert named["recorder, travel at the switch"] == pytest.approx(0.1)


def test_a_line_through_four_samples_is_surer_than_two() -> None:
    """Every 0.03 s, five lie within 0.12 s before: 2 x 0.1 over the root of 5; every 0.05 s three make no line."""
    noise = Noise(0.1, 0.0)
    for interval_s, deviation in ((0.03, 2.0 * 0.1 / 5**0.5), (0.05, 0.1 / 2**0.5)):
        events = switch_events(closing(10.0, interval_s=interval_s), Channels(Noise(0.0, 0.0), noise, noise))
        assert [each.deviation_pct for each in events] == pytest.approx([np.hypot(deviation, FILTERED)] * 2, rel=1e-3)


@pytest.mark.parametrize(("samples", "kept"), [(1, False), (2, True), (3, True)])
def test_a_bounce_is_shorter_than_two_tenths_of_a_second(samples: int, kept: bool) -> None:
    """Samples of 0.125 s: one of them lasts 0.125 s, two of them 0.25 s."""
    made = closing(10.0)
    closed = made.closed_switch.copy()
    closed[100 : 100 + samples] = 1.0
    assert (len(events_of(replace(made, closed_switch=closed))) == 4) is kept


def test_a_bounce_is_quick_whatever_the_number_of_samples() -> None:
    """Samples of 0.01 s: a state of 0.19 s is one, of 0.2 s none."""
    made = closing(10.0, interval_s=0.01)
    for samples, kept in ((19, False), (20, True)):
        closed = made.closed_switch.copy()
        closed[500 : 500 + samples] = 1.0
        assert (len(events_of(replace(made, closed_switch=closed))) == 4) is kept


def test_a_switch_that_bounces_makes_at_its_first_contact() -> None:
    made = closing(10.0, interval_s=0.01)
    first = int(made.closed_switch.argmax())
    closed = made.closed_switch.copy()
    closed[first + 1 : first + 9] = closed[first + 10] = 0.0
    bounced, clean = (events_of(each) for each in (replace(made, closed_switch=closed), made))
    assert [each.at_s for each in bounced] == [each.at_s for each in clean]
    assert bounced[0].half_width_pct == pytest.approx(0.5 * 5.0 * (0.01 + 0.04))
    assert clean[0].half_width_pct == pytest.approx(0.5 * 5.0 * (0.01 + 0.02))


@pytest.mark.parametrize("interval_s", [1.0, 0.5, 0.1, 0.02, 0.01])
@pytest.mark.parametrize("coast_pct", [0.0, 0.2])
def test_a_switch_that_stops_the_motor_is_not_taken_for_an_early_one(interval_s: float, coast_pct: float) -> None:
    """Six runs at 5 % a second: the middle between the samples is early each time, and their mean no less so."""
    times, heights = [0.0], [50.0]
    for _ in range(6):
        at_s, took = times[-1] + 7.3, (50.0 - 2.0 + coast_pct) / 5.0
        times += [at_s, at_s + took, at_s + took + 8.0, at_s + 2.0 * took + 8.0]
        heights += [50.0, 2.0 - coast_pct, 2.0 - coast_pct, 50.0]
    made = moved(times, heights, length_s=times[-1], interval_s=interval_s)
    made = replace(made, closed_switch=(made.travel_pct <= 2.0).astype(float))
    noise = np.random.default_rng(8).normal(0.0, 0.01, len(made))
    found = switch_makes(events_of(replace(made, travel_pct=made.travel_pct + noise)), "closed")
    assert abs(found.value - 2.0) <= 2.0 * found.standard_uncertainty


def test_a_change_in_a_gap_or_at_a_lost_sample_of_the_travel_is_left_out() -> None:
    made = closing(27.4)
    makes, breaks = events_of(made)
    gone = replace(made, gaps=((makes.at_s - 0.05, makes.at_s + 0.05),))
    assert events_of(gone) == (breaks,)
    travel = made.travel_pct.copy()
    travel[np.abs(made.time_s - makes.at_s) < 0.3] = np.nan
    assert [each.makes for each in events_of(replace(made, travel_pct=travel))] == [False]
    assert events_of(replace(made, closed_switch=np.full(len(made), np.nan))) == ()
    assert events_of(replace(made, closed_switch=None, open_switch=None)) == ()


@pytest.mark.parametrize(("state", "made"), [(0.4, False), (0.6, True)])
def test_a_switch_is_made_above_a_half(state: float, made: bool) -> None:
    recording = closing(10.0)
    events = events_of(replace(recording, closed_switch=state * recording.closed_switch))
    assert (len(events) == 2) is made


@settings(max_examples=20)
@given(lead_pct=floats(1.5, 10), stop_pct=floats(-3, 3), mirrors=booleans(), by_s=integers(0, 10**6))
def test_a_lead_is_the_way_from_the_switch_to_the_stop(
    lead_pct: float, stop_pct: float, mirrors: bool, by_s: int
) -> None:
    made = stalling(closing(stop_pct + lead_pct, stop_pct))
    made = later(mirrored(made) if mirrors else made, by_s)
    found = lead_of(made, "open" if mirrors else "closed")
    assert abs(found.value - lead_pct) <= 0.3625 + 1e-6
    stop = 100.0 - stop_pct if mirrors else stop_pct
    assert found.beside["rests_at_pct"] == pytest.approx(stop)
    sign = -1.0 if mirrors else 1.0
    assert found.value == pytest.approx(sign * (found.beside["makes_at_pct"] - stop))
    assert found.relies_on == (
        Reliance("travel", pytest.approx(found.beside["makes_at_pct"]), sign, 0),
        Reliance("travel", pytest.approx(stop), -sign, 1),
    )
    assert found.at_s - by_s == pytest.approx(20.0 + (50.0 - stop_pct - lead_pct) / 5.0, abs=0.07)


@pytest.mark.parametrize(("lead_pct", "told"), [(1.0, False), (2.0, True)])
def test_the_motor_runs_on_for_three_tenths_of_a_second(lead_pct: float, told: bool) -> None:
    """At 5 % a second: 0.2 s and 0.4 s."""
    found = lead_of(stalling(closing(lead_pct, interval_s=0.05)), "closed")
    assert (found.value is not None) is told
    assert told or found.why_not.startswith("the motor stops where the closed switch makes")


@pytest.mark.parametrize(("second_pct", "told"), [(0.25, True), (0.35, False)])
def test_rests_beyond_a_switch_agree_within_three_tenths_of_a_percent(second_pct: float, told: bool) -> None:
    made = moved([0, 10, 20, 40, 50, 60, 70, 110], [50, 50, 0, 0, 50, 50, second_pct, second_pct], length_s=110.0)
    made = replace(made, closed_switch=(made.travel_pct <= 5.0).astype(float))
    found = lead_of(stalling(made), "closed")
    assert (found.value is not None) is told
    if told:  # the smallest of the two
        assert found.value == pytest.approx(5.0 - second_pct, abs=0.26)
        assert found.beside["rests_at_pct"] == pytest.approx(second_pct)
    else:
        assert "rests at different places" in found.why_not


def test_a_switch_that_makes_as_the_recording_ends_shows_no_rest() -> None:
    made = closing(10.0)
    short = made.time_s < 28.4
    cut = Recording(made.time_s[short], made.command_pct[short], made.travel_pct[short],
                    closed_switch=made.closed_switch[short])  # fmt: skip
    found = lead_of(cut, "closed")
    assert found.why_not == "the travel was not recorded at rest beyond the closed switch"
    assert "never" not in found.why_not
    assert lead_of(made, "open").why_not == "the travel was not recorded at rest beyond the open switch"


@pytest.mark.parametrize(("samples", "told"), [(2, False), (3, True)])
def test_both_switches_made_for_two_tenths_of_a_second_are_told(samples: int, told: bool) -> None:
    """Samples of 0.1 s; of two, the last is 0.1 s after the first."""
    closed, opened = np.zeros(600), np.zeros(600)
    closed[100:200] = 1.0
    opened[150 : 150 + samples] = 1.0
    made = replace(resting(np.full(600, 50.0), 0.1), closed_switch=closed, open_switch=opened)
    found = both_made(made)
    assert found == (pytest.approx((15.0, 15.0 + 0.1 * (samples - 1))) if told else None)
    assert both_made(replace(made, open_switch=None)) is None
    assert both_made(replace(made, closed_switch=None)) is None
    assert both_made(replace(made, open_switch=0.4 * opened)) is None


@pytest.mark.parametrize(("reaches_pct", "told"), [(4.9, True), (5.1, False)])
@pytest.mark.parametrize("end", ["closed", "open"])
def test_a_switch_that_never_made_at_its_end_is_told(reaches_pct: float, told: bool, end: End) -> None:
    travel = np.interp(np.arange(600), [0, 300, 600], [50, reaches_pct, 50])
    made = replace(resting(travel, 0.1), closed_switch=np.zeros(600), open_switch=np.zeros(600))
    made = mirrored(made) if end == "open" else made
    assert none_made_at_end(made, end) is told
    assert not none_made_at_end(made, "closed" if end == "open" else "open")
    column = {f"{end}_switch": (np.arange(600) == 300).astype(float)}
    assert not none_made_at_end(replace(made, **column), end)
    assert not none_made_at_end(replace(made, **{f"{end}_switch": None}), end)
    assert not none_made_at_end(replace(made, **{f"{end}_switch": np.full(600, np.nan)}), end)


def test_what_sampling_leaves_open_is_the_way_between_the_two_samples_of_the_change() -> None:
    """Down to sample 200 at 5 % a second, every 0.03 s, and there the switch stops the motor: the next is as high.

    Half of the 0.1 % that a bounce of 0.02 s takes comes on top.
    """
    time = np.arange(0.0, 12.0, 0.03)
    travel = np.maximum(40.0 - 5.0 * time, 40.0 - 5.0 * time[200])
    closed = (np.arange(time.size) > 200).astype(float)
    still, moving = (Recording(time, travel, travel, closed_switch=np.roll(closed, by)) for by in (0, -1))
    noise = Noise(0.0, 0.0)
    for recording, half_width in ((still, 0.05), (moving, 0.5 * 5.0 * 0.03 + 0.05)):
        (event,) = (each for each in switch_events(recording, Channels(noise, noise, noise)) if each.makes)
        assert event.half_width_pct == pytest.approx(half_width, abs=1e-9)


def test_a_travel_that_rests_where_it_was_told_to_shows_no_stop() -> None:
    """Down to 0 % of command, beyond the switch, twice: that the motor stalled there nothing says."""
    levels = [50.0, 50.0, 0.0, 0.0, 50.0, 50.0, 0.0, 0.0]
    made = moved([0, 10, 20, 40, 50, 60, 70, 110], levels, length_s=110.0)
    command = np.where((made.time_s >= 10) & (made.time_s < 40) | (made.time_s >= 60), 0.0, 50.0)
    made = replace(made, command_pct=command, closed_switch=(made.travel_pct <= 5.0).astype(float))
    channels = channels_of(made)
    parts = switch_events(made, channels), motion_of(made, channels.travel), channels, "closed"
    told = switch_lead(made, *parts)
    assert "nothing shows that the travel beyond the closed switch rests on its stop" in told.why_not
    idle = replace(made, supply_v=np.where(np.gradient(made.travel_pct) != 0.0, 22.0, 24.0))
    assert switch_lead(idle, *parts).value is None
    assert switch_lead(stalling(made), *parts).value == pytest.approx(5.0, abs=0.3)


def past_its_switch(parts: list[tuple[float, float]]) -> Recording:
    """Down to -1 % at 5 % a second, past a switch at 5 %, and then as told."""
    made = moved(*(list(each) for each in zip((0, 50), (10, 50), (20.2, -1), *parts, strict=True)), length_s=60.0)
    return replace(made, closed_switch=(made.travel_pct <= 5.0).astype(float))


@pytest.mark.parametrize("pauses_s", [0.0, 0.2, 0.4])
def test_a_motor_that_turns_back_beyond_its_switch_does_not_stall(pauses_s: float) -> None:
    """It overshoots, and a second start, in which the supply is low again, brings it back."""
    back = past_its_switch([(20.2 + pauses_s, -1.0), (21.2 + pauses_s, 0.0), (60.0, 0.0)])
    runs = (back.time_s >= 10.0) & (back.time_s < 21.2 + pauses_s)
    channels = channels_of(back)
    parts = switch_events(back, channels), motion_of(back, channels.travel), channels, "closed"
    assert switch_lead(replace(back, supply_v=np.where(runs, 22.0, 24.0)), *parts).value is None


def test_a_motor_that_was_off_before_it_came_to_rest_does_not_stall() -> None:
    """It coasts beyond its switch, and takes up its play the other way 0.2 s later, in which nothing moves."""
    rests = past_its_switch([(60.0, -1.0)])
    runs = (rests.time_s >= 10.0) & (rests.time_s < 19.4) | (rests.time_s >= 20.2) & (rests.time_s < 22.0)
    channels = channels_of(rests)
    parts = switch_events(rests, channels), motion_of(rests, channels.travel), channels, "closed"
    assert switch_lead(replace(rests, supply_v=np.where(runs, 22.0, 24.0)), *parts).value is None
    runs = (rests.time_s >= 10.0) & (rests.time_s < 22.0)
    assert switch_lead(replace(rests, supply_v=np.where(runs, 22.0, 24.0)), *parts).value == pytest.approx(6.0, abs=0.3)
