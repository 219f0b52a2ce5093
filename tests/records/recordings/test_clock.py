"""Samples that share a stamp are spread, and what the last digit of times leaves open is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.records.recordings.channels import RecordingColumns
from kit.records.recordings.clock import settle_times


def columns(time_s: np.ndarray, values: np.ndarray | None = None) -> RecordingColumns:
    numbers = {"position_pct": np.arange(time_s.size) % 7.0 if values is None else values}
    rows = np.arange(2, 2 + time_s.size)
    return RecordingColumns(rows, numbers, time_s.copy(), "", np.zeros(time_s.size, dtype=bool))


@given(rate=st.integers(2, 60), phase=st.floats(0.0, 0.99), step=st.sampled_from([1.0, 0.1]))
def test_even_counts_are_spread_so_that_differences_are_those_of_the_samples(
    rate: int, phase: float, step: float
) -> None:
    true = (np.arange(12 * rate) + phase) * step / rate
    made = columns(np.round(np.floor(true / step + 1e-9) * step, 6))
    assert settle_times("a.csv", made) <= step / rate
    np.testing.assert_allclose(np.diff(made.time_s), step / rate, rtol=1e-6)
    assert f"{rate} samples share each time" in made.problems[0].problem
    assert not made.bad.any()


def test_counts_that_differ_by_one_leave_an_interval_open() -> None:
    true = np.arange(1000) / 10.4
    made = columns(np.floor(true))
    resolution_s = settle_times("a.csv", made)
    assert resolution_s == pytest.approx(0.1)
    assert (np.diff(made.time_s) > 0.0).all()
    error = (made.time_s - made.time_s[500]) - (true - true[500])
    assert np.abs(error).max() <= 2.0 * resolution_s
    assert "10 or 11 samples share each time" in made.problems[0].problem


@given(rate=st.floats(1.3, 40.0), phase=st.floats(0.0, 0.99))
def test_what_is_left_open_holds_every_time(rate: float, phase: float) -> None:
    """Of samples that are regular, whatever their rate: no two times are farther off than twice what is told."""
    true = (np.arange(round(60 * rate)) + phase) / rate
    made = columns(np.floor(true))
    resolution_s = settle_times("a.csv", made)
    error = made.time_s - true
    assert np.ptp(error) <= 2.0 * resolution_s + 1e-6
    assert (np.diff(made.time_s) > 0.0).all()


def test_a_second_that_lost_samples_is_a_gap_in_the_others() -> None:
    time = np.delete(np.floor(np.arange(1000) / 10.0 + 1e-9), [453, 454, 455, 456])
    made = columns(time)
    assert settle_times("a.csv", made) == pytest.approx(0.1 * 60.0 / 99.0)
    assert np.count_nonzero(made.bad) == 6
    assert {each.status for each in made.problems} == {"flag"}
    assert any("6 samples within 1 s, some were lost" in each.problem for each in made.problems)


def test_uneven_counts_are_left_as_they_are() -> None:
    time = np.repeat(np.arange(20.0), np.tile([10, 7, 12, 10], 5))
    made = columns(time)
    assert settle_times("a.csv", made) == 0.0
    np.testing.assert_array_equal(made.time_s, time)
    (problem,) = made.problems
    assert problem.status == "open"
    assert "7 to 12 samples share each time of 1 s" in problem.problem


def test_samples_written_twice_are_no_shared_stamps() -> None:
    time = np.repeat(0.1 * np.arange(100), 2)
    made = columns(time, np.repeat(np.arange(100.0), 2))
    assert settle_times("a.csv", made) == 0.0
    np.testing.assert_array_equal(made.time_s, time)


def test_a_gap_between_whole_seconds_stays_one() -> None:
    time = np.floor(np.concatenate((np.arange(100), np.arange(400, 500))) / 10.0)
    made = columns(time)
    settle_times("a.csv", made)
    assert np.flatnonzero(np.diff(made.time_s) > 0.15).tolist() == [99]


@pytest.mark.parametrize(
    ("interval_s", "digits", "expected"),
    [(1 / 3, 1, 0.05), (1 / 3, 3, 0.0), (0.1, 1, 0.0), (1.0, 0, 0.0), (1.2, 0, 0.5)],
)
def test_times_are_known_to_half_of_a_coarse_last_digit(interval_s: float, digits: int, expected: float) -> None:
    made = columns(np.round(np.arange(300) * interval_s, digits))
    assert settle_times("a.csv", made) == expected


def test_lost_samples_make_no_coarse_clock() -> None:
    time = np.delete(np.round(0.1 * np.arange(300), 1), [50, 120, 200])
    assert settle_times("a.csv", columns(time)) == 0.0


def test_a_midnight_that_was_passed_is_told() -> None:
    made = columns(np.arange(10.0))
    made.midnights = (4,)
    settle_times("a.csv", made)
    assert (made.problems[0].row, made.problems[0].status) == (6, "flag")
