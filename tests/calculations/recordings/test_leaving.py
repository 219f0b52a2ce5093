"""When a response leaves its start, held against starts that are sharp, gather speed, or are those of a lag."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers

from kit.calculations.recordings.leaving import response_start
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import constant_speed, first_order, noisy

CLEAN = Noise(0.0, 0.0)


@pytest.mark.parametrize(("dead_time_s", "before_s"), [(0.3, 0.3), (1.03, 1.0), (2.77, 2.7)])
def test_a_start_lies_between_the_last_sample_at_rest_and_where_it_is_traced_back_to(
    dead_time_s: float, before_s: float
) -> None:
    """Ten samples a second: the motor may have gathered speed since the sample before; sharp starts are covered."""
    time = np.arange(0.0, 10.0, 0.1)
    found = response_start(time, 10.0 * constant_speed(dead_time_s, 4.0)(time), 10.0, CLEAN)
    assert found is not None
    assert found.time_s == pytest.approx(0.5 * (before_s + dead_time_s), abs=2e-3)
    assert found.half_width_s == pytest.approx(max(0.025, 0.75 * (dead_time_s - before_s)), abs=2e-3)
    assert abs(found.time_s - dead_time_s) <= 2.0 * found.half_width_s / 3.0**0.5
    assert found.deviation_s == 0.0


def test_a_lag_is_traced_back_on_its_curve() -> None:
    """1 - exp(-(t - 1.03) / 0.4) every 0.1 s: the straight line through its early part would start before 1 s."""
    time = np.arange(0.0, 10.0, 0.1)
    found = response_start(time, 10.0 * first_order(0.4, 1.03)(time), 10.0, CLEAN)
    assert found is not None
    assert abs(found.time_s - 1.03) <= 2.0 * found.half_width_s / 3.0**0.5
    assert found.half_width_s < 0.05


@given(
    dead_time_s=floats(0.5, 3),
    slope=floats(2, 20),
    size=floats(0.5, 4),
    by_s=floats(0, 1e3),
    start_number=integers(0, 20),
)
def test_a_start_moves_with_the_clock_and_knows_no_scale(
    dead_time_s: float, slope: float, size: float, by_s: float, start_number: int
) -> None:
    time = np.arange(0.0, 10.0, 0.02)
    change = noisy(np.clip(slope * (time - dead_time_s), 0.0, 10.0), 0.05, start_number)
    one = response_start(time, change, 10.0, Noise(0.05, 0.0))
    other = response_start(time + by_s, size * change, 10.0 * size, Noise(0.05 * size, 0.0))
    assert one is not None
    assert other is not None
    assert other.time_s - by_s == pytest.approx(one.time_s, abs=1e-6)
    assert other.half_width_s == pytest.approx(one.half_width_s, abs=1e-6)
    assert other.deviation_s == pytest.approx(one.deviation_s, abs=1e-6)
    assert abs(one.time_s - dead_time_s) <= 4.0 * (one.deviation_s**2 + one.half_width_s**2 / 3.0) ** 0.5


@pytest.mark.parametrize("interval_s", [0.05, 0.01, 0.005])
def test_a_sharp_start_through_noise_is_covered_from_where_a_parabola_would_start(interval_s: float) -> None:
    """At 2 a second out of the band of 0.25: 0.125 s, twice that under a parabola; less by means."""
    time = np.arange(0.0, 10.0, interval_s)
    found = response_start(time, np.clip(2.0 * (time - 3.0), 0.0, 10.0), 10.0, Noise(0.05, 0.0))
    assert found is not None
    assert 2.8 < found.time_s < 3.0
    assert abs(found.time_s - 3.0) <= found.half_width_s < 0.3


def test_a_motor_that_gathers_speed_leaves_its_start_open() -> None:
    """0.5 t squared from 2 s on."""
    time = np.arange(0.0, 8.0, 0.01)
    change = np.where(time > 2.0, 0.5 * (np.maximum(time - 2.0, 0.0)) ** 2, 0.0)
    found = response_start(time, change, 18.0, Noise(0.02, 0.0))
    assert found is not None
    assert abs(found.time_s - 2.0) <= found.half_width_s < 0.5


def test_a_jump_starts_not_before_the_channel_lies_below_its_line() -> None:
    time = np.arange(0.0, 10.0, 0.1)
    change = np.where(time >= 4.0, 3.0 + 0.5 * (time - 4.0), 0.0)
    found = response_start(time, change, 6.0, Noise(0.02, 0.0))
    assert found is not None
    assert 3.9 - 1e-9 <= found.time_s <= 4.0


def test_nothing_above_the_noise_has_no_start() -> None:
    time = np.arange(0.0, 10.0, 0.1)
    assert response_start(time, noisy(np.zeros(100), 0.05), 1.0, Noise(0.05, 0.0)) is None
    assert response_start(time, np.where(time == 5.0, 1.0, 0.0), 1.0, Noise(0.05, 0.0)) is None


def test_what_moves_from_the_first_sample_starts_there() -> None:
    found = response_start(np.arange(5.0), np.arange(5.0) + 1.0, 5.0, CLEAN)
    assert found is not None
    assert (found.time_s, found.half_width_s, found.deviation_s) == (0.0, 0.0, 0.0)


def test_a_slow_start_is_looked_at_in_means() -> None:
    time = np.arange(0.0, 100.0, 0.05)
    found = response_start(time, noisy(np.clip(0.1 * (time - 30.0), 0.0, 5.0), 0.1), 5.0, Noise(0.1, 0.0))
    assert found is not None
    assert abs(found.time_s - 30.0) <= found.half_width_s
    assert 0.5 < found.half_width_s < 8.0


@pytest.mark.parametrize("began_s", [1.01, 1.05, 1.09])
@pytest.mark.parametrize("jump_pct", [0.0, 0.15, 0.4])
def test_a_valve_that_jumps_between_two_samples_began_within_what_is_said(began_s: float, jump_pct: float) -> None:
    """It sticks, jumps, and goes on at 9 % a second."""
    time = 0.1 * np.arange(40)
    change = np.where(time < began_s, 0.0, jump_pct + 9.0 * (time - began_s))
    found = response_start(time, noisy(np.minimum(change, 25.0), 0.012), 25.0, Noise(0.012, 0.0))
    assert found is not None
    assert abs(found.time_s - began_s) <= found.half_width_s + 2.0 * found.deviation_s
    assert found.half_width_s < 0.13
