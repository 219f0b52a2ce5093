"""When a channel crosses a level, leaves its start, or comes to stay in a band."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers

from kit.calculations.recordings.crossings import crossing, last_entry, response_start
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import constant_speed, first_order, noisy

CLEAN = Noise(0.0, 0.0)


@given(slope=floats(0.05, 50), level_share=floats(0.05, 0.95), start=floats(0, 1e4), offset=floats(-100, 100))
def test_a_straight_line_crosses_every_level_where_it_is(
    slope: float, level_share: float, start: float, offset: float
) -> None:
    time = np.arange(0.0, 10.0, 0.1)
    level = slope * level_share * 9.9
    found = crossing(time + start, slope * time + offset, level + offset, CLEAN)
    assert found is not None
    assert found.time_s == pytest.approx(start + 9.9 * level_share, abs=1e-6)
    assert found.half_width_s == pytest.approx(0.0, abs=1e-6)
    assert found.deviation_s == 0.0


def test_a_curve_is_crossed_on_a_cubic_and_its_distance_from_the_line_is_told() -> None:
    """t squared every 0.5 s, at 4.5: root of 4.5; the straight line from 4 to 6.25 gives 2 + 0.5 x 0.5 / 2.25."""
    time = np.arange(0.0, 5.0, 0.5)
    found = crossing(time, time**2, 4.5, CLEAN)
    assert found is not None
    assert found.time_s == pytest.approx(4.5**0.5, abs=2e-3)
    assert found.half_width_s == pytest.approx(abs(found.time_s - (2.0 + 0.25 / 2.25)), abs=1e-9)


def test_next_to_an_edge_the_steeper_side_is_traced_on() -> None:
    """Standing until 1.25 s, then 4 a second; 0.5 is crossed at 1.375 s, a quarter of the way from 1 to 2 s."""
    time = np.arange(0.0, 6.0)
    found = crossing(time, np.maximum(4.0 * (time - 1.25), 0.0), 0.5, CLEAN)
    assert found is not None
    assert found.time_s == pytest.approx(1.375)
    assert found.half_width_s == pytest.approx(1.375 - (1.0 + 0.5 / 3.0))


@pytest.mark.parametrize("level", [-1.0, 0.0, 10.0])
def test_a_level_outside_is_not_crossed(level: float) -> None:
    time = np.arange(0.0, 10.0)
    assert crossing(time, time, level, CLEAN) is None


def test_a_channel_that_falls_at_once_crosses_nothing() -> None:
    assert crossing(np.arange(4.0), np.array([1.0, 0.0, 0.0, 0.0]), 0.5, CLEAN) is None


def test_a_response_that_comes_back_crosses_at_its_first_passage() -> None:
    time = np.arange(0.0, 20.0, 0.1)
    swing = np.interp(time, [0, 5, 8, 12, 20], [0, 10, 2, 10, 10])
    found = crossing(time, swing, 5.0, Noise(0.01, 0.0))
    assert found is not None
    assert found.time_s == pytest.approx(2.5, abs=0.02)


@given(slope=floats(0.5, 5), level=floats(3, 7), start_number=integers(0, 30))
def test_noise_leaves_a_crossing_within_what_it_states(slope: float, level: float, start_number: int) -> None:
    """Four deviations."""
    time = np.arange(0.0, 10.0 / slope, 0.01)
    noise = Noise(0.1, 0.0)
    found = crossing(time, noisy(slope * time, 0.1, start_number), level, noise)
    assert found is not None
    assert 0.0 < found.deviation_s < 0.1
    assert abs(found.time_s - level / slope) <= 4.0 * found.deviation_s


def test_a_crossing_through_noise_is_as_certain_as_its_line() -> None:
    """Samples within twice the band, 1.0, of the level on a line of 2 a second: one second of them, 101."""
    time = np.arange(0.0, 10.0, 0.01)
    found = crossing(time, 2.0 * time, 10.0, Noise(0.1, 0.0))
    assert found is not None
    assert found.deviation_s == pytest.approx(0.1 / 2.0 / 50**0.5, rel=0.05)


@pytest.mark.parametrize("dead_time_s", [0.3, 1.03, 2.77])
@pytest.mark.parametrize("interval_s", [0.01, 0.1])
def test_a_motor_that_starts_at_once_is_traced_back_to_its_start(dead_time_s: float, interval_s: float) -> None:
    time = np.arange(0.0, 10.0, interval_s)
    found = response_start(time, 10.0 * constant_speed(dead_time_s, 4.0)(time), 10.0, CLEAN)
    assert found is not None
    assert found.time_s == pytest.approx(dead_time_s, abs=1e-6)
    assert found.half_width_s == pytest.approx(0.25 * interval_s, rel=1e-6)
    assert found.deviation_s == 0.0


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


@pytest.mark.parametrize(("interval_s", "width"), [(0.05, 1), (0.01, 3), (0.005, 6)])
def test_a_start_through_noise_lies_within_twice_the_time_out_of_it(interval_s: float, width: int) -> None:
    """Out of the band of 0.25 at 2 a second: 0.125 s; twice that. Where that takes more than eight intervals, means
    over as many samples as go four times into it come out of their own noise sooner.
    """
    time = np.arange(0.0, 10.0, interval_s)
    found = response_start(time, np.clip(2.0 * (time - 3.0), 0.0, 10.0), 10.0, Noise(0.05, 0.0))
    assert found is not None
    assert found.time_s == pytest.approx(3.0, abs=0.01)
    assert found.half_width_s == pytest.approx(0.25 / width**0.5, rel=1e-3)


def test_a_motor_that_gathers_speed_leaves_its_start_open() -> None:
    """0.5 t squared: what is traced back is late, by less than it says."""
    time = np.arange(0.0, 8.0, 0.01)
    change = np.where(time > 2.0, 0.5 * (np.maximum(time - 2.0, 0.0)) ** 2, 0.0)
    found = response_start(time, change, 18.0, Noise(0.02, 0.0))
    assert found is not None
    assert 2.0 < found.time_s < 2.5
    assert found.time_s - found.half_width_s <= 2.0


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
    assert found.time_s == pytest.approx(30.0, abs=2.0)
    assert 0.5 < found.half_width_s < 8.0


@given(lag_s=floats(0.5, 5), band=floats(0.2, 3), sign=integers(0, 1))
def test_a_lag_enters_a_band_after_its_closed_form(lag_s: float, band: float, sign: int) -> None:
    """t = tau ln(10 / band)."""
    time = np.arange(0.0, 12.0 * lag_s, 0.02 * lag_s)
    distance = (1.0 - 2.0 * sign) * 10.0 * (first_order(lag_s, 0.0)(time) - 1.0)
    distance[0] = -10.0 * (1.0 - 2.0 * sign)
    found = last_entry(time, distance, band, CLEAN)
    assert found is not None
    assert found.time_s == pytest.approx(lag_s * np.log(10.0 / band), rel=1e-4)


def test_a_channel_that_never_leaves_or_never_stays_enters_nothing() -> None:
    time = np.arange(10.0)
    assert last_entry(time, np.full(10, 0.5), 1.0, CLEAN) is None
    assert last_entry(time, np.full(10, 1.0), 1.0, CLEAN) is None
    assert last_entry(time, np.append(np.zeros(9), 2.0), 1.0, CLEAN) is None
    assert last_entry(time, np.append(np.full(9, 2.0), 0.0), 1.0, CLEAN) is not None


def test_only_the_last_of_several_entries_counts() -> None:
    time = np.arange(0.0, 20.0, 0.1)
    swing = np.interp(time, [0, 4, 8, 10, 20], [-10, 5, -5, 0, 0])
    found = last_entry(time, swing, 1.0, CLEAN)
    assert found is not None
    assert found.time_s == pytest.approx(8.0 + 4.0 / 2.5)


def test_noise_leaves_an_entry_as_open_as_the_last_sample_that_is_outside_for_certain() -> None:
    """At 1 a second into a band of 1 at 9 s; beyond 1.2 for certain until 8.8 s: half of 0.2 s."""
    time = np.arange(0.0, 20.0, 0.1)
    found = last_entry(time, np.minimum(time - 10.0, 0.0), 1.0, Noise(0.1, 0.0))
    assert found is not None
    assert found.time_s == pytest.approx(9.0, abs=1e-6)
    assert found.deviation_s == pytest.approx(0.1, abs=0.06)
