"""Static readings out of the holds of a recording."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.holds import StaticReading, static_readings
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.segments import cut_recording
from tests.calculations.recordings.made import later, mirrored, noisy, programme, resting, same, walked, whole

UNSETTLED = "the travel did not come to rest: hold it longer"


def readings_of(recording: Recording) -> tuple[StaticReading, ...]:
    channels = channels_of(recording)
    return static_readings(recording, cut_recording(recording, same, channels), channels).readings


def test_static_readings_say_from_where_the_command_came() -> None:
    recording = walked(0.1, 0.02)
    channels = channels_of(recording)
    readings = static_readings(recording, cut_recording(recording, same, channels), channels).readings
    assert [(round(each.command_pct), each.rising, each.cycle) for each in readings] == [
        (0, True, 1),
        (25, True, 1),
        (50, True, 1),
        (75, True, 1),
        (100, True, 1),
        (50, False, 1),
        (0, False, 1),
        (100, True, 2),
        (0, False, 2),
        (50, True, 3),
        (60, True, 3),
    ]
    assert all(abs(each.travel_pct - each.command_pct) < 0.02 for each in readings)


@settings(max_examples=10)
@given(by_s=integers(0, 10**6), mirrors=booleans(), offset=floats(-3, 3))
def test_readings_follow_the_clock_the_offset_and_the_mirror(by_s: int, mirrors: bool, offset: float) -> None:
    """An offset of the feedback is an offset of the feedback, and of nothing else."""
    recording = walked(0.25, 0.02)
    recording = replace(recording, feedback_pct=recording.travel_pct + 1.0)
    other = later(mirrored(recording) if mirrors else recording, by_s)
    other = replace(other, feedback_pct=other.feedback_pct + offset)
    for one, two in zip(readings_of(recording), readings_of(other), strict=True):
        sign = -1.0 if mirrors else 1.0
        at = (lambda value: 100.0 - value) if mirrors else (lambda value: value)
        assert two.at_s == pytest.approx(one.at_s + by_s, abs=1e-6)
        assert two.command_pct == pytest.approx(at(one.command_pct), abs=1e-6)
        assert two.travel_pct == pytest.approx(at(one.travel_pct), abs=1e-6)
        assert two.position_pct == pytest.approx(at(one.position_pct), abs=1e-6)
        assert two.feedback_pct == pytest.approx(at(one.feedback_pct) + offset, abs=1e-6)
        assert two.rising is (one.rising is not mirrors)
        assert two.drift_pct_per_min == pytest.approx(sign * one.drift_pct_per_min, abs=1e-6, nan_ok=True)
        assert (two.travel_spread_pct, two.travel_deviation_pct) == pytest.approx(
            (one.travel_spread_pct, one.travel_deviation_pct), abs=1e-6
        )


def test_a_channel_that_was_not_recorded_is_nan() -> None:
    recording = replace(walked(0.1, 0.0), position_pct=None)
    assert all(np.isnan(each.position_pct) and np.isnan(each.feedback_pct) for each in readings_of(recording))
    lost = replace(recording, feedback_pct=np.full(len(recording), np.nan))
    assert all(np.isnan(each.feedback_pct) for each in readings_of(lost))


@pytest.mark.parametrize(("step_pct", "count"), [(2.9, 0), (3.1, 2)])
def test_a_hold_that_the_command_came_to_by_less_than_three_percent_is_left_out(step_pct: float, count: int) -> None:
    time, command = programme([(2.0, 30.0), (2.0 + step_pct, 30.0)])
    readings = readings_of(Recording(time, command, command.copy()))
    assert len(readings) == count
    assert all(each.rising for each in readings)


def test_a_lone_hold_came_from_nowhere() -> None:
    assert readings_of(resting(np.full(600, 50.0), 0.1)) == ()


def test_cycles_are_counted_where_the_command_rises_again() -> None:
    levels = [(4.0, 20.0), (60.0, 20.0), (30.0, 20.0), (10.0, 20.0), (60.0, 20.0), (20.0, 20.0), (40.0, 20.0)]
    time, command = programme(levels)
    found = [(each.rising, each.cycle) for each in readings_of(Recording(time, command, command.copy()))]
    assert found == [(True, 1), (True, 1), (False, 1), (False, 1), (True, 2), (False, 2), (True, 3)]


@pytest.mark.parametrize(("lost_samples", "count"), [(1, 2), (2, 0)])
def test_nobody_knows_how_a_command_came_back_from_a_loss(lost_samples: int, count: int) -> None:
    """One lost sample on the way is none; two are."""
    time, command = programme([(4.0, 20.0), (60.0, 20.0)])
    lost = np.zeros(time.size, dtype=bool)
    lost[200 : 200 + lost_samples] = True
    recording = Recording(time, command, command.copy(), signal_lost=lost)
    segments = (Segment("hold", 0.0, 19.8), Segment("hold", 20.5, 39.9))
    assert len(static_readings(recording, segments, channels_of(recording)).readings) == count


def test_segments_out_of_order_and_of_other_kinds_are_sorted_out() -> None:
    time, command = programme([(4.0, 20.0), (60.0, 20.0)])
    recording = Recording(time, command, command.copy())
    segments = (Segment("hold", 20.5, 39.9), Segment("step", 15.0, 39.9), Segment("hold", 0.0, 19.8))
    found = static_readings(recording, segments, channels_of(recording)).readings
    assert [round(each.command_pct) for each in found] == [4, 60]
    assert [each.at_s for each in found] == [19.8, 39.9]


def test_a_creep_over_a_hold_is_its_drift() -> None:
    """0.002 % a second are 0.12 % a minute; by least squares its deviation is 60 s / root of the times' squares."""
    time, command = programme([(4.0, 40.0), (60.0, 40.0)])
    travel = noisy(command + 0.002 * time, 0.01)
    last = readings_of(Recording(time, command, travel))[-1]
    assert abs(last.drift_pct_per_min - 0.12) < 4.0 * last.drift_deviation
    squares = 0.1**2 * 400 * (400**2 - 1) / 12
    assert last.drift_deviation == pytest.approx(60.0 * 0.01 / squares**0.5, rel=0.2)


@pytest.mark.parametrize("seconds", [9.0, 20.0])
def test_a_valve_that_swings_about_a_hold_of_ten_seconds_gives_its_middle(seconds: float) -> None:
    """A swing of 2 % peak to peak: its middle, uncertain by 2 / root of 12, and no drift."""
    count = round(seconds / 0.1)
    time = np.arange(0.0, 40.0 + seconds, 0.1)
    command = np.where(time < 40.0, 4.0, 60.0)
    swing = np.where(time >= 40.0, np.sin(2 * np.pi * time / 2.5), 0.0)
    recording = Recording(time, command, command + swing)
    segments = (Segment("hold", 0.0, 39.8), Segment("hold", 40.0, float(time[-1])))
    found = static_readings(recording, segments, channels_of(recording)).readings
    if seconds < 10.0:
        assert found == ()
        return
    assert count == 200
    assert found[1].travel_pct == pytest.approx(60.0, abs=0.05)
    assert found[1].travel_spread_pct == pytest.approx(2.0, abs=0.05)
    assert found[1].travel_deviation_pct == pytest.approx(2.0 / 12**0.5, rel=0.1)
    assert np.isnan(found[1].drift_pct_per_min)
    assert np.isnan(found[1].drift_deviation)


def test_a_valve_on_its_way_gives_no_reading() -> None:
    """0.1 % a second all through the hold."""
    time, command = programme([(4.0, 40.0), (60.0, 40.0)])
    travel = np.where(time < 40.0, 4.0, 55.0 + 0.1 * (time - 40.0))
    recording = Recording(time, command, travel)
    segments = (Segment("hold", 0.0, 39.8), Segment("hold", 40.0, 79.9))
    found = static_readings(recording, segments, channels_of(recording))
    assert found.readings == ()
    assert [(each.from_s, each.why) for each in found.left_out][1] == (
        40.0,
        "the travel did not come to rest: hold it longer",
    )
    assert whole(recording).to_s == pytest.approx(79.9)


def test_a_hold_of_three_samples_has_a_drift() -> None:
    """Every 2 s: 60, 60.02 and 60.04 %, 0.01 % a second, 0.6 % a minute."""
    time = np.arange(0.0, 40.0, 2.0)
    command = np.where(time < 20.0, 4.0, 60.0)
    travel = command + np.where(time >= 30.0, 0.01 * (time - 30.0), 0.0)
    segments = (Segment("hold", 0.0, 18.0), Segment("hold", 30.0, 34.0))
    noise = Noise(0.02, 0.0)
    recording = Recording(time, command, travel)
    last = static_readings(recording, segments, Channels(Noise(0.0, 0.0), noise, noise)).readings[-1]
    assert last.drift_pct_per_min == pytest.approx(0.6)
    assert last.drift_deviation == pytest.approx(60.0 * 0.02 / 8.0**0.5)


@pytest.mark.parametrize("interval_s", [0.01, 0.02, 0.1, 0.5])
@pytest.mark.parametrize("speed_pct_s", [0.3, 1.0, 3.0])
def test_a_slow_valve_in_short_holds_gives_no_reading_and_each_is_told(interval_s: float, speed_pct_s: float) -> None:
    """Steps of 25 % held for 3 s: it is on its way all the time, and never at a command."""
    time, command = programme(
        [(0.0, 20.0), (25.0, 3.0), (50.0, 3.0), (75.0, 3.0), (100.0, 20.0)], interval_s=interval_s
    )
    travel = np.minimum(np.maximum(time - 20.0, 0.0) * speed_pct_s, 100.0)
    recording = Recording(time, command, noisy(travel, 0.02))
    segments = [Segment("hold", start + 2.0 * interval_s, start + 2.9) for start in (20.0, 23.0, 26.0)]
    found = static_readings(recording, [Segment("hold", 0.0, 19.9), *segments], channels_of(recording))
    assert [each.command_pct for each in found.readings if each.command_pct > 0.0] == []
    assert [each.why for each in found.left_out][-3:] == [UNSETTLED] * 3


def test_what_the_command_and_the_feedback_are_uncertain_by_is_in_a_reading() -> None:
    """200 samples of which 100 are averaged: 1.2 x 0.05 / 10; a tenth of a step of 0.4 % / root of 12 at least."""
    time, command = programme([(0.0, 20.0), (60.0, 20.0)])
    recording = Recording(
        time,
        noisy(command, 0.05),
        noisy(command, 0.02),
        feedback_pct=np.round(noisy(command, 0.2, 7) / 0.4) * 0.4,
    )
    last = readings_of(recording)[-1]
    assert last.command_deviation_pct == pytest.approx(0.006, rel=0.5)
    assert last.feedback_deviation_pct >= 0.1 * 0.4 / 12**0.5
    assert last.travel_deviation_pct == pytest.approx(0.0024, rel=0.6)


def test_what_a_travel_drifts_by_is_in_its_uncertainty() -> None:
    """0.001 % a second, up to the end: the mean lies behind the end by what its halves differ by, 0.005 % of 10 s."""
    time, command = programme([(0.0, 20.0), (60.0, 40.0)])
    travel = command + np.where(time > 20.0, 0.001 * (time - 60.0), 0.0)
    found = [readings_of(Recording(time, command, noisy(travel, 0.02, number)))[-1] for number in range(40)]
    held = [abs(each.travel_pct - 60.0) < 2.0 * each.travel_deviation_pct for each in found]
    assert np.mean(held) >= 0.93
    assert np.median([each.travel_deviation_pct for each in found]) < 0.015


def test_a_valve_that_swings_in_other_holds_has_no_rest_at_the_turn_of_a_swing() -> None:
    """Swings of 4 % and 24 s; the second hold, of 13 s, ends at a turn, of which 2 s are flat, and shows no other."""
    time, command = programme([(0.0, 20.0), (50.0, 60.0), (70.0, 13.0), (50.0, 60.0)])
    swing = np.where(time >= 20.0, 2.0 * np.sin(2 * np.pi * (time - 20.0) / 24.0), 0.0)
    swing[(time >= 80.0) & (time < 93.0)] = -2.0 * np.cos(np.pi * (time[(time >= 80.0) & (time < 93.0)] - 80.0) / 13.0)
    found = readings_of(Recording(time, noisy(command, 0.01), noisy(command + swing, 0.02)))
    middles = [each for each in found if each.command_pct > 40.0]
    assert middles
    assert all(abs(each.travel_pct - each.command_pct) < 2.0 * each.travel_deviation_pct for each in middles)
    assert all(each.travel_deviation_pct > 0.5 for each in middles)
