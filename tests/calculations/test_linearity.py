"""Exact lines and the deviations from them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import composite, floats, integers, lists, sampled_from, tuples
from scipy.optimize import linprog

from kit.basis.arrays import CalculationInputError
from kit.calculations.linearity import minimax_line, terminal_line, zero_based_line
from tests.calculations.published_data import (
    GAUGE_DOWN_KPA,
    GAUGE_TRUE_KPA,
    GAUGE_UP_KPA,
    LOOP_DOWN_MV,
    LOOP_UP_MV,
    LOOP_X_MV,
    SENSOR_PRESSURE,
    SENSOR_READING,
)

LINES = (minimax_line, terminal_line, zero_based_line)


@composite
def points(draw, least=3):
    """Random points with different x, in random order."""
    generator = np.random.default_rng(draw(integers(0, 2**32 - 1)))
    count = draw(integers(least, 15))
    x = generator.choice(np.linspace(-20, 120, 500), count, replace=False)
    return x, generator.normal(0, draw(sampled_from([1e-3, 1.0, 50.0])), count) + draw(floats(-3, 3)) * x


def least_deviation(x, y, anchor=None):
    """Greatest deviation of the best line, by linear programming: least d with |y - a - b x| <= d."""
    ones = np.ones_like(x)
    rows = np.vstack((np.column_stack((-ones, -x, -ones)), np.column_stack((ones, x, -ones))))
    held = {} if anchor is None else {"A_eq": [[1.0, x[anchor], 0.0]], "b_eq": [y[anchor]]}
    bounds = [(None, None), (None, None), (0, None)]
    solved = linprog([0, 0, 1], A_ub=rows, b_ub=np.concatenate((-y, y)), bounds=bounds, **held)
    assert solved.success
    return solved.fun


def deviations(line, x, y):
    return y - line.intercept - line.slope * x


@pytest.mark.second_opinion
@given(points())
def test_minimax_deviation_is_that_of_linear_programming(data):
    x, y = data
    line = minimax_line(x, y)
    scale = np.ptp(y)
    assert line.deviation == pytest.approx(least_deviation(x, y), abs=1e-6 * scale + 1e-9)
    assert np.abs(deviations(line, x, y)).max() == pytest.approx(line.deviation, abs=1e-12 * (scale + 1) * 10)


@pytest.mark.second_opinion
@given(points())
def test_zero_based_deviation_is_that_of_linear_programming(data):
    x, y = data
    line = zero_based_line(x, y)
    start = x.argmin()
    scale = np.ptp(y)
    assert line.deviation == pytest.approx(least_deviation(x, y, start), abs=1e-6 * scale + 1e-9)
    assert np.abs(deviations(line, x, y)).max() == pytest.approx(line.deviation, abs=1e-11 * (scale + 1))
    assert deviations(line, x, y)[start] == pytest.approx(0.0, abs=1e-11 * (scale + 1))


@pytest.mark.second_opinion
@given(points())
def test_terminal_line_is_the_only_one_through_both_ends(data):
    """Two equalities leave linear programming one line."""
    x, y = data
    first, last = x.argmin(), x.argmax()
    line = terminal_line(x, y)
    slope, intercept = np.linalg.solve([[x[first], 1.0], [x[last], 1.0]], [y[first], y[last]])
    assert line.slope == pytest.approx(slope, rel=1e-9, abs=1e-9)
    scale = np.ptp(y) + 1
    assert line.deviation == pytest.approx(np.abs(y - intercept - slope * x).max(), abs=1e-10 * scale)
    assert np.abs(deviations(line, x, y)).max() == pytest.approx(line.deviation, abs=1e-10 * scale)


@given(points())
def test_independent_is_at_most_zero_based_is_at_most_terminal(data):
    independent, terminal, zero_based = (fit(*data).deviation for fit in LINES)
    slack = 1e-11 * (np.ptp(data[1]) + 1)
    assert independent <= zero_based + slack
    assert zero_based <= terminal + slack


@given(points(), sampled_from([-1.0, 1.0]))
def test_curve_on_one_side_of_its_terminal_line_deviates_half_as_much_from_the_minimax_line(data, side):
    x = np.sort(data[0])
    bow = side * np.abs(data[1])
    bow[[0, -1]] = 0.0
    y = bow + 0.3 * x - 2.0
    independent, terminal = minimax_line(x, y), terminal_line(x, y)
    assert independent.deviation == pytest.approx(terminal.deviation / 2, rel=1e-9, abs=1e-12)
    assert independent.slope == pytest.approx(terminal.slope, rel=1e-6, abs=1e-9)


@given(points())
@pytest.mark.parametrize("fit", LINES)
def test_weights_give_the_deviation_back(fit, data):
    """The deviation is linear in y with its active points held, and a line added to y changes it not at all."""
    x, y = data
    line = fit(x, y)
    scale = np.ptp(y) + 1
    assert line.weights @ y == pytest.approx(line.deviation, abs=1e-11 * scale)
    assert line.weights.sum() == pytest.approx(0.0, abs=1e-12)
    assert line.weights @ x == pytest.approx(0.0, abs=1e-10)
    assert set(np.flatnonzero(line.weights)) <= set(line.active.tolist())
    assert len(set(line.active.tolist())) == line.active.size <= 3


@given(points(), floats(-5, 5), floats(-5, 5), floats(0.1, 10), integers(0, 1000))
@pytest.mark.parametrize("fit", LINES)
def test_added_line_scale_and_order_change_what_they_should(fit, data, slope, offset, scale, start_number):
    x, y = data
    order = np.random.default_rng(start_number).permutation(x.size)
    before, after = fit(x, y), fit(x[order], (scale * y + slope * x + offset)[order])
    slack = 1e-9 * (scale * np.ptp(y) + 150 * abs(slope) + abs(offset) + 1)
    assert after.deviation == pytest.approx(scale * before.deviation, abs=slack)


@given(points())
def test_minimax_and_terminal_lines_do_not_care_which_end_is_which(data):
    x, y = data
    for fit in (minimax_line, terminal_line):
        assert fit(-x, y).deviation == pytest.approx(fit(x, y).deviation, abs=1e-11 * (np.ptp(y) + 1))
    for fit in LINES:
        assert fit(x, -y).deviation == pytest.approx(fit(x, y).deviation, abs=1e-11 * (np.ptp(y) + 1))


@given(points())
def test_minimax_deviations_alternate_in_sign(data):
    """Characterisation of the best line: three points of equal deviation, the middle one on the other side."""
    x, y = data
    line = minimax_line(x, y)
    active = line.active[x[line.active].argsort()]
    residual = deviations(line, x, y)[active]
    tolerance = 1e-10 * (np.ptp(y) + 1)
    assert active.size == 3
    assert np.abs(residual) == pytest.approx(line.deviation, abs=tolerance)
    assert residual[0] == pytest.approx(-residual[1], abs=2 * tolerance)
    assert residual[0] == pytest.approx(residual[2], abs=2 * tolerance)


@pytest.mark.published
def test_sensor_terminal_line_is_as_printed():
    """Kessel, Kacker, Sommer, 2008, tables 4 and 7: slope 9.799118079372857, intercept 0, deviation 0.0039."""
    line = terminal_line(SENSOR_READING, SENSOR_PRESSURE)
    assert line.slope == pytest.approx(9.799118079372857, rel=1e-14)
    assert line.intercept == pytest.approx(0.0, abs=1e-14)
    assert line.deviation == pytest.approx(0.0039, abs=5e-5)


def test_sensor_lines_agree_with_linear_programming_outside_the_project():
    """Kessel, Kacker, Sommer, 2008, table 4; deviations worked out independently, half the last digit."""
    independent, terminal, zero_based = (fit(SENSOR_READING, SENSOR_PRESSURE) for fit in LINES)
    assert terminal.deviation == pytest.approx(0.00391964723, abs=5e-12)
    assert independent.deviation == pytest.approx(0.00195982362, abs=5.1e-12)
    assert (independent.slope, independent.intercept) == pytest.approx((9.79911808, 0.00195982362), abs=5e-9)
    assert zero_based.deviation == pytest.approx(0.00280014001, abs=5e-12)
    assert zero_based.slope == pytest.approx(9.80049002, abs=5e-9)


def test_gauge_lines_agree_with_linear_programming_outside_the_project():
    """Doebelin's pressure gauge, mean of up and down (attribution from memory); worked out independently."""
    curve = (GAUGE_UP_KPA + GAUGE_DOWN_KPA) / 2
    independent, terminal, zero_based = (fit(GAUGE_TRUE_KPA, curve) for fit in LINES)
    assert (terminal.slope, terminal.intercept, terminal.deviation) == pytest.approx((1.0905, -0.905, 0.139), abs=1e-12)
    assert (independent.slope, independent.intercept) == pytest.approx((1.073125, -0.8328125), abs=1e-12)
    assert independent.deviation == pytest.approx(0.1015625, abs=1e-12)
    assert (zero_based.slope, zero_based.intercept) == pytest.approx((1.09875, -0.905), abs=1e-12)
    assert zero_based.deviation == pytest.approx(0.1225, abs=1e-12)


def test_small_loop_lines_agree_with_linear_programming_outside_the_project():
    """Course example, mean of up and down; worked out independently."""
    curve = (LOOP_UP_MV + LOOP_DOWN_MV) / 2
    independent, terminal, zero_based = (fit(LOOP_X_MV, curve) for fit in LINES)
    assert (terminal.slope, terminal.intercept, terminal.deviation) == pytest.approx((0.97, 0.15, 0.12), abs=1e-12)
    assert (independent.slope, independent.intercept) == pytest.approx((0.97, 0.21), abs=1e-12)
    assert independent.deviation == pytest.approx(0.06, abs=1e-12)
    assert zero_based.slope == pytest.approx(0.983333333, abs=5e-10)
    assert zero_based.deviation == pytest.approx(0.0666666667, abs=5e-11)


def test_three_points_by_hand():
    """0, 1, 0 at 0, 1, 3: ends joined by y = 0, so 1, half of it; through (0, 0): 1 - b = 3 b, so 3/4."""
    x, y = [0.0, 1.0, 3.0], [0.0, 1.0, 0.0]
    independent, terminal, zero_based = (fit(x, y) for fit in LINES)
    assert (terminal.slope, terminal.intercept, terminal.deviation) == (0.0, 0.0, 1.0)
    assert (independent.slope, independent.intercept, independent.deviation) == (0.0, 0.5, 0.5)
    assert (zero_based.slope, zero_based.intercept, zero_based.deviation) == pytest.approx((0.25, 0.0, 0.75))
    assert terminal.weights == pytest.approx([-2 / 3, 1.0, -1 / 3])
    assert independent.weights == pytest.approx([-1 / 3, 0.5, -1 / 6])
    assert zero_based.weights == pytest.approx([-0.5, 0.75, -0.25])
    assert independent.active.tolist() == [1, 0, 2]
    assert terminal.active.tolist() == [1, 0, 2]
    assert set(zero_based.active.tolist()) == {0, 1, 2}


def test_dip_is_the_mirror_of_a_bump():
    independent, terminal, zero_based = (fit([0.0, 1.0, 3.0], [0.0, -1.0, 0.0]) for fit in LINES)
    assert (independent.intercept, independent.deviation) == (-0.5, 0.5)
    assert terminal.weights == pytest.approx([2 / 3, -1.0, 1 / 3])
    assert independent.weights == pytest.approx([1 / 3, -0.5, 1 / 6])
    assert zero_based.weights == pytest.approx([0.5, -0.75, 0.25])


@pytest.mark.parametrize("fit", LINES)
@pytest.mark.parametrize("count", [3, 4, 5, 11])
def test_a_straight_curve_deviates_by_zero_but_still_has_weights(fit, count):
    """Else a perfect record would get an uncertainty of zero."""
    x = np.arange(count) * 8.0
    line = fit(x, 0.25 * x - 1.0)
    assert (line.slope, line.intercept, line.deviation) == (0.25, -1.0, 0.0)
    assert np.abs(line.weights).max() >= (1.0 if fit is terminal_line else 0.25)
    assert line.weights.sum() == pytest.approx(0.0, abs=1e-15)
    assert line.weights @ x == pytest.approx(0.0, abs=1e-13)


@pytest.mark.parametrize("fit", LINES)
def test_two_points_lie_on_their_line(fit):
    line = fit([10.0, 0.0], [7.0, 2.0])
    assert (line.slope, line.intercept, line.deviation) == pytest.approx((0.5, 2.0, 0.0))
    assert set(line.active.tolist()) == {0, 1}


def test_two_points_give_no_weights_to_an_end_based_line():
    assert terminal_line([0.0, 1.0], [3.0, 5.0]).weights.tolist() == [0.0, 0.0]
    assert minimax_line([0.0, 1.0], [3.0, 5.0]).weights.tolist() == [0.0, 0.0]


@pytest.mark.parametrize(
    ("x", "y", "deviation"),
    [
        ([0.0, 0.0, 1.0], [0.0, 1.0, 0.0], 0.5),
        ([0.0, 1.0, 1.0], [5.0, 0.0, 3.0], 1.5),
        ([0.0, 0.0, 2.0, 2.0], [0.0, 4.0, 1.0, 2.0], 2.0),
        ([0.0, 1.0, 1.0, 1.0, 2.0], [0.0, -1.0, 0.0, 3.0, 0.0], 2.0),
    ],
)
def test_minimax_line_takes_points_at_one_x(x, y, deviation):
    """Half the greatest difference at one x is the least that any line deviates by."""
    line = minimax_line(x, y)
    assert line.deviation == pytest.approx(deviation)
    assert np.abs(deviations(line, np.array(x), np.array(y))).max() == pytest.approx(deviation)
    assert line.weights @ np.array(y) == pytest.approx(deviation)


@pytest.mark.parametrize("fit", [terminal_line, zero_based_line])
def test_lines_with_a_set_start_refuse_two_points_at_one_x(fit):
    with pytest.raises(CalculationInputError, match=r"^3 points share 2 x; average those at one x first"):
        fit([0.0, 0.0, 1.0], [0.0, 1.0, 0.0])


@pytest.mark.parametrize("fit", LINES)
def test_points_that_make_no_line_are_refused(fit):
    with pytest.raises(CalculationInputError, match=r"^A line needs points at two different x, and there are 1"):
        fit([1.0, 1.0], [0.0, 1.0])
    with pytest.raises(CalculationInputError, match=r"^A line needs points at two different x, and there are 0"):
        fit([], [])
    with pytest.raises(CalculationInputError, match=r"^The points hold a nan or an infinity; leave those points out"):
        fit([0.0, 1.0, 2.0], [0.0, np.nan, 1.0])
    with pytest.raises(CalculationInputError, match=r"^The points hold a nan or an infinity"):
        fit([0.0, np.inf, 2.0], [0.0, 1.0, 1.0])
    with pytest.raises(CalculationInputError, match=r"^y has 1 values beside 2 readings"):
        fit([0.0, 1.0], [0.0])


def test_of_two_points_one_above_the_other_the_line_keeps_every_point_within_its_deviation():
    """By hand: at x = 6 the points 0 and 2 lie 2 apart, so 1 is left; slopes of -0.5 to -0.2 keep the rest in."""
    x, y = np.array([1.0, 6.0, 6.0, 8.0]), np.array([3.0, 0.0, 2.0, 1.0])
    line = minimax_line(x, y)
    assert (line.deviation, line.slope) == (1.0, pytest.approx(-0.35))
    assert np.abs(y - line.intercept - line.slope * x).max() == pytest.approx(1.0)


@given(lists(tuples(integers(0, 5), integers(-5, 5)), min_size=3, max_size=15))
def test_no_point_lies_farther_than_the_deviation_though_x_repeat(points):
    x, y = np.array(points, dtype=float).T
    if np.unique(x).size > 1:
        line = minimax_line(x, y)
        assert np.abs(y - line.intercept - line.slope * x).max() <= line.deviation + 1e-9
