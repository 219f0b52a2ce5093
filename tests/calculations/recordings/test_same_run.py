"""Two recordings of one run, and two runs that look alike."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.same_run import same_run
from tests.calculations.recordings.made import Array, noisy


def walk(interval_s: float, *, late_s: Array, number: int, offset_s: float = 0.0, noise_pct: float = 0.02) -> Recording:
    """Five points up and down at 40 s each, each step so late; travel at 5 %/s."""
    time = np.arange(0.0, 400.0, interval_s) + offset_s
    points = np.array([0.0, 25.0, 50.0, 75.0, 100.0, 75.0, 50.0, 25.0, 0.0])
    at = 40.0 * np.arange(1, points.size) + late_s
    command = points[np.searchsorted(at, time, side="right")]
    travel = np.interp(time, *ramps(at, points))
    position = noisy(travel, noise_pct, number)
    return Recording(time, noisy(command, noise_pct, number + 50), position, position_pct=position)


def ramps(at: Array, points: Array) -> tuple[Array, Array]:
    """Corners of a travel that takes 5 s for each point."""
    return np.column_stack((at + 0.5, at + 5.5)).ravel(), np.repeat(points, 2)[1:-1]


NONE_LATE = np.zeros(8)
BY_HAND = np.array([0.4, -1.1, 2.3, 0.2, -3.0, 1.4, -0.7, 2.2])


def moved(recording: Recording, by_s: float) -> Recording:
    return replace(recording, time_s=recording.time_s + by_s)


@pytest.mark.parametrize("by_s", [0.0, 3.0, 3600.0])
def test_a_copy_is_known_whatever_its_clock_columns_and_digits(by_s: float) -> None:
    one = walk(0.1, late_s=NONE_LATE, number=1)
    two = moved(replace(one, supply_v=np.full(len(one), 24.0), travel_pct=np.round(one.travel_pct, 3)), by_s)
    found = same_run(one, two)
    assert (found.same_samples, found.is_sure) == (True, True)
    assert found.later_s == pytest.approx(-by_s, abs=1e-6)


def test_every_tenth_sample_of_a_run_is_a_copy_of_it() -> None:
    one = walk(0.1, late_s=NONE_LATE, number=1)
    tenth = slice(3, None, 10)
    two = Recording(one.time_s[tenth] + 77.0, one.command_pct[tenth], one.travel_pct[tenth])
    two = replace(two, position_pct=one.position_pct[tenth])
    assert same_run(one, two).same_samples
    assert same_run(one, two).later_s == pytest.approx(-77.0)


def test_two_recorders_of_one_run_are_known_by_their_columns_or_intervals() -> None:
    one = walk(0.1, late_s=NONE_LATE, number=1)
    slower = moved(walk(0.25, late_s=NONE_LATE, number=2, offset_s=0.07), 41.0)
    wider = replace(walk(0.1, late_s=NONE_LATE, number=3, offset_s=0.03), supply_v=np.full(len(one), 24.0))
    for two in (slower, wider):
        found = same_run(one, two)
        assert (found.same_samples, found.is_sure) == (False, True)
    assert same_run(one, slower).later_s == pytest.approx(-41.0, abs=0.15)


def test_a_programme_that_ran_twice_on_one_recorder_may_be_two_runs() -> None:
    one, two = walk(0.1, late_s=NONE_LATE, number=1), walk(0.1, late_s=NONE_LATE, number=2)
    assert not same_run(one, two).is_sure


@pytest.mark.parametrize("interval_s", [0.1, 0.25, 1.0])
def test_two_cycles_that_a_person_walked_are_two_runs(interval_s: float) -> None:
    one = walk(0.1, late_s=NONE_LATE, number=1)
    assert same_run(one, walk(interval_s, late_s=BY_HAND, number=2)) is None


def test_a_valve_that_stops_elsewhere_is_another_run() -> None:
    one = walk(0.1, late_s=NONE_LATE, number=1)
    two = walk(0.1, late_s=NONE_LATE, number=2)
    off = replace(two, position_pct=two.position_pct + 0.8, supply_v=np.full(len(two), 24.0))
    assert same_run(one, off) is None


def test_one_step_twice_and_no_channel_in_common_tell_nothing() -> None:
    one, two = walk(0.1, late_s=NONE_LATE, number=1), walk(0.25, late_s=NONE_LATE, number=2)
    first, second = ((place := each.place(30.0, 70.0)) and part(each, place) for each in (one, two))
    assert same_run(first, second) is None
    feedback = Recording(two.time_s, np.full(len(two), np.nan), two.travel_pct, feedback_pct=two.travel_pct)
    assert same_run(one, feedback) is None


def part(one: Recording, place: slice) -> Recording:
    return Recording(one.time_s[place], one.command_pct[place], one.travel_pct[place], None, one.travel_pct[place])
