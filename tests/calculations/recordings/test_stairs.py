"""Clear steps of a command, and what is none."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.stairs import clear_steps, near_steps, steps_beyond_slow
from tests.calculations.recordings.made import noisy


@pytest.mark.parametrize("rate_hz", [5.0, 10.0, 50.0])
def test_the_steps_of_a_staircase_are_found_where_they_are(rate_hz: float) -> None:
    """0.1 % every 4 s in noise of 0.02 %."""
    time = np.arange(0.0, 160.0, 1.0 / rate_hz)
    found = np.flatnonzero(clear_steps(noisy(50.0 + 0.1 * np.floor(time / 4.0), 0.02), 1.0 / rate_hz, Noise(0.02, 0.0)))
    at_s = (found + 1) / rate_hz
    nearest = 4.0 * np.round(at_s / 4.0)
    assert np.abs(at_s - nearest).max() <= 0.8
    assert len(np.unique(nearest)) >= 32  # of 39


@pytest.mark.parametrize("interval_s", [0.02, 0.1, 0.2, 1.0])
def test_ramps_beats_and_wander_have_none(interval_s: float) -> None:
    time = np.arange(0.0, 900.0, interval_s)
    knots = np.random.default_rng(2).normal(0.0, 0.05, 47)
    for slow in (
        np.interp(time % 72.0, [0.0, 36.0, 72.0], [0.0, 1.8, 0.0]),
        0.15 * np.sin(2.0 * np.pi * time / 50.0),
        np.interp(time, 20.0 * np.arange(47), knots),
    ):
        assert not clear_steps(noisy(slow, 0.01), interval_s, Noise(0.01, 0.0)).any()


def test_near_is_within_half_a_window() -> None:
    steps = np.zeros(20, dtype=bool)
    steps[10] = True
    assert np.flatnonzero(near_steps(steps, 4)).tolist() == [8, 9, 10, 11, 12]
    assert not near_steps(np.zeros(20, dtype=bool), 4).any()


@pytest.mark.parametrize(
    ("noise", "is_looked_for"),
    [
        (Noise(0.01, 0.0), False),
        (Noise(0.01, 0.0, wander=0.02), True),
        (Noise(0.01, 0.0, hum=0.1, hum_period_s=50.0), True),
        (Noise(0.01, 0.0, wander=0.02, hum=0.1, hum_period_s=10.0), False),
    ],
)
def test_steps_are_looked_for_where_something_slow_could_hide_them(noise: Noise, is_looked_for: bool) -> None:
    time = np.arange(0.0, 40.0, 0.1)
    assert steps_beyond_slow(time, noisy(np.where(time < 20.0, 50.0, 51.0), 0.01), noise).any() == is_looked_for


@pytest.mark.parametrize("rate_hz", [5.0, 10.0])
def test_a_staircase_is_no_wander_of_the_command(rate_hz: float) -> None:
    """Sixty steps of 0.1 % every 4 s, up and down, after a minute at rest."""
    time = np.arange(0.0, 600.0, 1.0 / rate_hz)
    stairs = 0.1 * np.interp(np.floor(np.maximum(time - 60.0, 0.0) / 4.0), [0.0, 60.0, 120.0], [0.0, 60.0, 0.0])
    command = np.round(noisy(50.0 + stairs, 0.02) / 0.005) * 0.005
    assert channels_of(Recording(time, command, noisy(command, 0.02, 9))).command.wander < 0.015
