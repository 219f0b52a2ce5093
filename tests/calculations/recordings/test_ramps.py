"""Ramps: their rise, rate and command, and the dead band from the plateau at the turn."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.ramps import Delays, command_at, plateau_trials, rate_of, travel_rise
from kit.calculations.recordings.trials import Trial
from tests.calculations.recordings.made import later, mirrored, noisy, with_play

TIME_S = np.arange(0.0, 10.0, 0.1)
RAMP = Segment("ramp_up", 2.0, 6.0)


def test_a_ramp_gives_its_rise_its_rate_and_its_command():
    """2 % a second for 4 s, by hand: 8 % of travel, less one sample in each mean of a fiftieth; 10 % at 5 s."""
    recording = Recording(TIME_S, 2.0 * TIME_S, 2.0 * TIME_S)
    assert travel_rise(recording, RAMP) == pytest.approx(8.0, abs=0.21)
    assert rate_of(recording, RAMP) == pytest.approx(2.0)
    assert command_at(recording, 5.0) == pytest.approx(10.0)


def test_a_ramp_of_lost_samples_has_neither_rise_nor_rate():
    lost = np.full_like(TIME_S, np.nan)
    recording = Recording(TIME_S, lost, lost)
    assert travel_rise(recording, RAMP) is None
    assert rate_of(recording, RAMP) is None
    assert math.isnan(command_at(recording, 5.0))


@given(rate=floats(-5, 5), start=floats(0, 100), by_s=integers(0, 10**6), time_s=floats(1, 9))
def test_a_straight_ramp_gives_its_line_at_every_time(rate: float, start: float, by_s: int, time_s: float) -> None:
    time = np.arange(0.0, 10.0, 0.125)
    recording = later(Recording(time, start + rate * time, start + rate * time), by_s)
    assert command_at(recording, time_s + by_s) == pytest.approx(start + rate * time_s, abs=1e-6)
    ramp = Segment("ramp_up", 2.0 + by_s, 6.0 + by_s)
    assert rate_of(recording, ramp) == pytest.approx(rate, abs=1e-6)
    assert travel_rise(recording, ramp) == pytest.approx(4.0 * rate, abs=1e-6)


def test_the_ends_of_a_ramp_are_means_of_a_fiftieth() -> None:
    """1 % a second for 20 s every 0.1 s: 201 samples, four at each end; their means lie 19.7 s apart."""
    time = np.arange(0.0, 40.0, 0.1)
    recording = Recording(time, time, time)
    assert travel_rise(recording, Segment("ramp_up", 5.0 - 1e-9, 25.0 + 1e-9)) == pytest.approx(19.7)


def test_a_command_is_known_where_it_was_recorded_within_half_a_second() -> None:
    """From a line through eleven samples, which halves no jump; of fewer than four, between two of them."""
    command = np.where(TIME_S < 5.0, 0.0, 10.0)
    gone = np.where((TIME_S > 3.0) & (TIME_S < 7.0), np.nan, command)
    recording = Recording(TIME_S, gone, gone)
    assert math.isnan(command_at(recording, 4.6))
    assert command_at(recording, 3.4) == 0.0
    few = np.where(np.isin(np.arange(100), [46, 54]), TIME_S, np.nan)
    assert command_at(Recording(TIME_S, few, few), 5.0) == pytest.approx(5.0)


def test_a_single_sample_has_no_rate_and_no_rise() -> None:
    one = np.where(np.arange(100) == 40, 5.0, np.nan)
    two = np.where(np.isin(np.arange(100), [30, 50]), TIME_S, np.nan)
    assert rate_of(Recording(TIME_S, one, one), RAMP) is None
    assert travel_rise(Recording(TIME_S, one, one), RAMP) is None
    assert rate_of(Recording(TIME_S, two, two), RAMP) == pytest.approx(1.0)
    assert travel_rise(Recording(TIME_S, two, two), RAMP) == pytest.approx(2.0)


def triangle(dead_band_pct: float, delay_s: float = 0.0, interval_s: float = 0.125) -> Recording:
    """0.5 % a second up for 40 s from 20 s on, and back, with play; the travel comes later by the delay."""
    time = np.arange(0.0, 120.0, interval_s)
    command = np.interp(time, [0, 20, 60, 100, 120], [40, 40, 60, 40, 40])
    return Recording(time, command, np.interp(time - delay_s, time, with_play(command, dead_band_pct)))


THERE, BACK = Segment("ramp_up", 20.0, 60.0), Segment("ramp_down", 60.0, 100.0)


def plateau(recording: Recording, delays: Delays, by_s: float = 0.0) -> Trial:
    there, back = (Segment(each.what, each.from_s + by_s, each.to_s + by_s) for each in (THERE, BACK))
    (trial,) = plateau_trials(recording, there, back, delays)
    return trial


@settings(max_examples=25)
@given(
    dead_band_pct=floats(0.3, 4),
    delay_s=sampled_from([0.0, 0.5, 2.0]),
    by_s=integers(0, 10**6),
    mirrors=booleans(),
    offset=floats(-5, 5),
)
def test_a_plateau_is_as_wide_as_the_play_whatever_the_delay(
    dead_band_pct: float, delay_s: float, by_s: int, mirrors: bool, offset: float
) -> None:
    made = triangle(dead_band_pct, delay_s)
    made = Recording(made.time_s, made.command_pct, made.travel_pct + offset)
    found = plateau(later(mirrored(made) if mirrors else made, by_s), Delays(delay_s, delay_s), by_s)
    corner_pct = 0.15 if delay_s == 0.0 else 0.0  # the line through the command at its very turn cuts the corner
    assert found.middle_pct == pytest.approx(dead_band_pct, abs=0.02 + corner_pct)
    assert (found.what, found.means) == ("dead_band", "ramp")
    edge = 60.0 - dead_band_pct - 0.5 * delay_s  # the plateau is met at the level that the travel has at the turn
    assert found.command_pct == pytest.approx(100.0 - edge if mirrors else edge, abs=0.1)
    assert found.at_s - by_s == pytest.approx(60.0 + 2.0 * dead_band_pct + 2.0 * delay_s, abs=0.2)
    assert found.high_pct - found.low_pct == pytest.approx(min(0.125, 2 * found.middle_pct), abs=1e-6)


@pytest.mark.parametrize(
    ("delays", "slack_s"),
    [(Delays(0.5, 1.5), 0.5), (Delays(0.5, None), 1.0), (Delays(None, 1.5), 0.75), (Delays(), 1.0)],
)
def test_a_bracket_is_as_wide_as_delay_and_sampling_leave_it(delays: Delays, slack_s: float) -> None:
    """0.5 % a second over the slack and an interval of 0.125 s, to either side."""
    found = plateau(triangle(3.0, 1.0), delays)
    assert 0.5 * (found.high_pct - found.low_pct) == pytest.approx(0.5 * (slack_s + 0.125))


@pytest.mark.parametrize(
    ("delays", "late_s"), [(Delays(0.5, 1.5), 1.5), (Delays(0.5, None), 0.5), (Delays(None, None), 0.0)]
)
def test_the_travel_is_taken_to_be_late_by_t63_or_else_by_the_dead_time(delays: Delays, late_s: float) -> None:
    """At 0.5 % a second, late by 2 s in truth: the travel is at 58 % at the turn, and passes it again at 68 s."""
    found = plateau(triangle(2.0, 2.0), delays)
    assert found.command_pct == pytest.approx(60.0 - 0.5 * (8.0 - late_s), abs=0.05)


def test_a_bracket_does_not_go_below_nothing() -> None:
    found = plateau(triangle(0.3, 0.5), Delays(0.5, None))
    assert found.low_pct == 0.0
    assert found.high_pct == pytest.approx(0.3 + 0.5 * 1.125, abs=0.02)


def test_noise_of_the_travel_leaves_a_plateau_open() -> None:
    made = triangle(2.0)
    found = plateau(Recording(made.time_s, made.command_pct, noisy(made.travel_pct, 0.05)), Delays(0.0, 0.0))
    assert found.middle_pct == pytest.approx(2.0, abs=0.1)
    samples = np.count_nonzero((made.time_s > 60.0) & (made.time_s <= 100.0))
    assert found.deviation_pct == pytest.approx(2.0 * 0.05 / samples**0.5, rel=0.2)


def test_a_valve_that_stands_still_shows_no_plateau() -> None:
    made = triangle(2.0)
    still = Recording(made.time_s, made.command_pct, np.full(len(made), 50.0))
    assert plateau_trials(still, THERE, BACK, Delays()) == []
    lost = Recording(made.time_s, made.command_pct, np.full(len(made), np.nan))
    assert plateau_trials(lost, THERE, BACK, Delays()) == []
    one_way = Recording(made.time_s, made.command_pct, np.where(made.time_s > 60.0, 59.0, made.travel_pct))
    assert plateau_trials(one_way, THERE, BACK, Delays()) == []
    few = np.where((made.time_s > 60.0) & (made.time_s < 99.7), np.nan, made.travel_pct)
    assert plateau_trials(Recording(made.time_s, made.command_pct, few), THERE, BACK, Delays()) == []


@pytest.mark.parametrize(("delays", "slack_s"), [(Delays(0.5, 3.0), 0.25), (Delays(None, 3.0), 1.0)])
def test_the_delay_of_a_jump_is_known_to_half_of_the_dead_time(delays: Delays, slack_s: float) -> None:
    assert delays.jump_slack_s == slack_s
