"""Two levels of a channel."""

from __future__ import annotations

from math import isnan

import numpy as np
import pytest

from kit.calculations.recordings.two_levels import two_levels

IDLE_V, NOISE_V = 24.0, 0.2


def lot(part: float, fall_v: float, count: int, number: int, noise_v: float = NOISE_V) -> np.ndarray:
    """Samples of which a part is lower, in pieces of 20."""
    generator = np.random.default_rng(number)
    lower = np.repeat(generator.random(count // 20) < part, 20)
    return np.round(IDLE_V - fall_v * lower + generator.normal(0.0, noise_v, lower.size), 1)


@pytest.mark.parametrize("fall_v", [0.3, 0.8, 3.0])
@pytest.mark.parametrize(("of_idle", "of_running"), [(0.0, 0.2), (0.0, 0.7), (0.15, 1.0), (0.1, 0.5)])
def test_the_fall_is_found_whatever_part_of_either_lot_is_of_the_other_level(
    fall_v: float, of_idle: float, of_running: float
) -> None:
    errors = []
    for number in range(30):
        found = two_levels(lot(of_idle, fall_v, 8000, number), lot(of_running, fall_v, 2000, number + 500))
        assert found is not None
        errors.append((found.fall - fall_v, 2.0 * found.deviation))
    off, known_to = np.array(errors).T
    assert np.mean(np.abs(off) <= known_to) >= 0.9
    assert np.mean(known_to) < 0.35 * fall_v
    assert found.upper == pytest.approx(IDLE_V, abs=0.03)


def test_lots_of_one_level_each_and_one_that_rises_are_left_as_they_are() -> None:
    """In 40 of each; the mean of either is what a plain mean is."""
    for number in range(40):
        assert two_levels(lot(0.0, 0.0, 8000, number), lot(1.0, 0.8, 2000, number + 500)) is None
    assert two_levels(lot(0.0, 0.0, 8000, 1), lot(0.3, -0.8, 2000, 2)) is None
    assert two_levels(lot(0.0, 0.0, 20, 1), lot(0.3, 0.8, 2000, 2)) is None


def test_an_idle_level_that_drifts_either_way_is_no_mixture() -> None:
    drift = 0.3 * np.sin(np.arange(8000) / 300.0)
    assert two_levels(lot(0.0, 0.0, 8000, 1) + drift, lot(1.0, 0.8, 2000, 2)) is None


def test_a_fall_in_a_few_samples_of_many_cannot_be_told() -> None:
    """5 in 1000: their mean does not stand out, what they scatter does."""
    few = lot(0.0, 0.0, 1000, 3)
    few[100:105] -= 3.0
    found = two_levels(lot(0.0, 0.0, 8000, 1), few)
    assert found is not None
    assert isnan(found.fall)


def test_a_fall_that_is_deepest_at_first_is_not_of_two_levels() -> None:
    sags = 3.0 * np.exp(-(np.arange(2000) % 50) / 15.0)
    assert two_levels(lot(0.0, 0.0, 8000, 1), lot(0.0, 0.0, 2000, 2) - sags) is None
