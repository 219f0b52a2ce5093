"""Turning points of a travel that swings."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats, integers, sampled_from

from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.turns import hidden_period_s, least_seen_pct, turns_of

CLEAN = Noise(0.0, 0.0)


def swing(corners: list[float], heights: list[float], length_s: float, interval_s: float) -> tuple[np.ndarray, ...]:
    time = np.arange(0.0, length_s, interval_s)
    return time, 50.0 + np.interp(time % corners[-1], corners, heights)


def test_turns_of_a_trapezoid_lie_at_its_heights_and_its_flanks_half_way() -> None:
    """Up in 1 s, 2 s of rest, down in 1 s, 2 s of rest: 0.8 %, middles 3 s apart from 0.5 s on."""
    time, travel = swing([0, 1, 3, 4, 6], [0, 0.8, 0.8, 0, 0], 60.0, 0.1)
    found = turns_of(time, travel, CLEAN, 1)
    assert found.swings_pct == pytest.approx(np.full(len(found) - 1, 0.8), abs=2 * found.cut_pct)
    assert found.cut_pct < 0.025
    assert np.diff(found.middle_s) == pytest.approx(np.full(len(found) - 2, 3.0), abs=0.11)
    assert found.is_crest.tolist() == [number % 2 == 0 for number in range(len(found))]
    assert len(found.kept(2, 5)) == 4
    assert found.kept(2, 5).middle_s.tolist() == found.middle_s[2:5].tolist()


@settings(max_examples=40)
@given(
    pause_share=sampled_from([0.0, 0.3, 0.8]),
    amplitude_pct=floats(0.6, 3),
    noise_pct=sampled_from([0.01, 0.04]),
    rate_hz=sampled_from([10, 50]),
    start_number=integers(0, 10**6),
)
def test_noise_moves_neither_sharp_nor_flat_crests(
    pause_share: float, amplitude_pct: float, noise_pct: float, rate_hz: int, start_number: int
) -> None:
    """Of a swing of 6 s: triangle, or with rests; the extreme of many samples is too far out, their mean too near."""
    run = 3.0 * (1.0 - pause_share)
    time, travel = swing([0, run, 3, 3 + run, 6], [0, amplitude_pct, amplitude_pct, 0, 0], 120.0, 1.0 / rate_hz)
    travel = travel + np.random.default_rng(start_number).normal(0.0, noise_pct, time.size)
    found = turns_of(time, travel, Noise(noise_pct, 0.0), max(1, rate_hz // 20))
    u = (4.0 * found.cut_pct**2 / 3.0 + 2.0 * found.noise_pct**2) ** 0.5
    scatter = found.swings_pct.std(ddof=1) / len(found) ** 0.5
    assert abs(found.swings_pct.mean() - amplitude_pct) <= 3.0 * (u**2 + scatter**2) ** 0.5


def test_the_least_swing_that_shows_grows_with_noise_and_falls_with_longer_means() -> None:
    """Ten standard deviations of a mean, 0.05 % at least."""
    assert least_seen_pct(Noise(0.02, 0.0), 1) == pytest.approx(0.2)
    assert least_seen_pct(Noise(0.02, 0.0), 4) == pytest.approx(0.1)
    assert least_seen_pct(CLEAN, 1) == 0.05


def test_without_turns_there_is_nothing_to_place() -> None:
    time = np.arange(0.0, 60.0, 0.1)
    assert len(turns_of(time, np.full(600, 50.0), CLEAN, 1)) == 0
    assert len(turns_of(time, np.abs(time - 30.0), CLEAN, 1)) == 1


@pytest.mark.parametrize("period", [3.3, 5.7, 9.0])
def test_a_quick_swing_repeats_and_noise_a_step_and_a_creep_do_not(period: float) -> None:
    """Periods in samples of 0.1 s."""
    count = np.arange(1000)
    noise = np.random.default_rng(3).normal(0.0, 0.1, 1000)
    swings = 0.4 * np.sin(2 * np.pi * count / period)
    found = hidden_period_s(swings + 0.3 * noise, 0.1)
    assert found / (0.1 * period) == pytest.approx(round(found / (0.1 * period)), abs=0.1)
    assert found > 0.0
    assert hidden_period_s(noise, 0.1) == 0.0
    assert hidden_period_s(np.where(count < 500, 0.0, 10.0) + noise, 0.1) == 0.0
    assert hidden_period_s(0.01 * count + noise, 0.1) == 0.0
    assert hidden_period_s(np.clip(0.1 * (count - 300), 0.0, 20.0), 0.1) == 0.0
    assert hidden_period_s(0.02 * swings, 0.1) == 0.0
    assert hidden_period_s(swings[:40], 0.1) == 0.0


@pytest.mark.parametrize("on_samples", [1, 3, 8])
def test_pulses_that_go_on_one_way_repeat_and_are_no_swing(on_samples: int) -> None:
    """0.3 % a sample for some of every 19."""
    runs = np.arange(1000) % 19 < on_samples
    noise = np.random.default_rng(3).normal(0.0, 0.005, 1000)
    assert hidden_period_s(0.3 * np.cumsum(runs) + noise, 0.1) == 0.0
    back_and_forth = 0.3 * np.cumsum(np.where(np.arange(1000) % 4 < 2, 1.0, -1.0)) + noise
    assert hidden_period_s(back_and_forth, 0.1) == pytest.approx(0.4)
