"""Whether the travel of a hold has settled."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.at_rest import rest_of
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.settled import half_swing_s, is_on_its_way, level_since_s, still_to_go_pct
from tests.calculations.recordings.made import noisy, resting

QUIET = Noise(0.01, 0.0)


@pytest.mark.parametrize(("rate_pct_s", "moves"), [(0.0, False), (0.015, False), (0.03, True), (0.5, True)])
def test_a_creep_of_two_hundredths_of_a_percent_a_second_is_on_its_way(rate_pct_s: float, moves: bool) -> None:
    times = np.arange(0.0, 10.0, 0.1)
    travel = noisy(50.0 + rate_pct_s * times, 0.005)
    rest = rest_of(times, travel, QUIET, restless=True)
    assert rest is not None
    assert is_on_its_way(times, travel, rest, QUIET) is moves


@pytest.mark.parametrize(("lag_s", "held_s"), [(1.0, 4.0), (2.0, 6.0), (2.0, 10.0), (0.5, 3.0)])
def test_what_an_exponential_approach_has_left_is_told(lag_s: float, held_s: float) -> None:
    """25 e^(-t / lag) of a step of 25 %; within a factor of two, since the last mean is not yet where it ends."""
    times = np.arange(0.0, 20.0 + held_s, 0.05)
    travel = 75.0 - 25.0 * np.exp(-np.maximum(times - 20.0, 0.0) / lag_s) - 25.0 * (times < 20.0)
    recording = resting(noisy(travel, 0.002), 0.05)
    rest = rest_of(times[times > 20.0], recording.travel_pct[times > 20.0], Noise(0.002, 0.0), restless=True)
    assert rest is not None
    left = still_to_go_pct(recording, rest, Noise(0.002, 0.0), rest.to_s)
    true = 25.0 * np.exp(-held_s / lag_s)
    assert left >= 0.5 * min(true, 0.1)
    assert left <= max(0.2, 4.0 * true)


def test_a_valve_that_runs_in_at_even_speed_or_has_long_been_there_has_nothing_to_go() -> None:
    times = np.arange(0.0, 100.0, 0.1)
    recording = resting(np.interp(times, [0, 20, 30, 100], [0, 0, 50, 50]), 0.1)
    rest = rest_of(times[310:340], recording.travel_pct[310:340], QUIET)
    assert rest is not None
    assert still_to_go_pct(recording, rest, QUIET, rest.to_s) < 1e-3
    late = rest_of(times[900:], recording.travel_pct[900:], QUIET)
    assert late is not None
    assert still_to_go_pct(recording, late, QUIET, late.from_s) == 0.0


@pytest.mark.parametrize(("swings", "turn"), [(6.2, True), (6.3, True), (0.5, False)])
def test_the_turn_of_a_swing_is_no_rest_and_the_end_of_an_overshoot_is(swings: float, turn: bool) -> None:
    """Swings of 2 % and 10 s, cut just after a peak; half a swing is one overshoot, then 20 s of rest."""
    times = np.arange(0.0, 10.0 * swings + (0.0 if turn else 20.0), 0.1)
    travel = np.where(times < 10.0 * swings, 2.0 * np.sin(2 * np.pi * times / 10.0), 0.0)
    travel = noisy(50.0 + travel, 0.01)
    rest = rest_of(times[-20:], travel[-20:], QUIET, restless=True)
    assert rest is not None
    assert half_swing_s(times, travel, rest, QUIET) == pytest.approx(5.0 if turn else 0.0, abs=0.3)


def test_a_level_is_known_since_the_command_was_elsewhere() -> None:
    times = np.arange(0.0, 200.0, 0.1)
    recording = Recording(times, np.where(times < 150.0, 20.0, 50.0), np.full(times.size, 50.0))
    assert level_since_s(recording, 50.0, QUIET, 180.0) == pytest.approx(150.0, abs=0.11)
    assert level_since_s(recording, 20.0, QUIET, 140.0) == pytest.approx(20.0, abs=0.11)
