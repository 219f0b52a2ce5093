"""When the valve moves, and how often it starts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers, sampled_from

from kit.basis.quantity import Quantity
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.motion import Motion, motion_of, starts_per_hour
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import later, mirrored, moved, noisy, resting

CLEAN = Noise(0.0, 0.0)


def motion(recording: Recording) -> Motion:
    return motion_of(recording, channels_of(recording).travel)


def starts(recording: Recording, ramps: tuple[tuple[float, float], ...] = ()) -> Quantity:
    return starts_per_hour(recording, motion(recording), ramps)


@pytest.mark.parametrize("interval_s", [0.05, 0.2])
def test_starts_are_counted_and_pulses_of_one_run_are_one_start(interval_s: float) -> None:
    time = np.arange(0.0, 600.0, interval_s)
    runs = [(20.0 + 25.0 * number, 4.0) for number in range(20)]
    speed = np.zeros(time.size)
    for start, length in runs:
        speed[(time >= start) & (time < start + length)] = 2.0 if round(start / 25.0) % 2 else -2.0
    pulsed = (time >= 540.0) & (time < 560.0) & ((time % 2.0) < 1.0)
    speed[pulsed] = 2.0
    travel = noisy(50.0 + np.cumsum(speed) * interval_s, 0.02)
    recording = resting(travel, interval_s)
    figure = starts_per_hour(recording, motion_of(recording, channels_of(recording).travel))
    assert figure.beside["starts"] == 21
    assert figure.value == pytest.approx(21 * 6.0, rel=0.01)


def test_starts_over_less_than_a_minute_are_not_stated() -> None:
    recording = resting(np.full(100, 50.0), 0.1)
    assert starts_per_hour(recording, motion_of(recording, channels_of(recording).travel)).value is None


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


def test_gaps_do_not_count_in_the_duration_of_starts_per_hour() -> None:
    """Five starts in two minutes of recording are 150 an hour, however long the break between them was."""
    first = moved([0, *[t for n in range(5) for t in (10 + 20 * n, 12 + 20 * n)], 120],
                  [10, *[h for n in range(5) for h in (10 + 8 * n, 18 + 8 * n)], 50], length_s=120.0)  # fmt: skip
    assert starts(first).value == pytest.approx(150.0, rel=0.002)
    broken = replace(first, time_s=np.where(first.time_s < 60.05, first.time_s, first.time_s + 3600.0))
    broken = replace(broken, gaps=((60.0, 3660.1),))
    found = starts(broken)
    assert found.beside["starts"] == 5.0
    assert found.value == pytest.approx(150.0, rel=0.002)
    assert found.beside["running_share_pct"] == pytest.approx(100.0 * 5 * 2 / 120, rel=0.1)
    assert found.standard_uncertainty == pytest.approx(30.0 / 3**0.5, rel=0.002)


def test_less_than_a_minute_of_recording_says_nothing_whatever_the_gaps() -> None:
    short = resting(np.full(500, 50.0), 0.1)
    long_gap = replace(short, time_s=np.where(short.time_s < 25.0, short.time_s, short.time_s + 600.0))
    assert starts(replace(long_gap, gaps=((24.9, 625.0),))).why_not == "less than a minute was recorded"
    still = starts(resting(np.full(610, 50.0), 0.1))
    assert (still.value, still.at_s, still.beside["running_share_pct"]) == (0.0, None, 0.0)


@pytest.mark.parametrize(("pause_s", "count"), [(1.7, 1.0), (2.3, 2.0)])
def test_a_pause_of_two_seconds_ends_a_run(pause_s: float, count: float) -> None:
    stop = 13.0 + pause_s
    one_way = moved([0, 10, 13, stop, stop + 3, 90], [10, 10, 16, 16, 22, 22], length_s=90.0)
    back = moved([0, 10, 13, stop, stop + 3, 90], [10, 10, 16, 16, 10, 10], length_s=90.0)
    found = starts(one_way)
    assert (found.beside["starts"], found.beside["episodes"]) == (count, 2.0)
    assert found.at_s == pytest.approx(10.0, abs=0.11)
    assert starts(back).beside["starts"] == 2.0


def test_every_jump_on_a_ramp_of_the_command_is_a_start() -> None:
    recording = moved([0, 10, 13, 14, 17, 90], [10, 10, 16, 16, 22, 22], length_s=90.0)
    assert starts(recording).beside["starts"] == 1.0
    assert starts(recording, ((12.0, 30.0),)).beside["starts"] == 2.0
    assert starts(recording, ((20.0, 30.0), (5.0, 13.0))).beside["starts"] == 1.0
