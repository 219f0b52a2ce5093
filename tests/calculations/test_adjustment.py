"""The trim of zero and span that leaves the least greatest error."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog

from kit.calculations.adjustment import NO_TRIM, TOO_FEW, NoTrim, Trim, best_trim

READINGS = st.lists(st.tuples(st.floats(1.0, 99.0), st.floats(-8.0, 8.0)), min_size=4, max_size=24)


def test_a_plain_zero_and_span_error_is_taken_away_whole():
    """e = 2 - 0.05 p, so that zero -2 and span +5 leave nothing."""
    position = np.array([2.0, 25.0, 50.0, 75.0, 96.0])
    trim = best_trim(position, 2.0 - 0.05 * position)
    assert isinstance(trim, Trim)
    assert (trim.zero_pct, trim.span_pct) == (pytest.approx(-2.0), pytest.approx(5.0))
    assert (trim.before_pct, trim.after_pct) == (pytest.approx(2.8), pytest.approx(0.0, abs=1e-12))


def test_of_a_bow_half_is_left():
    """By hand: 3 % at 50, 0 at 10 and 90: the line lies 1.5 % below the middle and 1.5 % above the ends."""
    trim = best_trim([10.0, 50.0, 90.0], [0.0, 3.0, 0.0])
    assert isinstance(trim, Trim)
    assert (trim.zero_pct, trim.span_pct, trim.after_pct) == (-1.5, pytest.approx(0.0), 1.5)
    assert sorted(trim.decide.tolist()) == [0, 1, 2]


def test_what_stands_on_a_stop_shows_the_stop_and_is_left_out():
    """+2 % everywhere, held at 100 %: the last reading would pull the span down."""
    trim = best_trim([2.0, 27.0, 52.0, 77.0, 100.0], [2.0, 2.0, 2.0, 2.0, 0.0])
    assert isinstance(trim, Trim)
    assert (trim.zero_pct, trim.span_pct) == (pytest.approx(-2.0), pytest.approx(0.0, abs=1e-9))
    assert trim.taken.tolist() == [True, True, True, True, False]
    free = best_trim([2.0, 27.0, 52.0, 77.0, 100.0], [2.0, 2.0, 2.0, 2.0, 0.0], stops_pct=(-2.0, 102.0))
    assert isinstance(free, Trim)
    assert free.taken.all()


@pytest.mark.second_opinion
@given(READINGS)
def test_a_linear_programme_finds_the_same_greatest_error(readings):
    """SciPy's linprog: least t with |e + z + s p / 100| at most t."""
    position, error = np.array(readings).T
    trim = best_trim(position, error)
    assume(isinstance(trim, Trim) and np.unique(np.round(position, 3)).size > 2)
    rows = np.column_stack([np.ones_like(position), position / 100.0, -np.ones_like(position)])
    mirrored = np.column_stack([-rows[:, :2], rows[:, 2]])
    found = linprog(
        [0.0, 0.0, 1.0],
        A_ub=np.vstack([rows, mirrored]),
        b_ub=np.concatenate([-error, error]),
        bounds=[(None, None), (None, None), (0.0, None)],
    )
    assert trim.after_pct == pytest.approx(found.fun, abs=1e-6)


@given(READINGS)
def test_it_is_never_worse_than_before(readings):
    position, error = np.array(readings).T
    trim = best_trim(position, error)
    if isinstance(trim, Trim):
        assert trim.after_pct <= trim.before_pct + 1e-9
        assert np.abs(trim.error_pct[trim.taken]).max() == pytest.approx(trim.after_pct)


@given(READINGS, st.floats(-5.0, 5.0))
def test_a_shift_of_every_error_moves_the_zero_and_nothing_else(readings, shift):
    position, error = np.array(readings).T
    one, other = best_trim(position, error), best_trim(position, error + shift)
    if isinstance(one, Trim) and isinstance(other, Trim):
        assert other.after_pct == pytest.approx(one.after_pct, abs=1e-9)
        assert other.zero_pct + other.span_pct * 0.5 == pytest.approx(
            one.zero_pct + one.span_pct * 0.5 - shift, abs=max(1.0, 10.0 * one.after_pct)
        )


@pytest.mark.parametrize(
    ("position", "error"),
    [
        ([], []),
        ([50.0], [1.0]),
        ([10.0, 90.0], [0.0, 1.0]),
        ([10.0, 10.0, 90.0], [0.0, 1.0, 0.0]),
        ([50.0] * 4, [1.0, 2.0, 1.0, 2.0]),
        ([0.0, 50.0, 100.0], [0.0, 1.0, 0.0]),
    ],
)
def test_too_few_positions_off_the_stops_give_none(position, error):
    assert best_trim(position, error) == NoTrim(TOO_FEW)


def test_a_blank_takes_no_part():
    trim = best_trim([10.0, 50.0, np.nan, 90.0, 70.0], [0.0, 3.0, 9.0, 0.0, np.nan])
    assert isinstance(trim, Trim)
    assert (trim.after_pct, trim.taken.tolist()) == (1.5, [True, True, False, True, False])


def test_a_turned_direction_is_no_matter_of_zero_and_span():
    """Position 100 less what is asked: the error is 2 p - 100."""
    position = np.array([99.0, 75.0, 50.0, 25.0, 1.0])
    assert best_trim(position, 2.0 * position - 100.0) == NoTrim(NO_TRIM)


@pytest.mark.parametrize(("slope", "is_trim"), [(0.399, True), (0.401, False), (-0.599, True), (-0.601, False)])
def test_a_span_beyond_minus_40_and_plus_60_percent_is_no_trim(slope, is_trim):
    """House definition. An error of b p is taken away by a span of -100 b."""
    position = np.array([10.0, 40.0, 60.0, 90.0])
    trim = best_trim(position, slope * position)
    assert isinstance(trim, Trim) == is_trim
    if isinstance(trim, Trim):
        assert trim.span_pct == pytest.approx(-100.0 * slope)


@pytest.mark.parametrize(("off", "taken"), [(0.05, False), (0.1, False), (0.15, True)])
def test_a_reading_within_a_tenth_of_a_percent_of_either_stop_rests_on_it(off, taken):
    """House definition."""
    trim = best_trim([off, 25.0, 50.0, 75.0, 100.0 - off], [9.0, 0.5, 0.0, 0.5, 9.0])
    assert isinstance(trim, Trim)
    assert trim.taken.tolist() == [taken, True, True, True, taken]
    assert trim.before_pct == (9.0 if taken else 0.5)


def test_the_readings_that_hold_it_are_named_by_their_place_among_all():
    """By hand: of (20, 0), (50, 3), (80, 0) all three hold the line; the reading before them stands on a stop."""
    trim = best_trim([0.0, 20.0, 50.0, 80.0], [5.0, 0.0, 3.0, 0.0])
    assert isinstance(trim, Trim)
    assert (sorted(trim.decide.tolist()), trim.after_pct) == ([1, 2, 3], pytest.approx(1.5))


def test_a_constant_error_is_a_zero_alone():
    trim = best_trim([10.0, 40.0, 60.0, 90.0], [0.7] * 4)
    assert isinstance(trim, Trim)
    assert (trim.zero_pct, trim.span_pct, trim.after_pct) == (-0.7, pytest.approx(0.0), pytest.approx(0.0, abs=1e-12))
