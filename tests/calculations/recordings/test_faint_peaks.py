"""Peaks that no single sample shows, and what may be hidden where none is seen."""

from __future__ import annotations

import numpy as np
import pytest

from kit.calculations.recordings.faint_peaks import between_samples, faint_peak
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import Array, second_order

NOISY = Noise(0.1, 0.0)


def arrived(speed_pct_s: float, interval_s: float, offset: float = 0.0, length_s: float = 30.0) -> tuple[Array, Array]:
    """A travel that comes to its end at 5 s, evenly, and stays."""
    time = np.arange(0.0, length_s, interval_s) + offset * interval_s
    return time, np.minimum(speed_pct_s * (time - 5.0), 0.0)


def test_a_peak_that_single_samples_show_is_not_faint() -> None:
    time, height = arrived(5.0, 0.1)
    assert faint_peak(time, height + np.where(np.abs(time - 6.0) < 0.3, 0.9, 0.0), NOISY) is None


@pytest.mark.parametrize(("rate_hz", "noise_pct"), [(20.0, 0.1), (50.0, 0.1), (100.0, 0.2)])
def test_a_faint_swing_is_covered(rate_hz: float, noise_pct: float) -> None:
    """10 exp(-pi z / sqrt(1 - z^2)) with z = 0.75: 0.2838 beyond the end, near the noise's band of 0.5; of forty."""
    generator = np.random.default_rng(3)
    outside = 0
    for _ in range(40):
        time = np.arange(0.0, 30.0, 1.0 / rate_hz) + generator.uniform(0.0, 1.0 / rate_hz)
        beyond = 10.0 * (second_order(0.75, 1.0)(time) - 1.0) + generator.normal(0.0, noise_pct, time.size)
        found = faint_peak(time, beyond, Noise(noise_pct, 0.0))
        assert found is not None
        outside += abs(found.height - 0.2838) > 2.0 * (found.deviation**2 + found.half_width**2 / 3.0) ** 0.5
    assert outside <= 3


def test_where_none_is_seen_as_much_is_left_as_the_noise_could_hide() -> None:
    """At 5 a second under noise of 0.1, 20 samples a second: (c x 0.1 x root(5 x 0.05 / 4))^(2/3).

    c is what a single one of n samples must exceed to be seen, root(2 ln n) + 1.5: 5.16 of 800, so 0.255.
    """
    generator = np.random.default_rng(4)
    time, height = arrived(5.0, 0.05)
    found = faint_peak(time, height + generator.normal(0.0, 0.1, time.size), NOISY)
    assert found is not None
    assert found.height == 0.0
    assert found.half_width == pytest.approx(0.255, rel=0.15)
    slow_time, slow = arrived(0.25, 0.05)
    still = faint_peak(slow_time, slow + generator.normal(0.0, 0.1, time.size), NOISY)
    assert still is not None
    assert still.half_width < 0.6 * found.half_width


def test_between_coarse_samples_the_speed_of_arrival_tells_what_may_be_hidden() -> None:
    """5 a second, a sample a second, the last on the way 0.3 s before the end: 0.7 s are left, 5 x 0.7 / 4."""
    time, height = arrived(5.0, 1.0, offset=0.7)
    assert between_samples(time, height, Noise(0.0, 0.0)) == pytest.approx(5.0 * 0.7 / 4.0)
    assert between_samples(*arrived(5.0, 0.1, offset=0.0), Noise(0.0, 0.0)) < 5.0 * 0.1 / 4.0 + 1e-9


def test_a_single_sample_beyond_the_end_leaves_a_whole_interval_and_three_in_a_row_nothing() -> None:
    time, height = arrived(5.0, 0.5)
    one, three = height.copy(), height.copy()
    one[11], three[11:14] = 1.0, (1.0, 1.2, 0.8)
    assert between_samples(time, one, Noise(0.01, 0.0)) == pytest.approx(5.0 * 0.5 / 4.0, rel=0.5)
    assert between_samples(time, three, Noise(0.01, 0.0)) == 0.0
