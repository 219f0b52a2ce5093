"""Where a channel rests: values worked out by hand, and what moves them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers, sampled_from

from kit.calculations.recordings.at_rest import rest_of
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import noisy

CLEAN = Noise(0.0, 0.0)


def test_a_long_rest_is_averaged_over_its_last_ten_seconds() -> None:
    """40 samples of 1 s: half of the stretch is 19.5 s, ten seconds are the samples from 29 to 39 s, eleven of them."""
    found = rest_of(np.arange(40.0), np.full(40, 7.0), Noise(0.3, 0.0))
    assert found is not None
    assert (found.value, found.from_s, found.to_s, found.count) == (7.0, 29.0, 39.0, 11)
    assert (found.spread, found.drift) == (0.0, 0.0)
    assert found.deviation == pytest.approx(1.2 * 0.3 / 11**0.5)


def test_a_short_rest_is_averaged_over_its_half() -> None:
    """From 0 to 8 s: the last 4 s are five samples."""
    found = rest_of(np.arange(9.0), np.full(9, 7.0), CLEAN)
    assert found is not None
    assert (found.from_s, found.count) == (4.0, 5)


def test_a_creeping_channel_is_averaged_over_its_last_sixteenth_with_a_third_of_its_drift() -> None:
    """0.02 a second, 100 samples: the last 5.94 s are 94 to 99 s; their halves lie 0.06 apart, the mean is 1.93."""
    found = rest_of(np.arange(100.0), 0.02 * np.arange(100.0), CLEAN)
    assert found is not None
    assert (found.from_s, found.count) == (94.0, 6)
    assert found.value == pytest.approx(1.93)
    assert found.drift == pytest.approx(0.06)
    assert found.deviation == pytest.approx(0.02)


@pytest.mark.parametrize(("rate", "rests"), [(0.033, True), (0.034, False), (1.0, False)])
def test_a_channel_whose_halves_lie_a_tenth_apart_does_not_rest(rate: float, rests: bool) -> None:
    """Halves of three samples of 1 s: 0.099 and 0.102 apart."""
    assert (rest_of(np.arange(100.0), rate * np.arange(100.0), CLEAN) is not None) is rests


def test_noise_lets_halves_differ_by_three_deviations() -> None:
    """Halves of five samples: 3 x 0.1 x root of 2 / 5 is 0.1897; 0.03 a second makes 0.18, 0.032 makes 0.192."""
    time = np.arange(100.0)
    near, far = (rest_of(time, rate * time, Noise(0.1, 0.0)) for rate in (0.03, 0.032))
    assert near is not None
    assert far is not None
    assert (near.count, far.count) == (11, 6)


def test_a_quarter_of_the_recorders_step_is_no_drift() -> None:
    """Halves of five samples that differ by 0.02 and by 0.03: a quarter of 0.1 lies between."""
    time = np.arange(100.0)
    near, far = (rest_of(time, np.where(time < 95, 0.0, step), Noise(0.0, 0.1)) for step in (0.02, 0.03))
    assert near is not None
    assert far is not None
    assert (near.count, far.count) == (11, 6)


def test_a_rest_holds_what_step_wander_and_hum_leave() -> None:
    """0.1 / root 12 of the step, 0.02 of wander, 0.05 / root 2 of hum: 0.0498, 1.2 times over."""
    noise = Noise(0.0, 0.1, wander=0.02, hum=0.05, hum_period_s=40.0)
    found = rest_of(0.1 * np.arange(400), np.full(400, 7.0), noise)
    assert found is not None
    assert found.deviation == pytest.approx(1.2 * (0.1**2 / 12 + 0.02**2 + 0.05**2 / 2) ** 0.5)


def test_a_beat_of_hum_is_no_drift() -> None:
    """0.3 sin(2 pi t / 40): what looks like a creep at the end of a minute is the beat."""
    time = 0.1 * np.arange(600)
    swings = 50.0 + 0.3 * np.sin(2.0 * np.pi * time / 40.0)
    found, unaware = rest_of(time, swings, Noise(0.0, 0.0, hum=0.3, hum_period_s=40.0)), rest_of(time, swings, CLEAN)
    assert found is not None
    assert unaware is not None
    assert abs(unaware.value - 50.0) > 3.0 * unaware.deviation
    assert found.count > unaware.count
    assert abs(found.value - 50.0) < 2.0 * found.deviation


def test_a_drift_that_noise_hides_is_in_the_uncertainty() -> None:
    """Halves of five samples: 0.18 apart, 2.8 standard deviations of 0.0632 each."""
    found = rest_of(np.arange(100.0), 0.03 * np.arange(100.0), Noise(0.1, 0.0))
    assert found is not None
    assert found.drift == pytest.approx(0.18)
    left = 0.18**2 - 1.5**2 * 0.1**2 * 2.0 / 5.0
    assert found.deviation == pytest.approx((1.2**2 * 0.1**2 / 11.0 + left / 9.0) ** 0.5)


def test_a_channel_that_swings_is_not_at_rest_unless_asked_for() -> None:
    swings = np.tile([0.0, 1.0], 50)
    assert rest_of(np.arange(100.0), swings, CLEAN) is None
    found = rest_of(np.arange(100.0), swings, CLEAN, restless=True)
    assert found is not None
    assert (found.count, found.spread) == (11, 1.0)


def test_one_lost_contact_among_many_samples_is_no_swing() -> None:
    """The last 1.19 s are 120 samples: one of them 0.5 off moves the mean by 0.5 / 120 and spreads nothing."""
    values = np.full(2000, 3.0)
    values[1950] = 3.5
    found = rest_of(0.01 * np.arange(2000), values, CLEAN)
    assert found is not None
    assert found.count == 120
    assert found.spread == pytest.approx(0.0, abs=1e-12)
    assert found.value == pytest.approx(3.0 + 0.5 / 120)


def test_one_lost_contact_among_few_samples_is_a_swing() -> None:
    values = np.full(200, 3.0)
    values[195] = 3.5
    assert rest_of(0.1 * np.arange(200), values, CLEAN) is None


def test_fewer_than_three_samples_rest_nowhere() -> None:
    assert rest_of(np.arange(2.0), np.full(2, 1.0), CLEAN) is None
    found = rest_of(np.arange(4.0), np.array([1.0, np.nan, 1.0, 1.0]), CLEAN)
    assert found is not None
    assert found.count == 3


@given(
    level=floats(-10, 110),
    offset=floats(-50, 50),
    by_s=floats(0, 1e4),
    sign=sampled_from([-1.0, 1.0]),
    start_number=integers(0, 5),
)
def test_offset_mirror_and_shift_move_the_mean_and_the_times_only(
    level: float, offset: float, by_s: float, sign: float, start_number: int
) -> None:
    time, values = 0.1 * np.arange(200), noisy(np.full(200, level), 0.05, start_number)
    noise = Noise(0.05, 0.0)
    one, other = rest_of(time, values, noise), rest_of(time + by_s, sign * values + offset, noise)
    assert one is not None
    assert other is not None
    assert other.value == pytest.approx(sign * one.value + offset, abs=1e-9)
    assert other.from_s == pytest.approx(one.from_s + by_s, abs=1e-6)
    assert other.to_s == pytest.approx(one.to_s + by_s, abs=1e-6)
    assert other.drift == pytest.approx(sign * one.drift, abs=1e-9)
    assert (other.count, other.deviation) == (one.count, one.deviation)
    assert abs(one.value - level) < 5.0 * one.deviation
