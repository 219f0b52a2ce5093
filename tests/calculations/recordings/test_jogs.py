"""The short stands of a command that is jogged."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.jogs import stands_of_jogs
from kit.calculations.recordings.levels import Change, Level
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import noisy


def stands(step_pct: float, noise_pct: float, interval_s: float = 0.05) -> list[Level]:
    """Ten jogs, 1.4 s apart."""
    time = np.arange(0.0, 14.0, interval_s)
    command = noisy(50.0 + step_pct * np.floor(time / 1.4 + 1e-9), noise_pct)
    change = Change("jogs", 0.0, 14.0, float(command[0]), float(command[-1]), 7.0, 7.0)
    return stands_of_jogs(Recording(time, command, command), change, Noise(noise_pct, 0.0))


@pytest.mark.parametrize(("step_pct", "noise_pct"), [(0.1, 0.002), (0.25, 0.02), (0.5, 0.1)])
def test_each_stand_is_found_by_single_samples_or_by_means(step_pct: float, noise_pct: float) -> None:
    found = stands(step_pct, noise_pct)
    assert [each.command_pct for each in found] == pytest.approx(50.0 + step_pct * np.arange(10), abs=noise_pct)
    assert all(each.duration_s > 1.2 for each in found)


def test_a_stand_in_which_noise_may_hide_a_jog_is_none() -> None:
    """0.1 % under noise of 0.05: what is taken for one stand and spans two would be at neither command."""
    offsets = [abs(10.0 * (each.command_pct - 50.0) % 1.0 - 0.5) for each in stands(0.1, 0.05)]
    assert all(each > 0.3 for each in offsets)


def test_stands_of_two_samples_tell_nothing() -> None:
    assert stands(0.5, 0.002, interval_s=0.5) == []
