"""When the valve moves, and which way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.motion import Motion, motion_of, one_way_extents, ways
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import later, mirrored, moved, noisy, resting

CLEAN = Noise(0.0, 0.0)


def motion(recording: Recording) -> Motion:
    return motion_of(recording, channels_of(recording).travel)


@settings(max_examples=25)
@given(
    speed=floats(1, 20),
    start_s=floats(5, 20),
    length_s=floats(1, 8),
    by_s=integers(0, 10**6),
    mirrors=booleans(),
    noise_pct=sampled_from([0.0, 0.02]),
)
def test_one_motion_is_one_episode_of_its_length_wherever_it_lies(
    speed: float, start_s: float, length_s: float, by_s: int, mirrors: bool, noise_pct: float
) -> None:
    rise = speed * length_s
    made = moved([0, start_s, start_s + length_s, 60], [10, 10, 10 + rise, 10 + rise], length_s=60.0, interval_s=0.125)
    made = replace(made, travel_pct=noisy(made.travel_pct, noise_pct, 4) if noise_pct else made.travel_pct)
    found = motion(later(mirrored(made) if mirrors else made, by_s))
    assert len(found) == 1
    within = found.window_s + 0.25
    assert abs(found.from_s[0] - by_s - start_s) <= within
    assert abs(found.to_s[0] - by_s - start_s - length_s) <= within
    assert found.change_pct[0] == pytest.approx(-rise if mirrors else rise, abs=0.2)
    running = np.flatnonzero(found.moving)
    assert (running[0], running[-1]) == (
        np.searchsorted(made.time_s + by_s, found.from_s[0]),
        np.searchsorted(made.time_s + by_s, found.to_s[0]),
    )
    assert found.moving.sum() == running[-1] - running[0] + 1


def test_a_motion_by_hand() -> None:
    """2 % a second from 10 to 15 s: seen from the last sample at rest to the first, with a window of one sample."""
    found = motion(moved([0, 10, 15, 60], [10, 10, 20, 20], length_s=60.0))
    assert (found.from_s[0], found.to_s[0]) == pytest.approx((10.0, 15.0), abs=0.11)
    assert found.change_pct.tolist() == [pytest.approx(10.0)]
    assert found.window_s == pytest.approx(0.1)
    assert found.within(0.0, 60.0) == [0]
    assert found.within(11.0, 60.0) == []
    assert found.within(float(found.from_s[0]), float(found.from_s[0])) == [0]


@pytest.mark.parametrize(("jump_pct", "seen"), [(0.045, 0), (0.055, 1)])
def test_a_jump_of_a_twentieth_of_a_percent_is_motion(jump_pct: float, seen: int) -> None:
    assert len(motion(moved([0, 30, 30.05, 60], [10, 10, 10 + jump_pct, 10 + jump_pct], length_s=60.0))) == seen


def test_a_step_of_the_recorder_is_no_motion_and_two_are() -> None:
    travel = np.where(np.arange(600) < 300, 10.0, 10.2)
    assert len(motion_of(resting(travel, 0.1), Noise(0.0, 0.2))) == 0
    assert len(motion_of(resting(travel, 0.1), Noise(0.0, 0.1))) == 1


def test_noise_is_no_motion() -> None:
    found = motion(resting(noisy(np.full(5000, 50.0), 0.1), 0.01))
    assert len(found) == 0
    assert not found.moving.any()


def test_a_slow_motion_under_noise_needs_a_wider_window() -> None:
    """Half of 10 % a second passes 6 x 0.05 x root of 2 / n in a window of n samples of 0.042 s, of 0.5 % of 0.31 s."""
    quick = moved([0, 20, 25, 60], [10, 10, 60, 60], length_s=60.0, interval_s=0.01)
    slow = moved([0, 20, 40, 60], [10, 10, 20, 20], length_s=60.0, interval_s=0.01)
    quick, slow = (replace(each, travel_pct=noisy(each.travel_pct, 0.05)) for each in (quick, slow))
    assert motion(quick).window_s == pytest.approx(0.05)
    assert motion(slow).window_s == pytest.approx(0.4)
    assert len(motion(quick)) == 1


def test_nothing_moves_across_a_break_or_in_fewer_than_four_samples() -> None:
    """A jump of 20 % while nothing was recorded for half a second; a tenth of a second is no break."""
    time = np.arange(600) * 0.1
    travel = np.where(np.arange(600) < 300, 10.0, 30.0)
    broken = Recording(time + np.where(np.arange(600) < 300, 0.0, 0.4), np.full(600, 50.0), travel)
    whole = Recording(time + np.where(np.arange(600) < 300, 0.0, 0.1), np.full(600, 50.0), travel)
    assert len(motion(broken)) == 0
    assert len(motion(whole)) == 1
    few = motion(resting(np.array([0.0, 10.0, 20.0]), 0.1))
    assert (len(few), few.window_s, few.moving.tolist()) == (0, 0.0, [False] * 3)
    assert len(motion_of(resting(np.array([0.0, 10.0, 20.0, 30.0]), 0.1), CLEAN)) == 1


def test_lost_samples_of_the_travel_do_not_move() -> None:
    recording = moved([0, 10, 15, 60], [10, 10, 20, 20], length_s=60.0)
    travel = recording.travel_pct.copy()
    travel[120] = np.nan
    found = motion(replace(recording, travel_pct=travel))
    assert not found.moving[120]
    assert found.moving[119]
    assert len(found) == 1


def test_a_turn_without_a_pause_ends_one_motion_and_begins_the_next() -> None:
    """Ten swings of 2 % at 2 % a second, turning at once: one episode each, in turn up and down."""
    corners = [10.0 + 2.0 * (number % 2) for number in range(11)]
    made = moved([0, *range(20, 31), 60], [10, *corners, corners[-1]], length_s=60.0)
    found = motion(replace(made, travel_pct=noisy(made.travel_pct, 0.001)))
    assert len(found) == 10
    assert found.change_pct == pytest.approx([2.0, -2.0] * 5, abs=0.05)
    assert found.from_s[1:] == pytest.approx(found.to_s[:-1], abs=0.11)


def test_ways_need_more_than_noise_a_step_and_the_least_move() -> None:
    travel = np.array([0.0, 0.0, 0.3, 0.3, 0.0, 0.0])
    assert ways(travel, 1, Noise(0.0, 0.0)).tolist() == [0, 1, 0, -1, 0]
    assert ways(travel, 1, Noise(0.0, 0.3)).tolist() == [0] * 5
    assert ways(travel, 1, Noise(0.036, 0.0)).tolist() == [0] * 5
    assert ways(travel, 1, Noise(0.0, 0.0), 0.4).tolist() == [0] * 5
    assert one_way_extents(np.array([-1, -1, 1, 0, 1])) == [(0, 1, -1), (2, 2, 1), (4, 4, 1)]
