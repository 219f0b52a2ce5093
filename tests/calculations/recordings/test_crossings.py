"""When a channel crosses a level, or comes to stay in a band."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers

from kit.calculations.recordings.crossings import crossing, last_entry
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import first_order, noisy

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
    assert found.half_width_s == pytest.approx(0.75 * 0.25)  # it stood for a quarter of that second


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


def test_a_channel_that_jumps_may_have_done_so_at_any_time_of_the_interval() -> None:
    found = crossing(np.arange(4.0), np.array([0.0, 0.0, 2.0, 2.0]), 0.5, CLEAN)
    assert found is not None
    assert found.half_width_s == pytest.approx(0.75)


def test_steps_through_a_level_are_no_line() -> None:
    """Every second, in jumps of 0.5: the line through the samples about 5.2 would be sure of it."""
    time = np.arange(0.0, 20.0, 0.05)
    found = crossing(time, 0.5 * np.floor(time), 5.2, Noise(0.05, 0.0))
    assert found is not None
    assert abs(found.time_s - 11.0) <= 2.0 * (found.deviation_s**2 + found.half_width_s**2 / 3.0) ** 0.5


def test_an_entry_is_as_late_as_a_swing_that_nearly_leaves_the_band() -> None:
    """A swing that comes within 0.02 of the band's edge at 12 s, with noise of 0.05: it may have been outside."""
    time = np.arange(0.0, 30.0, 0.1)
    distance = np.where(time < 8.0, -4.0 + 0.5 * time, 0.98 * np.exp(-((time - 12.0) ** 2)))
    found = last_entry(time, distance, 1.0, Noise(0.05, 0.0))
    assert found is not None
    assert found.time_s + 2.0 * found.deviation_s >= 12.0


def test_an_entry_is_as_open_as_the_final_value() -> None:
    time = np.arange(0.0, 20.0, 0.1)
    sure = last_entry(time, np.minimum(0.5 * (time - 10.0), 0.0), 1.0, Noise(0.001, 0.0))
    open_ = last_entry(time, np.minimum(0.5 * (time - 10.0), 0.0), 1.0, Noise(0.001, 0.0), level_deviation=0.1)
    assert sure is not None
    assert open_ is not None
    assert open_.deviation_s == pytest.approx(0.2, abs=0.06)
    assert sure.deviation_s < 0.1


def test_noise_leaves_an_entry_as_open_as_the_last_sample_that_is_outside_for_certain() -> None:
    """At 1 a second into a band of 1 at 9 s; beyond 1.2 for certain until 8.8 s: half of 0.2 s."""
    time = np.arange(0.0, 20.0, 0.1)
    found = last_entry(time, np.minimum(time - 10.0, 0.0), 1.0, Noise(0.1, 0.0))
    assert found is not None
    assert found.time_s == pytest.approx(9.0, abs=1e-6)
    assert found.deviation_s == pytest.approx(0.1, abs=0.06)
