"""What a channel does so slowly that a mean over seconds does not lose it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from tests.calculations.recordings.made import Array
from tests.calculations.recordings.test_slow import held_within_u, routine

SET = 0.03  # standard deviation of every wander [%]


def random_walk(time_s: Array, start_number: int) -> Array:
    """Drawn back within a minute, 0.03 about its mean."""
    interval_s = float(time_s[1] - time_s[0])
    steps = np.random.default_rng(start_number).normal(0.0, SET * (2.0 * interval_s / 60.0) ** 0.5, time_s.size)
    walk, stands = np.empty(time_s.size), 0.0
    for place, step in enumerate(steps.tolist()):
        stands += step - stands * interval_s / 60.0
        walk[place] = stands
    return walk


def knots(time_s: Array, start_number: int, apart_s: float) -> Array:
    """Straight lines between places 0.03 about none."""
    places = np.arange(0.0, float(time_s[-1]) + 2.0 * apart_s, apart_s)
    return np.interp(time_s, places, np.random.default_rng(start_number).normal(0.0, SET, places.size))


def wandering(kind: str, interval_s: float, number: int) -> Recording:
    made = routine(interval_s, 0.01, number)
    walk = (
        random_walk(made.time_s, number)
        if kind == "random walk"
        else knots(made.time_s, number, float(kind.removesuffix(" s")))
    )
    return replace(made, travel_pct=made.travel_pct + walk)


@pytest.mark.parametrize("interval_s", [0.1, 0.2, 0.5])
@pytest.mark.parametrize("kind", ["random walk", "20 s", "60 s"])
def test_means_under_a_slow_wander_are_within_u(kind: str, interval_s: float) -> None:
    """In which no averaging helps: holds of 24 s, 240 of them."""
    assert np.mean([held_within_u(wandering(kind, interval_s, number)) for number in range(8)]) >= 0.93


@pytest.mark.parametrize("kind", ["random walk", "60 s"])
def test_of_a_wander_next_to_noise_at_one_sample_a_second_most_is_seen(kind: str) -> None:
    """Of means over 11 s noise leaves 0.003, and a wander of a minute moves them by 0.006."""
    assert np.mean([held_within_u(wandering(kind, 1.0, number)) for number in range(12)]) >= 0.8


@pytest.mark.parametrize("interval_s", [0.1, 1.0])
def test_white_noise_wanders_in_few_recordings(interval_s: float) -> None:
    """One in 200 on the long run: two of 40 by chance in one case of 60."""
    found = [channels_of(routine(interval_s, 0.02, number)).travel for number in range(40)]
    assert sum(each.wander > 0.0 for each in found) <= 1
    assert max(each.wander for each in found) < 0.02 * (0.5 if interval_s < 0.3 else 1.5)


def test_the_mean_of_a_quiet_hold_stays_as_sure_as_its_samples_make_it() -> None:
    """0.02 %, ten samples a second, 10 s: 2 x 1.2 x 0.02 over the root of 100."""
    found = channels_of(routine(0.1, 0.02)).travel
    assert 2.0 * 1.2 * found.of_mean(100) == pytest.approx(0.0048, rel=0.05)
