"""Noise of a channel and the step of its recorder."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers, sampled_from

from kit.calculations.recordings.noise import Noise, noise_of, quietest_noise


def normal(deviation: float, count: int = 20_000, start_number: int = 1) -> np.ndarray:
    return np.random.default_rng(start_number).normal(0.0, deviation, count)


def test_noise_of_a_normal_channel_is_its_standard_deviation() -> None:
    assert noise_of(normal(0.05), 0.01).deviation == pytest.approx(0.05, rel=0.03)
    assert noise_of(normal(0.05), 1.0).deviation == pytest.approx(0.05, rel=0.03)


def test_noise_of_a_coarse_recorder_is_not_less_than_its_step_allows() -> None:
    values = np.round(normal(0.03, 5000) / 0.1) * 0.1
    found = noise_of(values, 0.01)
    assert found.flickers
    assert found.quantum == pytest.approx(0.1)
    assert found.deviation >= 0.1 / 12**0.5


def test_steady_motion_is_no_noise() -> None:
    time = np.arange(2000) * 0.01
    assert noise_of(3.0 * time, 0.01).deviation == pytest.approx(0.0, abs=1e-9)
    assert noise_of(3.0 * time + normal(0.05, 2000), 0.01).deviation == pytest.approx(0.05, rel=0.1)


@pytest.mark.parametrize(("interval_s", "seen"), [(0.001, True), (0.0075, True), (0.0076, False), (0.1, False)])
def test_filtered_noise_is_seen_by_lags_of_four_samples_within_three_hundredths_of_a_second(
    interval_s: float, seen: bool
) -> None:
    """Means over four samples: the deviation halves, and samples four apart know nothing of each other."""
    filtered = np.convolve(normal(0.1), np.full(4, 0.25), mode="valid")
    found = noise_of(filtered, interval_s).deviation
    assert (found == pytest.approx(0.05, rel=0.05)) is seen
    assert found <= 0.0526


@given(scale=floats(0.2, 5.0), offset=floats(-100, 100), sign=sampled_from([-1.0, 1.0]), start_number=integers(0, 5))
def test_noise_scales_with_its_channel_and_knows_no_offset(
    scale: float, offset: float, sign: float, start_number: int
) -> None:
    values = normal(0.05, 500, start_number)
    one, other = noise_of(values, 0.1), noise_of(sign * scale * values + offset, 0.1)
    assert other.deviation == pytest.approx(scale * one.deviation, rel=1e-6)
    quiet, other_quiet = quietest_noise(values, one), quietest_noise(sign * scale * values + offset, other)
    assert other_quiet.deviation == pytest.approx(scale * quiet.deviation, rel=1e-6)
    assert quiet.deviation <= one.deviation


def test_fewer_than_four_samples_have_no_noise() -> None:
    assert noise_of([1.0, 2.0, 1.0], 1.0) == Noise(0.0, 0.0)
    assert noise_of([1.0, np.nan, 2.0, 1.0], 1.0) == Noise(0.0, 0.0)
    assert noise_of([0.0, 1.0, 0.0, 1.0], 1.0).deviation > 0.0


def test_lost_samples_are_skipped() -> None:
    values = normal(0.05)
    values[::7] = np.nan
    assert noise_of(values, 0.1).deviation == pytest.approx(0.05, rel=0.03)


def test_the_quietest_stretch_of_a_valve_that_never_rests() -> None:
    """Two blocks of 50 quiet samples among wild ones; 1.3 times the least of the estimates."""
    values = np.concatenate((normal(0.5, 200), normal(0.01, 100, 2)))
    found = quietest_noise(values, noise_of(values, 0.1))
    assert 0.009 < found.deviation < 0.016
    second = np.abs(np.diff(values.reshape(6, 50), 2, axis=1)).mean(axis=1).min()
    assert found.deviation == pytest.approx(1.3 * second / (2 / np.pi) ** 0.5 / 6**0.5)


def test_less_than_two_blocks_have_no_quietest_stretch() -> None:
    known = Noise(0.2, 0.1, True)
    assert quietest_noise(normal(0.01, 99), known) is known
    assert quietest_noise(normal(0.01, 100), known).deviation == pytest.approx(0.1 / 12**0.5)
    assert quietest_noise(normal(0.01, 100), Noise(0.2, 0.1)).deviation < 0.02


@pytest.mark.parametrize(
    ("step", "held", "quantum"), [(0.25, 5, 0.25), (0.00005, 5, 0.0), (1.0, 5, 1.0), (1.5, 5, 0.0), (0.25, 1, 0.0)]
)
def test_the_step_of_a_recorder_shows_where_changes_stand_alone(step: float, held: int, quantum: float) -> None:
    stairs = np.repeat(step * np.arange(40), held)
    found = noise_of(stairs, 1.0)
    assert found.quantum == pytest.approx(quantum)
    assert not found.flickers
    assert found.flicker == 0.0


def test_a_step_needs_eight_changes_that_are_whole_multiples_of_it() -> None:
    assert noise_of(np.repeat(0.25 * np.arange(9), 5), 1.0).quantum == 0.25
    assert noise_of(np.repeat(0.25 * np.arange(8), 5), 1.0).quantum == 0.0
    odd = np.cumsum(np.random.default_rng(1).normal(0.2, 0.03, 10))
    assert noise_of(np.repeat(odd, 5), 1.0).quantum == 0.0


def test_a_recorder_flickers_where_it_jumps_back_and_forth_three_times() -> None:
    rises = np.repeat(0.1 * np.arange(12), 4)
    twice, thrice = rises.copy(), rises.copy()
    twice[[5]] += 0.1  # one jump and back: two turns
    thrice[[5, 25]] += 0.1
    assert not noise_of(twice, 1.0).flickers
    assert noise_of(thrice, 1.0).flickers
    assert noise_of(thrice, 1.0).flicker == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("noise", "band"),
    [
        (Noise(0.1, 0.2), 0.5),
        (Noise(0.1, 0.8, True), 0.84),
        (Noise(0.1, 0.8), 0.5),
        (Noise(0.1, 0.2, wander=0.1, hum=0.3), 0.8),
    ],
)
def test_the_band_is_five_deviations_or_just_over_a_flicker_with_hum(noise: Noise, band: float) -> None:
    assert noise.band == pytest.approx(band)
    assert noise.reach == pytest.approx(band + 2.0 * noise.wander)


@pytest.mark.parametrize(
    ("noise", "count", "expected"),
    [
        (Noise(0.1, 0.0), 4, 0.05),
        (Noise(0.0, 0.12), 100, 0.12 / 12**0.5),  # every sample may be off the same way
        (Noise(0.12 / 12**0.5, 0.12, True), 100, 0.12 / 12**0.5 * (1.0 + 1.0 / 100.0) ** 0.5),
        (Noise(0.1, 0.12), 10_000, (0.001**2 + (0.1 * 0.12) ** 2 / 12.0) ** 0.5),
        (Noise(0.1, 0.12), 0, float("inf")),
        (Noise(0.0, 0.0, wander=0.02), 10_000, 0.02),
        (Noise(0.0, 0.0, hum=0.02, hum_period_s=30.0), 10_000, 0.02 / 2**0.5),
        (Noise(0.4, 0.0, wander=0.3), 4, (0.2**2 + 0.3**2) ** 0.5),
    ],
)
def test_a_mean_is_quieter_down_to_what_no_averaging_takes_away(noise: Noise, count: int, expected: float) -> None:
    assert noise.of_mean(count) == pytest.approx(expected)


@given(share=floats(0.05, 1.0), level=floats(0.0, 1.0), start_number=integers(0, 20))
def test_what_a_step_leaves_open_covers_the_mean_of_samples_with_noise_beneath_it(
    share: float, level: float, start_number: int
) -> None:
    """Steps of 1 and normal noise of a share of that; 4,000 samples: what is left is what the step leaves."""
    values = np.round(level + normal(share, 4000, start_number))
    whole = (share**2 + 1.0 / 12.0) ** 0.5
    assert abs(float(values.mean()) - level) <= 2.5 * Noise(whole, 1.0, True).of_mean(4000) + 1e-9


def test_means_of_samples_keep_what_no_averaging_takes_away() -> None:
    noise = Noise(0.02, 0.02, True, wander=0.005, hum=0.01, hum_period_s=40.0)
    means = noise.averaged(4)
    assert (means.deviation, means.wander, means.hum, means.flickers) == (0.01, 0.005, 0.01, False)
    assert means.of_mean(25) == pytest.approx(noise.of_mean(100), rel=0.2)
    assert Noise(0.0, 0.12).averaged(9).of_mean(9) == pytest.approx(Noise(0.0, 0.12).of_mean(81))


def test_a_beat_moves_a_channel_by_its_swing_at_most() -> None:
    """0.1 sin(2 pi t / 40): within 40 / 6 s by 2 x 0.1 sin(30 degrees), within half a period by 0.2."""
    noise = Noise(0.0, 0.0, hum=0.1, hum_period_s=40.0)
    assert noise.swing_in(40.0 / 6.0) == pytest.approx(0.1)
    assert noise.swing_in(20.0) == noise.swing_in(200.0) == pytest.approx(0.2)
    assert Noise(0.1, 0.1).swing_in(10.0) == 0.0


@pytest.mark.parametrize(
    "values",
    [np.full(200, 50.0), np.repeat([50.0, 50.1], 100), np.random.default_rng(1).normal(50.0, 0.03, 400)],
    ids=["still", "one change", "no steps"],
)
def test_a_channel_without_a_recorders_step_does_not_flicker_by_it(values: np.ndarray) -> None:
    found = noise_of(values, 0.1)
    assert (found.quantum, found.flickers) == (0.0, False)
