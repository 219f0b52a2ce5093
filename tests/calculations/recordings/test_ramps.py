"""Ramps: the line of the command, the delay of the travel, and the dead band from the width of the loop."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.noise import Noise, noise_of
from kit.calculations.recordings.ramps import CommandLine, Delays, command_line, loop_trial
from kit.calculations.recordings.trials import Trial
from tests.calculations.recordings.made import later, mirrored, noisy, with_play

STILL = Noise(0.0, 0.0)


def line_of(recording: Recording, ramp: Segment, noise: Noise = STILL) -> CommandLine:
    found = command_line(recording, ramp, noise)
    assert found is not None
    return found


@given(rate=floats(0.05, 5), down=booleans(), start=floats(0, 100), by_s=integers(0, 10**6))
def test_a_ramp_of_the_command_is_its_line(rate: float, down: bool, start: float, by_s: int) -> None:
    """From 2 to 6 s, cut a second too wide on either side, as noise makes a cut: the line ends where the ramp does."""
    time = np.arange(0.0, 10.0, 0.125)
    slope = -rate if down else rate
    command = start + slope * (np.clip(time, 2.0, 6.0) - 2.0)
    line = line_of(later(Recording(time, command, command), by_s), Segment("ramp_up", 1.0 + by_s, 7.0 + by_s))
    assert line.rate_pct_s == pytest.approx(slope)
    assert line.at(5.0 + by_s) == pytest.approx(start + 3.0 * slope, abs=1e-6)
    assert (line.from_s - by_s, line.to_s - by_s) == (pytest.approx(2.0, abs=1e-6), pytest.approx(6.0, abs=1e-6))
    assert line.uneven_pct == pytest.approx(0.0, abs=1e-6)


def test_a_staircase_is_no_even_ramp() -> None:
    """Steps of 0.5 % every 2 s lie up to 0.25 % off their line; noise does not count."""
    time = np.arange(0.0, 60.0, 0.1)
    stairs = 40.0 + 0.5 * np.floor(time / 2.0)
    ramp = Segment("ramp_up", 0.0, 60.0)
    assert line_of(Recording(time, stairs, stairs), ramp).uneven_pct == pytest.approx(0.24, abs=0.02)
    noise = noise_of(noisy(np.full_like(time, 40.0), 0.05), 0.1)
    assert line_of(Recording(time, noisy(0.25 * time, 0.05), stairs), ramp, noise).uneven_pct < 0.02


def test_what_is_no_ramp_has_no_line() -> None:
    time = np.arange(0.0, 10.0, 0.1)
    ramp = Segment("ramp_up", 2.0, 6.0)
    for command in (np.full_like(time, np.nan), np.full_like(time, 50.0), np.where(time < 2.3, time, np.nan)):
        assert command_line(Recording(time, command, time), ramp, STILL) is None


def triangle(dead_band_pct: float, delay_s: float = 0.0, interval_s: float = 0.125) -> Recording:
    """0.5 % a second up for 40 s from 20 s on, and back, with play; the travel comes later by the delay."""
    time = np.arange(0.0, 120.0, interval_s)
    command = np.interp(time, [0, 20, 60, 100, 120], [40, 40, 60, 40, 40])
    return Recording(time, command, np.interp(time - delay_s, time, with_play(command, dead_band_pct)))


THERE, BACK = Segment("ramp_up", 20.0, 60.0), Segment("ramp_down", 60.0, 100.0)


NO_DELAY = Delays(0.0, 0.0)


def loop(recording: Recording, delays: Delays, by_s: float = 0.0, *, has_hold: bool = False) -> Trial | None:
    lines = [line_of(recording, Segment(each.what, each.from_s + by_s, each.to_s + by_s)) for each in (THERE, BACK)]
    hold = Segment("hold", 106.0 + by_s, 119.0 + by_s) if has_hold else None
    noise = noise_of(recording.travel_pct, recording.interval_s)
    return loop_trial(recording, (lines[0], lines[1]), delays, noise, (None, hold))


def found_loop(recording: Recording, delays: Delays, by_s: float = 0.0, *, has_hold: bool = False) -> Trial:
    found = loop(recording, delays, by_s, has_hold=has_hold)
    assert found is not None
    return found


@settings(max_examples=25)
@given(
    dead_band_pct=floats(0.3, 4),
    delay_s=sampled_from([0.0, 0.5, 2.0]),
    by_s=integers(0, 10**6),
    mirrors=booleans(),
    offset=floats(-5, 5),
)
def test_a_loop_is_as_wide_as_the_play_whatever_the_delay(
    dead_band_pct: float, delay_s: float, by_s: int, mirrors: bool, offset: float
) -> None:
    made = triangle(dead_band_pct, delay_s)
    made = Recording(made.time_s, made.command_pct, made.travel_pct + offset)
    found = found_loop(later(mirrored(made) if mirrors else made, by_s), Delays(delay_s, delay_s), by_s)
    assert found.middle_pct == pytest.approx(dead_band_pct, abs=0.01)
    assert (found.what, found.means) == ("dead_band", "ramp")
    assert 60.0 <= found.at_s - by_s <= 100.0
    assert found.half_width_pct == pytest.approx(0.0625, abs=1e-6)  # 1 % a second both ways, half an interval
    assert found.gain == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("delays", "late_s", "slack_s"),
    [
        (Delays(0.5, 1.5), 1.0, 0.5),
        (Delays(0.5, None), 1.5, 1.0),
        (Delays(None, 1.5), 0.75, 0.75),
        (Delays(1.5, 0.5), 1.5, 0.0),
        (Delays(), 1.0, 1.0),
    ],
)
def test_the_delay_of_a_ramp_lies_between_dead_time_and_t63(delays: Delays, late_s: float, slack_s: float) -> None:
    """It enters on either ramp: 0.5 % a second twice, late by 1 s in truth."""
    assert delays.of_ramp_s == (pytest.approx(late_s), pytest.approx(slack_s))
    found = found_loop(triangle(3.0, 1.0), delays)
    assert found.middle_pct == pytest.approx(3.0 + 1.0 * (1.0 - late_s), abs=0.01)
    assert found.half_width_pct == pytest.approx(slack_s + 0.0625, abs=1e-6)


@pytest.mark.parametrize(
    ("delays", "late_s", "slack_s"), [(Delays(0.5, 0.9), 0.7, 0.2), (Delays(0.5, 5.0), 1.0, 0.5), (Delays(), 1.0, 1.0)]
)
def test_a_jump_is_late_by_no_more_than_a_second_beyond_the_dead_time(
    delays: Delays, late_s: float, slack_s: float
) -> None:
    assert delays.of_jump_s == (pytest.approx(late_s), pytest.approx(slack_s))


@pytest.mark.parametrize("delay_s", [0.5, 2.0])
def test_a_ramp_that_ends_in_a_hold_tells_its_own_delay(delay_s: float) -> None:
    """Whatever the step responses say: the travel comes to rest by that much later than the command."""
    found = found_loop(triangle(2.0, delay_s), Delays(), has_hold=True)
    assert found.middle_pct == pytest.approx(2.0, abs=0.01)
    assert found.half_width_pct == pytest.approx(2 * 0.0625, abs=0.01)  # half an interval, and that of the delay


def test_a_bracket_does_not_go_below_nothing() -> None:
    found = found_loop(triangle(0.3, 0.5), Delays(0.5, 2.5))
    assert found.low_pct == 0.0
    assert found.high_pct > 0.3


@pytest.mark.parametrize("noise_pct", [0.02, 0.1])
def test_noise_of_the_travel_leaves_a_loop_open(noise_pct: float) -> None:
    made = triangle(2.0)
    errors = []
    for number in range(20):
        noised = Recording(made.time_s, made.command_pct, noisy(made.travel_pct, noise_pct, number))
        found = found_loop(noised, NO_DELAY)
        errors.append((found.middle_pct - 2.0) / found.deviation_pct)
    assert 0.5 < float(np.std(errors)) < 1.5


def test_jumps_that_noise_hides_show_as_scatter_about_the_lines() -> None:
    """Jumps of 0.3 % scatter by 0.3 / root of 12 about a line, whatever noise of 0.1 % does."""
    made = triangle(2.0)
    jumps = 0.3 * np.floor(made.travel_pct / 0.3)
    found = found_loop(Recording(made.time_s, made.command_pct, noisy(jumps, 0.1)), NO_DELAY)
    assert found.jump_pct == pytest.approx(0.3, abs=0.1)
    even = found_loop(Recording(made.time_s, made.command_pct, noisy(made.travel_pct, 0.1)), NO_DELAY)
    assert even.jump_pct < 0.15


def test_a_valve_that_stands_still_shows_no_loop() -> None:
    made = triangle(2.0)
    still = Recording(made.time_s, made.command_pct, np.full(len(made), 50.0))
    assert loop(still, NO_DELAY) is None
    lost = Recording(made.time_s, made.command_pct, np.full(len(made), np.nan))
    assert loop(lost, NO_DELAY) is None
    one_way = Recording(made.time_s, made.command_pct, np.where(made.time_s > 60.0, 59.0, made.travel_pct))
    assert loop(one_way, NO_DELAY) is None
    bent = Recording(
        made.time_s, made.command_pct, np.where(made.time_s > 60.0, 40 + made.travel_pct / 3, made.travel_pct)
    )
    assert loop(bent, NO_DELAY) is None


def test_few_jumps_make_no_line() -> None:
    """Three of 6 % on 18 % of travel."""
    made = triangle(2.0)
    assert loop(Recording(made.time_s, made.command_pct, 6.0 * np.floor(made.travel_pct / 6.0)), NO_DELAY) is None
