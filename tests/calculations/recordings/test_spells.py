"""Spells in which a travel swings."""

from __future__ import annotations

import numpy as np
import pytest

from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.spells import is_regular, mean_swing_pct, quick_width, samples_a_period, spells_of
from kit.calculations.recordings.turns import turns_of
from tests.calculations.recordings.made import noisy

CLEAN = Noise(0.0, 0.0)
TIME = np.arange(0.0, 120.0, 0.1)


def triangle(amplitude_pct: float, period_s: float) -> np.ndarray:
    return amplitude_pct * (np.abs(2.0 * ((TIME / period_s) % 1.0) - 1.0) - 0.5)


def test_two_spells_are_told_apart_and_what_fades_is_none() -> None:
    swings = np.where((TIME > 10) & (TIME < 40) | (TIME > 80) & (TIME < 110), triangle(1.0, 4.0), 0.0)
    _, spells, width, _ = spells_of(TIME, 50.0 + swings, CLEAN, 0.1)
    assert [round(float(each.at_s[0]), -1) for each in spells] == [10.0, 80.0]
    assert width == 1
    assert mean_swing_pct(spells) == pytest.approx(1.0, abs=0.05)
    assert samples_a_period(spells, 0.1) == pytest.approx(40.0, rel=0.05)
    fading = 20.0 * np.exp(-TIME / 3.0) * np.cos(2 * np.pi * TIME / 4.0)
    assert spells_of(TIME, 50.0 + fading, CLEAN, 0.1)[1] == []


def test_a_slow_swing_beneath_a_quick_one_is_the_one_that_counts() -> None:
    """0.1 % at every sample, as hum at half the sampling rate, upon 1 % in 8 s."""
    quick = 0.05 * (-1.0) ** np.arange(TIME.size)
    _, spells, width, _ = spells_of(TIME, 50.0 + triangle(1.0, 8.0) + quick, CLEAN, 0.1)
    assert width > 1
    assert mean_swing_pct(spells) == pytest.approx(1.0, abs=0.15)


def test_noise_alone_makes_no_spell() -> None:
    assert spells_of(TIME, noisy(np.full(TIME.size, 50.0), 0.05), Noise(0.05, 0.0), 0.1)[1] == []


def test_each_way_is_regular_for_itself() -> None:
    """1 s up and 5 s down is regular; 1, 5, 3, 9, 2, 8 s in turn is not."""
    even = turns_of(TIME, 50.0 + np.interp(TIME % 6.0, [0, 1, 6], [0, 1, 0]), CLEAN, 1)
    assert is_regular(even, 0.1)
    ends = np.cumsum([0.0, *np.tile([1.0, 5.0, 3.0, 9.0, 0.5, 15.0], 4)])
    odd = turns_of(TIME, 50.0 + np.interp(TIME, ends, np.arange(ends.size) % 2), CLEAN, 1)
    assert not is_regular(odd, 0.1)


def test_a_quick_swing_is_looked_for_in_a_quarter_of_a_second() -> None:
    assert [quick_width(each) for each in (0.01, 0.1, 1.0, 0.0)] == [25, 2, 1, 1]
