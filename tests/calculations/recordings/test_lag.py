"""The lag of a filtered feedback."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.arrays import BoolArray
from kit.calculations.recordings.lag import lag_of, lagged, left_bent, left_open, spot_shown, unlagged
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
    moving, way = ways_of(fine[::every])
    assert lag_of(position, feedback, moving, way, interval_s) == pytest.approx(lag_s, rel=0.2)
    assert lag_of(position, noisy(fine[::every], 0.03, 3), moving, way, interval_s) == 0.0


def ways_of(position: Array) -> tuple[BoolArray, Array]:
    """Where a valve moves, and the way that it last went."""
    change = np.gradient(position)
    moved_at = np.maximum.accumulate(np.where(change == 0.0, 0, np.arange(position.size)))
    return change != 0.0, np.sign(change)[moved_at]


@pytest.mark.parametrize("play_pct", [-1.0, 1.0])
def test_play_is_no_lag(play_pct: float) -> None:
    """Either is behind on the way, but what lags catches up at the end of it."""
    fine = strokes(0.1, 5.0)
    moving, way = ways_of(fine)
    behind = noisy(fine + play_pct * way, 0.03, 2)
    assert lag_of(noisy(fine, 0.03, 1), behind, moving, way, 0.1) == 0.0
    assert lag_of(behind, noisy(fine, 0.03, 1), moving, way, 0.1) == 0.0


def test_nothing_that_moves_tells_no_lag() -> None:
    still, way = np.full(200, 50.0), np.zeros(200)
    assert lag_of(still, still, np.zeros(200, dtype=bool), way, 0.1) == 0.0
    assert lag_of(still, still, np.ones(200, dtype=bool), way, 0.0) == 0.0


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


@pytest.mark.parametrize("offset", range(1, 100, 7))
def test_a_jump_between_samples_leaves_no_more_open_than_that(offset: int) -> None:
    """10 % in 20 ms at any time between two samples of 0.2 s, and a steady motion, which leaves nothing open."""
    fine = 0.002 * np.arange(5000.0)
    jump = np.interp(fine, [3.0 + 0.002 * offset, 3.02 + 0.002 * offset], [0.0, 10.0])
    every = slice(None, None, 100)
    off = lagged(jump, 0.002, 0.5)[every] - lagged(jump[every], 0.2, 0.5)
    most = left_open(jump[every], 0.2, 0.5)
    assert (np.abs(off) <= most + 1e-9).all()
    assert most.max() < 3.0
    assert left_open(fine[every], 0.2, 0.5)[5:-5].max() < 0.01
    assert not left_open(jump[every], 0.2, 0.0).any()


@pytest.mark.parametrize("lasts_s", [0.3, 1.0, 4.0])
@pytest.mark.parametrize("lag_s", [0.0, 0.1, 0.4, 1.5])
def test_a_bad_spot_shows_as_much_as_is_said(lasts_s: float, lag_s: float) -> None:
    """Against the filter worked out in small steps."""
    fine = 0.002 * np.arange(-5000.0, 5000.0)
    spot = np.maximum(1.0 - np.abs(fine) / (lasts_s / 2.0), 0.0)
    given, _ = unlagged(lagged(spot, 0.002, lag_s), 0.002, lag_s, 0.1)
    said = spot_shown(fine, np.full(fine.size, lasts_s), lag_s, 0.1)
    np.testing.assert_allclose(said, np.minimum(given, 1.0), atol=0.01)


def test_a_change_within_the_time_it_is_taken_over_leaves_as_much_open() -> None:
    """A valve that starts at 10 % a second, its position behind a filter of 0.4 s and freed of it."""
    fine = 0.002 * np.arange(5000.0)
    moved = np.interp(fine, [4.05, 8.05], [0.0, 40.0])
    every = slice(None, None, 100)
    seen = lagged(moved, 0.002, 0.4)[every]
    off = np.abs(unlagged(seen, 0.2, 0.4, 0.2)[0] - moved[every])
    assert off.max() > 0.1
    assert (off <= left_bent(seen, 0.2, 0.4, 0.2) + 1e-3)[1:-1].all()
    assert not left_bent(seen, 0.2, 0.0, 0.2).any()
