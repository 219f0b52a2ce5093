"""How a travel follows what was asked for."""

from __future__ import annotations

import numpy as np
import pytest

from kit.calculations.recordings.following import follows, lag_and_errors


def stepped(number: int, interval_s: float, *, every_s: float = 1.15, size_pct: float = 0.42, jitter: float = 0.0):
    """Times, and a command in steps of random sizes as of any time."""
    generator = np.random.default_rng(number)
    time = np.arange(0.0, 1200.0, interval_s)
    time = time + jitter * interval_s * generator.uniform(-1.0, 1.0, time.size)
    steps_s = np.cumsum(generator.uniform(0.6, 1.4, 3000) * every_s)
    levels = 50.0 + generator.normal(0.0, size_pct, 3001) + np.cumsum(generator.normal(0.0, 0.1, 3001))

    def asked(at: np.ndarray) -> np.ndarray:
        return levels[np.searchsorted(steps_s, at, side="right")]

    return time, asked


def slow(asked, lag_s: float, at: np.ndarray) -> np.ndarray:
    """What a valve that takes twice the lag for any change makes of it: a mean over that time."""
    grid = np.arange(-2.0 * lag_s - 1.0, at[-1] + 1.0, 0.005)
    total = np.cumsum(asked(grid)) * 0.005
    return (np.interp(at, grid, total) - np.interp(at - 2.0 * lag_s, grid, total)) / (2.0 * lag_s)


@pytest.mark.parametrize("interval_s", [0.01, 0.2, 0.5])
@pytest.mark.parametrize("lag_s", [0.47, 0.9])
def test_the_error_of_a_stepped_command_does_not_depend_on_how_it_was_sampled(interval_s: float, lag_s: float) -> None:
    """Held against the same at 200 samples a second; a line between two samples would blunt each step."""
    time, asked = stepped(1, interval_s)
    fine, _ = stepped(1, 0.005)
    true = slow(asked, lag_s, fine) - asked(fine - lag_s)
    found = lag_and_errors(follows(time, asked(time), slow(asked, lag_s, time)), 0.0, 0.0)
    wanted = lag_s, true.mean(), np.sqrt((true**2).mean()), np.quantile(np.abs(true), 0.95)
    for figure, value in zip(found, wanted, strict=True):
        assert abs(figure.value - value) <= 2.0 * figure.standard_uncertainty
    assert found[2].value == pytest.approx(wanted[2], rel=0.02)
    assert found[3].value == pytest.approx(wanted[3], rel=0.04)


@pytest.mark.parametrize(("noise_pct", "jitter", "number"), [(0.0, 0.3, 1), (0.05, 0.0, 2), (0.15, 0.3, 3)])
def test_noise_however_much_of_what_is_told_it_is_lies_within_the_uncertainty(
    noise_pct: float, jitter: float, number: int
) -> None:
    """Told as it is, and as twice as much."""
    time, asked = stepped(number, 0.1, jitter=jitter)
    travel = slow(asked, 0.9, time)
    true = np.sqrt(np.mean((travel - asked(time - 0.9)) ** 2))
    noisy = travel + noise_pct * np.random.default_rng(number).standard_normal(time.size)
    for told_pct in (noise_pct, 2.0 * noise_pct):
        rms = lag_and_errors(follows(time, asked(time), noisy), told_pct, 0.0)[2]
        assert abs(rms.value - true) <= 2.0 * rms.standard_uncertainty


def test_no_lag_reaches_across_a_gap() -> None:
    """A minute is missing in which the command goes from 50 to 80 %: what was asked for in it is not known."""
    time, asked = stepped(2, 0.1)
    kept = (time < 500.0) | (time > 560.0)
    there = asked(time) + 30.0 * (time > 530.0)
    travel = slow(asked, 0.9, time) + 30.0 * (time > 530.9)
    mean = lag_and_errors(follows(time[kept], there[kept], travel[kept]), 0.0, 0.0)[1]
    assert mean.value == pytest.approx(0.0, abs=0.01)


def test_what_the_recorder_s_step_leaves_is_in_every_error() -> None:
    time, asked = stepped(3, 0.1)
    _, *errors = lag_and_errors(follows(time, asked(time), slow(asked, 0.9, time)), 0.0, 0.02)
    assert all(each.standard_uncertainty >= 0.02 for each in errors)
