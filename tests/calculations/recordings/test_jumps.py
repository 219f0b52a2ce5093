"""The jumps in which a valve follows a ramp, and when each starts and ends."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.jumps import Jump, bounds_of, jump_of, jumps_on
from kit.calculations.recordings.motion import Motion, motion_of
from kit.calculations.recordings.noise import Noise, noise_of
from tests.calculations.recordings.made import noisy

RAMP = Segment("ramp_up", 20.0, 120.0)
QUIET = Noise(0.002, 0.0)


def motion(*episodes: tuple[float, float, float], window_s: float = 0.1) -> Motion:
    starts, ends, changes = (np.array(each) for each in zip(*episodes, strict=True))
    return Motion(np.zeros(1, dtype=bool), starts, ends, changes, window_s)


def changes(*episodes: tuple[float, float, float], noise: Noise = QUIET) -> list[float]:
    return [each.change_pct for each in jumps_on(RAMP, motion(*episodes), noise, 0.1)]


THREE = ((30.0, 30.5, 0.5), (40.0, 40.5, 0.6), (50.0, 50.5, 0.5))


def test_three_short_motions_are_jumps() -> None:
    assert changes(*THREE) == [0.5, 0.6, 0.5]
    assert changes(*THREE[:2]) == []


@pytest.mark.parametrize(("jumped_pct", "told"), [(0.4, False), (0.6, True)])
def test_half_of_the_travel_must_be_in_jumps(jumped_pct: float, told: bool) -> None:
    """The rest in one motion of 60 s, of which a quarter of the ramp is too long for a jump."""
    even = (22.0, 82.0, 3.0 * (1.0 - jumped_pct))
    jumps = [(90.0 + 8.0 * number, 90.5 + 8.0 * number, jumped_pct) for number in range(3)]
    assert (len(changes(even, *jumps)) == 3) is told


def test_a_valve_that_runs_most_of_the_time_does_not_jump() -> None:
    assert changes(*((22.0 + 9.0 * number, 30.0 + 9.0 * number, 0.5) for number in range(10))) == []


def test_jumps_must_be_twice_the_least_that_is_seen() -> None:
    """Five deviations of 0.1, over the root of half a window of one sample: 0.71."""
    loud = Noise(0.1, 0.0)
    assert changes(*THREE, noise=loud) == []
    assert len(changes(*((start, end, 3.0) for start, end, _ in THREE), noise=loud)) == 3


def test_motions_that_a_short_stand_parts_are_one_and_a_small_one_is_none() -> None:
    parted = ((30.0, 30.2, 0.2), (30.4, 30.6, 0.3), *THREE[1:], (55.0, 55.2, 0.05), (60.0, 60.5, 0.5))
    assert changes(*parted) == pytest.approx([0.5, 0.6, 0.5, 0.5])


@pytest.mark.parametrize("way", [1.0, -1.0])
@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
def test_a_jump_starts_and_ends_where_its_ramp_does(noise_pct: float, way: float) -> None:
    """0.6 % in 0.3 s from 10.02 s on, every 0.05 s."""
    time = np.arange(0.0, 20.0, 0.05)
    travel = noisy(50.0 + way * np.interp(time, [10.02, 10.32], [0.0, 0.6]), noise_pct)
    recording, noise = Recording(time, travel, travel), noise_of(travel, 0.05)
    seen = motion_of(recording, noise)
    found = bounds_of(recording, jump_of(seen, 0), seen, noise)
    assert found.start_s == pytest.approx(10.02, abs=0.02 + 2.0 * noise_pct)
    assert found.end_s == pytest.approx(10.32, abs=0.02 + 2.0 * noise_pct)
    assert found.deviation_s == pytest.approx(0.3 * noise.deviation / 0.6, rel=0.4)


def test_a_jump_without_levels_beside_it_is_as_the_motion_has_it() -> None:
    time = np.arange(0.0, 20.0, 0.05)
    gone = np.where((time > 9.0) & (time < 11.0), np.nan, 50.0)
    found = bounds_of(Recording(time, gone, gone), Jump(0, 9.5, 10.5, 0.6), motion((9.5, 10.5, 0.6)), QUIET)
    assert (found.start_s, found.end_s, found.deviation_s) == (9.5, 10.5, 0.1)
