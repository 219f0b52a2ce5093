"""How far a travel went before it came back, held against peaks whose height is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers

from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.peaks import peak_of
from tests.calculations.recordings.made import Array, second_order

QUIET = Noise(0.0, 0.0)
NOISY = Noise(0.02, 0.0)


def stood(time_s: Array, *, stands_s: float, speed_pct_s: float, coast_pct: float) -> Array:
    """A motor that coasts to a stop 1 % out at 0 s, stands, and starts back as evenly as it stopped."""
    slows = speed_pct_s**2 / (2.0 * coast_pct)
    before, after = np.minimum(time_s, 0.0), np.maximum(time_s - stands_s, 0.0)
    return 1.0 - 0.5 * slows * (before**2 + after**2)


def test_a_parabola_gives_its_top_whatever_its_samples() -> None:
    """3 - 2 (t - 0.3)^2 at 0, 0.25, 0.5, ...: top 3 at 0.3, the highest sample 2.995."""
    time = np.arange(-1.0, 2.0, 0.25)
    found = peak_of(time, 3.0 - 2.0 * (time - 0.3) ** 2, QUIET)
    assert found.height == pytest.approx(3.0, abs=1e-12)
    assert found.half_width == pytest.approx(0.5 * 0.005, abs=1e-12)


def test_a_stand_is_the_mean_of_its_samples_without_its_ends() -> None:
    """Stood at 1.01, 0.99, 1.02, 0.98, 1.01, 0.99 and crept off at 0.87: the inner four mean 1.0."""
    height = np.array([-2.0, 0.1, 0.87, 1.01, 0.99, 1.02, 0.98, 1.01, 0.99, 0.87, 0.87, 0.87, 0.3, 0.0])
    found = peak_of(np.arange(height.size) * 0.1, height, NOISY)
    assert found.height == pytest.approx(1.0)
    assert found.deviation == pytest.approx(1.3 * 0.02 / 4**0.5)
    assert found.half_width == pytest.approx(0.0, abs=0.03)


def test_where_samples_decide_for_neither_both_are_covered() -> None:
    """Three samples on a parabola of top 0.9875 + 0.05^2 / (16 * 0.0375) = 0.99167; the two highest mean 0.9625."""
    height = np.array([0.0, 0.9125, 0.9875, 0.9375, 0.0])
    found = peak_of(np.arange(5.0), height, Noise(0.02, 0.0))
    top = 0.9875 + (0.9375 - 0.9125) ** 2 / (8.0 * (2 * 0.9875 - 0.9125 - 0.9375))
    assert found.height == pytest.approx(0.5 * (top + 0.9625))
    assert found.half_width >= 0.5 * (top - 0.9625)


def test_the_first_or_last_sample_may_be_the_farthest() -> None:
    rising = np.arange(4.0)
    assert peak_of(rising, rising, QUIET).height == 3.0
    assert peak_of(rising, rising[::-1], QUIET).height == 3.0


@pytest.mark.parametrize("rate_hz", [5.0, 10.0, 20.0, 50.0, 100.0])
@pytest.mark.parametrize("stands_s", [0.2, 0.4, 0.8])
def test_a_motor_that_stands_before_it_comes_back_is_covered(rate_hz: float, stands_s: float) -> None:
    """In 60 runs with noise, at most nine lie outside two standard uncertainties, and the mean is right."""
    generator = np.random.default_rng(1)
    errors, allowed = [], []
    for _ in range(60):
        time = np.arange(-1.0, 2.0, 1.0 / rate_hz) + generator.uniform(0.0, 1.0 / rate_hz)
        clean = stood(time, stands_s=stands_s, speed_pct_s=10.0, coast_pct=1.2)
        found = peak_of(time, clean + generator.normal(0.0, 0.02, time.size), NOISY)
        errors.append(found.height - 1.0)
        allowed.append(2.0 * (found.deviation**2 + found.half_width**2 / 3.0) ** 0.5)
    assert np.count_nonzero(np.abs(errors) > np.array(allowed)) <= 9
    assert abs(np.mean(errors)) < 0.02


@pytest.mark.parametrize("rate_hz", [10.0, 50.0])
@pytest.mark.parametrize("natural_rad_s", [0.5, 2.0])
def test_a_response_that_swings_is_covered(rate_hz: float, natural_rad_s: float) -> None:
    """20 exp(-pi z / sqrt(1 - z^2)) with z = 0.5: 3.260671 beyond the end."""
    generator = np.random.default_rng(2)
    response = second_order(0.5, natural_rad_s)
    outside = 0
    for _ in range(60):
        time = np.arange(0.0, 20.0, 1.0 / rate_hz) + generator.uniform(0.0, 1.0 / rate_hz)
        beyond = 20.0 * (response(time) - 1.0) + generator.normal(0.0, 0.02, time.size)
        found = peak_of(time, beyond, NOISY)
        outside += abs(found.height - 3.260671) > 2.0 * (found.deviation**2 + found.half_width**2 / 3.0) ** 0.5
    assert outside <= 6


@given(shift=floats(-50.0, 50.0), start_number=integers(0, 50))
def test_a_peak_moves_with_its_travel(shift: float, start_number: int) -> None:
    generator = np.random.default_rng(start_number)
    time = np.arange(-1.0, 2.0, 0.05)
    height = stood(time, stands_s=0.4, speed_pct_s=10.0, coast_pct=1.2) + generator.normal(0.0, 0.02, time.size)
    here, there = peak_of(time, height, NOISY), peak_of(time, height + shift, NOISY)
    assert there.height - here.height == pytest.approx(shift, abs=1e-9)
    assert (there.deviation, there.half_width) == pytest.approx((here.deviation, here.half_width), abs=1e-9)
