"""Least-squares line and its uncertainties."""

from __future__ import annotations

import numpy as np
import pytest
import statsmodels.api
from hypothesis import given
from hypothesis.extra.numpy import arrays
from hypothesis.strategies import floats

from kit.basis.arrays import CalculationInputError
from kit.calculations.lines import least_squares_line
from tests.calculations.published_data import (
    CORRECTION_DEGC,
    GAUGE_DOWN_KPA,
    GAUGE_TRUE_KPA,
    GAUGE_UP_KPA,
    NOINT1_X,
    NOINT1_Y,
    NORRIS,
    SENSOR_PRESSURE,
    SENSOR_READING,
    THERMOMETER_DEGC,
)


@pytest.mark.published
def test_norris_is_certified():
    """NIST/ITL StRD, Norris, certified values; tolerance: 1e-12 relative of 15 certified digits, 34 degrees."""
    line = least_squares_line(NORRIS[:, 1], NORRIS[:, 0])
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-11)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-13)
    assert line.u_intercept == pytest.approx(0.232818234301152, rel=1e-12)
    assert line.u_slope == pytest.approx(0.429796848199937e-03, rel=1e-12)
    assert line.residual_sd == pytest.approx(0.884796396144373, rel=1e-12)
    assert line.residual_sum_of_squares == pytest.approx(26.6173985294224, rel=1e-12)
    assert line.degrees_of_freedom == 34


@pytest.mark.published
def test_noint1_is_certified():
    """NIST/ITL StRD, NoInt1, certified values of the line through the origin."""
    line = least_squares_line(NOINT1_X, NOINT1_Y, through_origin=True)
    assert line.slope == pytest.approx(2.07438016528926, rel=1e-14)
    assert line.u_slope == pytest.approx(0.165289256198347e-01, rel=1e-13)
    assert line.residual_sd == pytest.approx(3.56753034006338, rel=1e-13)
    assert line.residual_sum_of_squares == pytest.approx(127.272727272727, rel=1e-13)
    assert line.degrees_of_freedom == 10
    assert (line.intercept, line.u_intercept, line.covariance) == (0.0, 0.0, 0.0)
    assert line.at(2.0) == pytest.approx((2 * 2.07438016528926, 2 * 0.0165289256198347), rel=1e-13)


@pytest.mark.published
def test_thermometer_line_is_that_of_gum_h3():
    """JCGM 100:2008, H.3, t0 = 20 degC; tolerance: half the last printed digit, and the full figures."""
    line = least_squares_line(THERMOMETER_DEGC - 20.0, CORRECTION_DEGC)
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert line.u_intercept == pytest.approx(0.0029, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert line.u_slope == pytest.approx(0.00067, abs=5e-6)
    assert line.covariance / (line.u_intercept * line.u_slope) == pytest.approx(-0.930, abs=5e-4)
    assert line.residual_sd == pytest.approx(0.0035, abs=5e-5)
    assert line.degrees_of_freedom == 9
    assert line.at(10.0)[0] == pytest.approx(-0.1494, abs=5e-5)
    assert line.at(10.0)[1] == pytest.approx(0.0041, abs=5e-5)


def test_thermometer_line_agrees_with_an_independent_recomputation():
    """JCGM 100:2008, H.3, recomputed to full precision outside the project."""
    line = least_squares_line(THERMOMETER_DEGC - 20.0, CORRECTION_DEGC)
    assert line.intercept == pytest.approx(-0.17120379013135, rel=1e-11)
    assert line.u_intercept == pytest.approx(0.0028775978351600, rel=1e-11)
    assert line.slope == pytest.approx(0.0021826977398872, rel=1e-11)
    assert line.u_slope == pytest.approx(0.00066793877322783, rel=1e-11)
    assert line.at(10.0) == pytest.approx((-0.14937681273248, 0.0041385957528550), rel=1e-10)


@pytest.mark.from_memory
def test_thermometer_line_about_its_middle_has_no_covariance():
    """JCGM 100:2008, H.3.5 (value from memory): with t0 the mean of the temperatures, r(y1, y2) = 0."""
    line = least_squares_line(THERMOMETER_DEGC - THERMOMETER_DEGC.mean(), CORRECTION_DEGC)
    assert line.covariance == pytest.approx(0.0, abs=1e-18)


@pytest.mark.published
def test_line_with_known_uncertainty_is_that_of_iso_28037():
    """ISO/TS 28037:2010, 6.3, first example; tolerance: half the last printed digit."""
    line = least_squares_line(np.arange(1.0, 7.0), [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], u_y=0.5)
    assert line.intercept == pytest.approx(1.867, abs=5e-4)
    assert line.u_intercept == pytest.approx(0.465, abs=5e-4)
    assert line.slope == pytest.approx(1.757, abs=5e-4)
    assert line.u_slope == pytest.approx(0.12, abs=5e-4)
    assert line.covariance == pytest.approx(-0.05, abs=5e-13)
    assert line.residual_sum_of_squares / 0.5**2 == pytest.approx(1.665, abs=5e-4)
    assert line.degrees_of_freedom == 4


@pytest.mark.published
def test_line_with_unknown_uncertainty_is_that_of_iso_28037():
    """ISO/TS 28037:2010, annex E; tolerance: half the last printed digit.

    The printed 0.171 is not the residual sum of squares of these data, 0.1165: its root of a quarter,
    the residual standard deviation, is 0.1707, and that is what 0.171 rounds.
    """
    line = least_squares_line(np.arange(1.0, 7.0), [3.014, 5.225, 7.004, 9.061, 11.201, 12.762])
    assert line.intercept == pytest.approx(1.172, abs=5e-4)
    assert line.u_intercept == pytest.approx(0.159, abs=5e-4)
    assert line.slope == pytest.approx(1.964, abs=5e-4)
    assert line.u_slope == pytest.approx(0.041, abs=5e-4)
    assert line.covariance == pytest.approx(-0.006, abs=5e-4)
    assert line.residual_sd == pytest.approx(0.171, abs=5e-4)
    assert line.residual_sum_of_squares == pytest.approx(0.116498285714, rel=1e-10)


@pytest.mark.published
def test_gauge_lines_are_as_printed():
    """E. O. Doebelin, Measurement Systems, pressure gauge (attribution from memory): all, up and down fits."""
    both = least_squares_line(np.tile(GAUGE_TRUE_KPA, 2), np.concatenate((GAUGE_UP_KPA, GAUGE_DOWN_KPA)))
    assert both.slope == pytest.approx(1.08, abs=0.005)
    assert both.intercept == pytest.approx(-0.85, abs=0.005)
    # The book divides the residual sum by N; the standard uncertainties here divide it by N - 2.
    assert both.u_slope * np.sqrt(20 / 22) == pytest.approx(0.0134, abs=5e-5)
    assert both.u_slope == pytest.approx(0.01402727, abs=5e-9)
    assert both.u_intercept == pytest.approx(0.08298646, abs=5e-9)
    up = least_squares_line(GAUGE_TRUE_KPA, GAUGE_UP_KPA)
    assert (up.slope, up.intercept) == pytest.approx((1.08236364, -1.02545455), abs=5e-9)
    assert up.residual_sd == pytest.approx(0.116, abs=5e-4)
    down = least_squares_line(GAUGE_TRUE_KPA, GAUGE_DOWN_KPA)
    assert (down.slope, down.intercept) == pytest.approx((1.08227273, -0.66863636), abs=5e-9)
    assert down.residual_sd == pytest.approx(0.072, abs=5e-4)


def test_sensor_line_agrees_with_an_independent_recomputation():
    """Kessel, Kacker, Sommer, 2008, table 4: pressure over reading, least squares worked out outside the project."""
    line = least_squares_line(SENSOR_READING, SENSOR_PRESSURE)
    assert line.slope == pytest.approx(9.79933584, abs=5e-9)
    assert line.intercept == pytest.approx(0.00227215526, abs=5e-12)


@pytest.mark.second_opinion
@given(y=arrays(float, 8, elements=floats(-100, 100)), shift=floats(-50, 50))
def test_line_agrees_with_statsmodels(y, shift):
    x = np.array([0.0, 1.0, 2.5, 3.0, 5.5, 7.0, 8.5, 10.0]) + shift
    noisy = y + np.array([0.1, -0.2, 0.3, 0.0, -0.1, 0.2, -0.3, 0.1])
    line = least_squares_line(x, noisy)
    other = statsmodels.api.OLS(noisy, np.column_stack((np.ones(8), x))).fit()
    scale = np.abs(noisy).max() + 1.0
    assert (line.intercept, line.slope) == pytest.approx(other.params, rel=1e-7, abs=1e-8 * scale)
    assert (line.u_intercept, line.u_slope) == pytest.approx(other.bse, rel=1e-6, abs=1e-8 * scale)
    assert line.covariance == pytest.approx(other.cov_params()[0, 1], rel=1e-6, abs=1e-7 * scale**2)
    at = other.get_prediction([[1.0, 4.0]])
    assert line.at(4.0) == pytest.approx((at.predicted[0], at.se[0]), rel=1e-6, abs=1e-7 * scale)


@pytest.mark.second_opinion
def test_line_through_the_origin_agrees_with_statsmodels():
    x, y = np.array([1.0, 2.0, 4.0, 7.0]), np.array([1.2, 1.9, 4.3, 6.8])
    line = least_squares_line(x, y, through_origin=True)
    other = statsmodels.api.OLS(y, x[:, None]).fit()
    assert line.slope == pytest.approx(other.params[0])
    assert line.u_slope == pytest.approx(other.bse[0])


def test_two_points_leave_nothing_to_estimate_an_uncertainty_by():
    line = least_squares_line([0, 2], [1, 5])
    assert (line.slope, line.intercept, line.degrees_of_freedom) == (2.0, 1.0, 0)
    assert (line.u_slope, line.u_intercept, line.covariance, line.residual_sd) == (None, None, None, None)
    assert line.at(1.0) == (3.0, None)


def test_three_points_leave_one_degree_of_freedom():
    """0, 1, 0 at 0, 1, 2: mean 1/3, residuals -1/3, 2/3, -1/3, their squares 2/3 over one degree."""
    line = least_squares_line([0, 1, 2], [0, 1, 0])
    assert line.residual_sd == pytest.approx(np.sqrt(2 / 3))
    assert (line.u_slope, line.degrees_of_freedom) == (pytest.approx(np.sqrt(1 / 3)), 1)


def test_two_points_of_known_uncertainty_have_one():
    """u(slope) = 0.5 / sqrt(2), u(intercept) = 0.5 sqrt(1/2 + 1/2), covariance = -0.25 x 1 / 2."""
    line = least_squares_line([0, 2], [1, 5], u_y=0.5)
    assert line.u_slope == pytest.approx(0.5 / np.sqrt(2))
    assert line.u_intercept == pytest.approx(0.5)
    assert line.covariance == pytest.approx(-0.125)
    assert line.residual_sd is None


def test_a_pair_with_a_nan_or_an_infinity_is_left_out():
    line = least_squares_line([0, 1, 2, np.nan, 4, np.inf], [1, 3, 5, 0, np.nan, 0])
    assert (line.slope, line.intercept, line.degrees_of_freedom) == pytest.approx((2.0, 1.0, 1))


@pytest.mark.parametrize(
    ("x", "y", "through_origin"),
    [([], [], False), ([1], [1], False), ([2, 2], [1, 3], False), ([0, 0], [1, 3], True), ([np.nan, 1], [1, 1], False)],
)
def test_points_that_give_no_slope_are_refused(x, y, through_origin):
    with pytest.raises(CalculationInputError, match=r"^The points give no slope: no two x differ, or all are 0"):
        least_squares_line(x, y, through_origin=through_origin)


def test_unpaired_points_are_refused():
    with pytest.raises(CalculationInputError, match=r"^y has 1 values beside 2 readings"):
        least_squares_line([1, 2], [1])


def test_one_point_gives_a_line_through_the_origin():
    line = least_squares_line([2], [5], through_origin=True)
    assert (line.slope, line.degrees_of_freedom, line.u_slope) == (2.5, 0, None)
