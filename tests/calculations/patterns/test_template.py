"""How one template is fitted, against least squares by hand and a general-purpose library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.calculations.patterns.template import FREE, LineTemplate, Template

SHIFT = Template("shift", lambda at, by: at + by, -40.0, 40.0, "{:+.1f}")
BOW = Template("bow", lambda at, rise: at + rise * at * (100 - at) / 2500, -15.0, 15.0)
LINE = LineTemplate("line", lambda at, _: at, parameter="{:+.1f}, {:.2f}")
ASKED = np.array([0.0, 25.0, 50.0, 75.0, 100.0])
EVEN = np.eye(5)


def test_a_shift_is_the_weighted_mean():
    """Off by 0 with weight 1, by 3 with weight 2: (0 + 6)/3 = 2."""
    (by,) = SHIFT.fit(np.array([20.0, 60.0]), np.array([20.0, 63.0]), np.diag(np.sqrt([1.0, 2.0])))
    assert by == pytest.approx(2.0, abs=1e-4)


def test_the_fit_is_fine_to_a_thousandth_of_a_percent():
    """80 % over 120 cells, narrowed three times by 60: 3e-6 %."""
    (by,) = SHIFT.fit(ASKED, ASKED + 1.23456, EVEN)
    assert by == pytest.approx(1.23456, abs=1e-5)


def test_a_fit_ends_at_its_bounds():
    assert SHIFT.fit(ASKED, ASKED + 90.0, EVEN) == (40.0,)


@pytest.mark.second_opinion
@given(st.lists(st.tuples(st.floats(5, 95), st.floats(-5, 5), st.floats(0.1, 10)), min_size=2, max_size=9))
def test_a_bow_is_that_of_numpy_s_least_squares(points):
    """A bow between 5 and 95 % is linear in its rise: numpy.linalg.lstsq of weighted rows."""
    asked, off, weight = np.array(points).T
    root = np.sqrt(weight)
    (rise,) = BOW.fit(asked, asked + off, np.diag(root))
    shape = asked * (100 - asked) / 2500
    expected = np.linalg.lstsq((root * shape)[:, np.newaxis], root * off, rcond=None)[0][0]
    assert rise == pytest.approx(float(np.clip(expected, -15.0, 15.0)), abs=1e-4)


def test_a_template_without_a_parameter_has_nothing_to_fit():
    turned = Template("turned", lambda at, _: 100 - at)
    assert (turned.fit(ASKED, ASKED, EVEN), turned.parameters, turned.reads(())) == ((), 0, "")


def test_what_a_stop_holds_is_held():
    assert SHIFT.at(ASKED, (10.0,), (0.0, 100.0)).tolist() == [10.0, 35.0, 60.0, 85.0, 100.0]
    assert SHIFT.at(ASKED, (10.0,), FREE).tolist() == [10.0, 35.0, 60.0, 85.0, 110.0]


def test_a_line_goes_through_what_is_off_the_stops():
    """3 + 0.9 x between the stops; the last point rests on one, at 91."""
    shown = np.array([3.0, 25.5, 48.0, 70.5, 91.0])
    assert LINE.fit(ASKED, shown, EVEN, (0.0, 91.0)) == (pytest.approx(3.0), pytest.approx(0.9))
    assert (LINE.parameters, LINE.is_general, LINE.reads((3.0, 0.9))) == (2, True, "+3.0, 0.90")


@pytest.mark.parametrize(("off", "fitted"), [(0.4, False), (0.5, False), (0.6, True)])
def test_a_point_within_half_a_percent_of_a_stop_may_rest_on_it(off, fitted):
    shown = np.array([0.0 + off, 30.0, 60.0])
    assert (LINE.fit(np.array([0.0, 30.0, 60.0]), shown, np.eye(3), (0.0, 100.0)) is not None) == fitted
    turned = np.array([40.0, 70.0, 100.0 - off])
    assert (LINE.fit(np.array([40.0, 70.0, 100.0]), turned, np.eye(3), (0.0, 100.0)) is not None) == fitted


@pytest.mark.parametrize(("slope", "fitted"), [(0.29, False), (0.31, True), (2.49, True), (2.51, False), (-1.0, False)])
def test_a_slope_outside_0_3_to_2_5_is_another_fault(slope, fitted):
    assert (LINE.fit(ASKED, 10.0 + slope * ASKED, EVEN) is not None) == fitted


def test_two_different_points_make_no_line():
    at = np.array([20.0, 20.0, 60.0])
    assert LINE.fit(at, at, np.eye(3)) is None
