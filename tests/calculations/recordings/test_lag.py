"""The lag of a filtered feedback."""

from __future__ import annotations

import numpy as np
import pytest

from kit.calculations.recordings.lag import lag_of, lagged, unlagged
from tests.calculations.recordings.made import Array, noisy


def strokes(interval_s: float, speed_pct_s: float) -> Array:
    took = 100.0 / speed_pct_s
    time = np.arange(0.0, 30.0 + 2.0 * took, interval_s)
    return np.interp(time, [10.0, 10.0 + took, 20.0 + took, 20.0 + 2.0 * took], [0.0, 100.0, 100.0, 0.0])


@pytest.mark.parametrize(("interval_s", "speed_pct_s", "lag_s"), [(0.02, 20.0, 0.4), (0.1, 5.0, 1.0), (0.5, 20.0, 0.3)])
def test_a_lag_is_found_whatever_the_track_is_bent_by_and_however_it_is_sampled(
    interval_s: float, speed_pct_s: float, lag_s: float
) -> None:
    """A bow of 1 % and a bad spot of 20 %, filtered in steps of 5 ms."""
    fine = strokes(0.005, speed_pct_s)
    shown = fine + 4.0 * fine / 100.0 * (1.0 - fine / 100.0) - 20.0 * (np.abs(fine - 40.0) < 0.6)
    every = round(interval_s / 0.005)
    position, feedback = noisy(fine[::every], 0.03, 1), noisy(lagged(shown, 0.005, lag_s)[::every], 0.03, 2)
    moving = np.abs(np.gradient(fine[::every])) > 0.0
    assert lag_of(position, feedback, moving, interval_s) == pytest.approx(lag_s, rel=0.2)
    assert lag_of(position, noisy(fine[::every], 0.03, 3), moving, interval_s) == 0.0


def test_nothing_that_moves_tells_no_lag() -> None:
    still = np.full(200, 50.0)
    assert lag_of(still, still, np.zeros(200, dtype=bool), 0.1) == 0.0
    assert lag_of(still, still, np.ones(200, dtype=bool), 0.0) == 0.0


def test_a_ramp_lags_by_the_time_constant() -> None:
    """Far into a ramp of 2 a second behind 3 s: 6 lower."""
    ramp = np.where(np.arange(1000) == 500, np.nan, 0.2 * np.arange(1000.0))
    behind = lagged(ramp, 0.1, 3.0)
    assert behind[-1] == pytest.approx(ramp[-1] - 6.0)
    assert behind[0] == pytest.approx(ramp[0])


def test_what_a_filter_smeared_stands_where_it_was() -> None:
    pulse = np.where(np.abs(np.arange(1000) - 500) <= 10, 5.0, 0.0)
    given, grows = unlagged(lagged(pulse, 0.01, 0.5), 0.01, 0.5, 0.05)
    assert given[500] == pytest.approx(5.0, abs=0.05)
    assert np.abs(given[530:]).max() < 0.1
    assert grows == pytest.approx(np.hypot(1.0, 0.5 / (0.05 * 2.0**0.5)))
    same, once = unlagged(pulse, 0.01, 0.0, 0.05)
    assert (same is pulse, once) == (True, 1.0)
