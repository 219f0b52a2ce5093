"""Components, budgets and the spread of instrument errors over readings."""

from __future__ import annotations

from math import inf, sqrt

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis.strategies import floats, integers, lists, tuples
from uncertainties import ufloat

from kit.basis.arrays import CalculationInputError
from kit.basis.quantity import Component
from kit.calculations.lines import least_squares_line
from kit.calculations.scatter import groups_of, pooled_deviation
from kit.calculations.uncertainty import (
    accuracy_half_width,
    combine,
    coverage_factor,
    effective_degrees_of_freedom,
    rectangular,
    resolution,
    spread_of_accuracy,
    spread_of_resolution,
    type_a,
)
from tests.calculations.published_data import CORRECTION_DEGC, TEMPERATURES_DEGC, THERMOMETER_DEGC

PROBABILITIES = (0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973)
# NIST TN 1297 (1994), table B.1: the same table as JCGM 100:2008, table G.2.
T_TABLE = """
1 1.84 6.31 12.71 13.97 63.66 235.80
2 1.32 2.92 4.30 4.53 9.92 19.21
3 1.20 2.35 3.18 3.31 5.84 9.22
4 1.14 2.13 2.78 2.87 4.60 6.62
5 1.11 2.02 2.57 2.65 4.03 5.51
6 1.09 1.94 2.45 2.52 3.71 4.90
7 1.08 1.89 2.36 2.43 3.50 4.53
8 1.07 1.86 2.31 2.37 3.36 4.28
9 1.06 1.83 2.26 2.32 3.25 4.09
10 1.05 1.81 2.23 2.28 3.17 3.96
11 1.05 1.80 2.20 2.25 3.11 3.85
12 1.04 1.78 2.18 2.23 3.05 3.76
13 1.04 1.77 2.16 2.21 3.01 3.69
14 1.04 1.76 2.14 2.20 2.98 3.64
15 1.03 1.75 2.13 2.18 2.95 3.59
16 1.03 1.75 2.12 2.17 2.92 3.54
17 1.03 1.74 2.11 2.16 2.90 3.51
18 1.03 1.73 2.10 2.15 2.88 3.48
19 1.03 1.73 2.09 2.14 2.86 3.45
20 1.03 1.72 2.09 2.13 2.85 3.42
25 1.02 1.71 2.06 2.11 2.79 3.33
30 1.02 1.70 2.04 2.09 2.75 3.27
35 1.01 1.70 2.03 2.07 2.72 3.23
40 1.01 1.68 2.02 2.06 2.70 3.20
45 1.01 1.68 2.01 2.06 2.69 3.18
50 1.01 1.68 2.01 2.05 2.68 3.16
100 1.005 1.660 1.984 2.025 2.626 3.077
inf 1.000 1.645 1.960 2.000 2.576 3.000
"""


def pooled_scatter(error, point, rising, weights):
    """Standard deviation of a weighted mean of repeats, within point and direction, and its degrees of freedom."""
    found = pooled_deviation(error, groups_of(point, rising))
    return None if found is None else (found[0] * float(np.linalg.norm(weights)), found[1])


def t_table():
    for line in T_TABLE.strip().splitlines():
        freedom, *printed = line.split()
        yield from ((float(freedom), p, text) for p, text in zip(PROBABILITIES, printed, strict=True))


def disagrees(freedom, probability, printed):
    digits = len(printed.partition(".")[2])
    return abs(coverage_factor(probability, freedom) - float(printed)) > 0.5 * 10**-digits + 1e-9


@pytest.mark.published
def test_coverage_factors_are_those_of_the_t_table_but_for_its_two_misprints():
    """NIST TN 1297, table B.1 (JCGM 100:2008, table G.2); tolerance: half the last printed digit.

    Exact are 235.78 where 235.80 is printed (that belongs to 99.73002 %, three standard deviations
    of the normal distribution), and 1.6896 where 1.70 is.
    """
    wrong = [(freedom, p, printed) for freedom, p, printed in t_table() if disagrees(freedom, p, printed)]
    assert wrong == [(1.0, 0.9973, "235.80"), (35.0, 0.90, "1.70")]
    assert coverage_factor(0.9973, 1) == pytest.approx(235.78, abs=0.005)
    assert coverage_factor(0.997300204, 1) == pytest.approx(235.80, abs=0.005)
    assert coverage_factor(0.90, 35) == pytest.approx(1.6896, abs=5e-5)


@pytest.mark.from_memory
@pytest.mark.parametrize(
    ("component", "printed", "half_digit"),
    [
        (rectangular("expansion", 0.40, "1e-6/degC"), 0.23, 0.005),  # 4.3.7, example 1
        (rectangular("voltmeter", 15.0, "uV"), 8.7, 0.05),  # 4.3.7, example 2
        (rectangular("temperature", 4.0, "degC"), 2.3, 0.05),  # 4.4.6
        (resolution("indication", 1.0, "digit"), 0.29, 0.005),  # F.2.2.1
        (Component("certificate", "", 240.0, "ug", "normal", 3.0, 1.0), 80.0, 0.5),  # 4.3.3
        (Component("certificate", "", 129.0, "uohm", "normal", 2.58, 1.0), 50.0, 0.5),  # 4.3.4
    ],
)
def test_standard_uncertainties_are_those_of_the_gum(component, printed, half_digit):
    """JCGM 100:2008, short examples (values from memory); tolerance: half the last printed digit."""
    assert component.standard_uncertainty == pytest.approx(printed, abs=half_digit)
    assert component.degrees_of_freedom == inf


@pytest.mark.from_memory
def test_voltmeter_example_of_the_gum():
    """JCGM 100:2008, 4.3.7, example 2, and 5.1.5 (values from memory): a = 15 uV, u = 8.7 uV, uc = 15 uV."""
    half_width = accuracy_half_width(0.928571, pct_reading=14e-4, pct_range=2e-4, range_span=1.0)
    assert half_width * 1e6 == pytest.approx(15, abs=0.05)
    budget = combine(
        [type_a("mean", 12.0, "uV", 19), rectangular("voltmeter", float(half_width) * 1e6, "uV")],
        coverage_probability=0.9545,
    )
    assert budget.components[1].standard_uncertainty == pytest.approx(8.7, abs=0.05)
    assert budget.standard_uncertainty == pytest.approx(14.7986, abs=5e-4)


@pytest.mark.from_memory
def test_scatter_of_twenty_temperatures_is_that_of_the_gum():
    """JCGM 100:2008, table 1 (values from memory): s = 1.489, s of the mean 0.333 degC."""
    scatter = pooled_scatter(TEMPERATURES_DEGC, np.zeros(20, int), np.zeros(20, bool), np.full(20, 1 / 20))
    assert scatter == pytest.approx((0.333, 19), abs=5e-4)
    assert scatter[0] * sqrt(20) == pytest.approx(1.489, abs=5e-4)
    assert TEMPERATURES_DEGC.mean() == pytest.approx(100.145, abs=5e-4)


@pytest.mark.published
def test_common_error_of_the_thermometers_widens_the_intercept_alone():
    """JCGM 100:2008, H.3.6, as a general package prints it: 0.00576893138292676 with 145.38 degrees of freedom."""
    line = least_squares_line(THERMOMETER_DEGC - 20.0, CORRECTION_DEGC)
    budget = combine(
        [
            type_a("line", line.u_intercept, "degC", line.degrees_of_freedom),
            Component("reference", "", 0.005, "degC", "normal", 1.0, 1.0),
        ],
        coverage_probability=0.9545,
    )
    assert budget.standard_uncertainty == pytest.approx(0.00576893138292676, rel=1e-11)
    assert budget.degrees_of_freedom == pytest.approx(145.38, abs=0.005)


@pytest.mark.from_memory
def test_doubtful_half_width_has_the_degrees_of_freedom_of_the_gum():
    """JCGM 100:2008, G.4.2 (value from memory): an uncertainty known to 25 % has 8 degrees of freedom.

    1 / (2 x 0.25^2) = 8; alone in a budget it keeps them.
    """
    assert effective_degrees_of_freedom([3.0], [1 / (2 * 0.25**2)]) == pytest.approx(8.0)


@pytest.mark.second_opinion
@given(floats(0.5, 0.9999), floats(0.3, 1e5))
def test_coverage_factor_is_the_quantile_of_scipy_stats(probability, freedom):
    assert coverage_factor(probability, freedom) == pytest.approx(
        scipy.stats.t.interval(probability, freedom)[1], rel=1e-9
    )


@pytest.mark.second_opinion
def test_coverage_factor_without_bound_is_that_of_the_normal_distribution():
    for probability in PROBABILITIES:
        normal = scipy.stats.norm.interval(probability)[1]
        assert coverage_factor(probability, inf) == pytest.approx(normal, rel=1e-12)
        assert coverage_factor(probability, 1e9) == pytest.approx(normal, rel=1e-7)


@pytest.mark.second_opinion
@given(lists(tuples(floats(0.01, 10), floats(-3, 3), integers(0, 2)), min_size=1, max_size=6))
def test_combined_uncertainty_is_that_of_the_uncertainties_package(parts):
    makers = (
        lambda value, factor: rectangular("a", value, "%", sensitivity=factor),
        lambda value, factor: resolution("b", value, "%", sensitivity=factor),
        lambda value, factor: type_a("c", value, "%", 5, sensitivity=factor),
    )
    divisors = (sqrt(3), sqrt(12), 1.0)
    budget = combine([makers[kind](value, factor) for value, factor, kind in parts], coverage_probability=0.95)
    total = sum(factor * ufloat(0.0, value / divisors[kind]) for value, factor, kind in parts)
    assert budget.standard_uncertainty == pytest.approx(total.std_dev, rel=1e-9, abs=1e-12)


@pytest.mark.second_opinion
def test_spread_over_points_is_that_of_common_errors_in_the_uncertainties_package():
    """Two points with an accuracy error each, common to the readings there."""
    first, second = ufloat(0.0, 0.3 / sqrt(3)), ufloat(0.0, 0.4 / sqrt(3))
    figure = 0.5 * first + 0.25 * first - 0.5 * second - 0.25 * second
    spread = spread_of_accuracy([0.5, 0.25, -0.5, -0.25], [2, 2, 5, 5], [0.3, 0.3, 0.4, 0.4])
    assert spread / sqrt(3) == pytest.approx(figure.std_dev)


def test_budget_by_hand():
    """u = sqrt(3^2 + 4^2) = 5; nu = 5^4 / (4^4 / 10) = 24.41; k from t."""
    parts = [Component("a", "M-1", 3.0, "mA", "normal", 1.0, -1.0), type_a("b", 2.0, "%", 10, sensitivity=-2.0)]
    budget = combine(parts, coverage_probability=0.9)
    assert budget.components == tuple(parts)
    assert [part.standard_uncertainty for part in parts] == [3.0, 4.0]
    assert budget.standard_uncertainty == 5.0
    assert budget.degrees_of_freedom == pytest.approx(625 / 25.6)
    assert budget.coverage_probability == 0.9
    assert budget.coverage_factor == pytest.approx(scipy.stats.t.ppf(0.95, 625 / 25.6))
    assert budget.expanded_uncertainty == pytest.approx(5 * budget.coverage_factor)


def test_components_say_what_they_are():
    accuracy = rectangular("position, accuracy", 0.1, "deg", instrument="P-2", sensitivity=1.5)
    assert (accuracy.name, accuracy.instrument, accuracy.value, accuracy.unit) == (
        "position, accuracy",
        "P-2",
        0.1,
        "deg",
    )
    assert (accuracy.distribution, accuracy.divisor, accuracy.sensitivity) == ("rectangular", sqrt(3), 1.5)
    step = resolution("position, resolution", 0.1, "deg", instrument="P-2", sensitivity=1.5)
    assert (step.name, step.instrument, step.value, step.unit) == ("position, resolution", "P-2", 0.1, "deg")
    assert (step.distribution, step.divisor, step.sensitivity) == ("resolution", 2 * sqrt(3), 1.5)
    scatter = type_a("scatter", 0.1, "%", 7, sensitivity=1.5)
    assert (scatter.name, scatter.instrument, scatter.value, scatter.unit) == ("scatter", "", 0.1, "%")
    assert (scatter.distribution, scatter.divisor, scatter.sensitivity) == ("normal", 1.0, 1.5)
    assert scatter.degrees_of_freedom == 7
    assert [make("a", 1.0, "%").sensitivity for make in (rectangular, resolution)] == [1.0, 1.0]
    assert [make("a", 1.0, "%").instrument for make in (rectangular, resolution)] == ["", ""]
    assert type_a("a", 1.0, "%", 3).sensitivity == 1.0


@given(lists(tuples(floats(1e-9, 1e3), floats(1, 1e4)), min_size=1, max_size=6))
def test_effective_degrees_lie_between_the_least_and_the_sum(parts):
    effective = effective_degrees_of_freedom([u for u, _ in parts], [freedom for _, freedom in parts])
    assert min(freedom for _, freedom in parts) <= effective * (1 + 1e-9)
    assert effective <= sum(freedom for _, freedom in parts) * (1 + 1e-9)


@given(floats(1e-100, 1e60))
def test_effective_degrees_do_not_depend_on_the_unit(scale):
    effective = effective_degrees_of_freedom([3.0 * scale, 4.0 * scale], [5, 10])
    assert effective == pytest.approx(25**2 / (3**4 / 5 + 4**4 / 10))


def test_effective_degrees_are_unbounded_where_nothing_bounds_them():
    assert effective_degrees_of_freedom([3.0, 4.0], [inf, inf]) == inf
    assert effective_degrees_of_freedom([3.0, 0.0], [inf, 2]) == inf
    assert effective_degrees_of_freedom([0.0, 0.0], [3, 4]) == inf
    assert effective_degrees_of_freedom([], []) == inf


def test_budget_of_zeros_is_zero_with_the_normal_factor():
    budget = combine([rectangular("a", 0.0, "%")], coverage_probability=0.9545)
    assert (budget.standard_uncertainty, budget.expanded_uncertainty, budget.degrees_of_freedom) == (0.0, 0.0, inf)
    assert budget.coverage_factor == pytest.approx(2.0, abs=5e-5)


def test_accuracy_terms_add_up():
    """0.2 % of 10 = 0.02; 0.1 % of a span of 16 = 0.016; fixed 0.003."""
    statement = {"pct_reading": 0.2, "pct_range": 0.1, "range_span": 16.0, "fixed": 0.003}
    assert accuracy_half_width([10.0, -10.0, 0.0], **statement) == pytest.approx([0.039, 0.039, 0.019])
    assert accuracy_half_width([10.0, 20.0], pct_reading=0.2) == pytest.approx([0.02, 0.04])
    assert accuracy_half_width([10.0, 20.0], pct_range=0.1, range_span=-16.0) == pytest.approx([0.016, 0.016])
    assert accuracy_half_width([10.0, 20.0], fixed=0.003) == pytest.approx([0.003, 0.003])
    assert accuracy_half_width(10.0, fixed=0.0) == 0.0


def test_accuracy_of_a_missing_reading_is_missing():
    assert np.isnan(accuracy_half_width([np.nan], fixed=0.1)).all()
    assert np.isnan(accuracy_half_width([np.nan, np.inf, -np.inf], pct_reading=0.1)).all()
    assert np.isnan(accuracy_half_width([np.inf], pct_range=0.1, range_span=16.0)).all()


def test_an_accuracy_statement_that_says_nothing_is_refused():
    with pytest.raises(CalculationInputError, match=r"^The accuracy statement has no term; give % of reading"):
        accuracy_half_width([1.0])
    with pytest.raises(CalculationInputError, match=r"^The accuracy statement has no term"):
        accuracy_half_width([1.0], range_span=16.0)
    with pytest.raises(CalculationInputError, match=r"^An accuracy of 0.1 % of range needs the range; give its span"):
        accuracy_half_width([1.0], pct_range=0.1)


def test_accuracy_cancels_in_a_difference_at_one_point_and_nowhere_else():
    assert spread_of_accuracy([1, -1], [3, 3], 0.2) == 0.0
    assert spread_of_accuracy([1, -1], [0, 3], 0.2) == pytest.approx(0.2 * sqrt(2))
    assert spread_of_accuracy([0.5, 0.5], [3, 3], 0.2) == pytest.approx(0.2)
    assert spread_of_accuracy([0.5, 0.5], [0, 3], 0.2) == pytest.approx(0.2)  # a mean over points averages none of it
    assert spread_of_accuracy([1, -1], [3, 3], [0.2, 0.3]) == pytest.approx(0.1)


def test_resolution_stays_in_a_mean_and_comes_twice_in_a_difference():
    assert spread_of_resolution([0.5, 0.5], [3, 3]) == pytest.approx(1.0)
    assert spread_of_resolution([1, -1], [3, 3]) == pytest.approx(sqrt(2))
    assert spread_of_resolution([1, -1], [0, 3]) == pytest.approx(sqrt(2))
    assert spread_of_resolution([0.5, 0.5, -0.5, -0.5], [3, 3, 3, 3]) == pytest.approx(sqrt(2))
    assert spread_of_resolution([0.5, 0.25], [0, 3]) == pytest.approx(sqrt(0.3125))


@pytest.mark.parametrize("signs", [(1, 1), (1, -1), (-1, 1), (-1, -1)])
def test_resolution_of_neighbouring_points_is_independent(signs):
    for points in ([0, 1], [1, 2], [1, 0]):
        assert spread_of_resolution(signs, points) == pytest.approx(sqrt(2))


def test_readings_without_weight_add_nothing():
    assert spread_of_accuracy([0, 1], [0, 1], [np.nan, 0.2]) == pytest.approx(0.2)
    assert spread_of_resolution([0, 1, 0], [0, 1, 2]) == 1.0
    assert spread_of_accuracy([], [], 0.2) == 0.0


def test_scatter_is_pooled_within_point_and_direction():
    """Groups (0, up): 1, 3 -> 2; (0, down): 5 alone; (1, up): 0, 0, 3 -> 6. s^2 = (2 + 6) / (1 + 2)."""
    error, point = [1.0, 3.0, 5.0, 0.0, 0.0, 3.0], [0, 0, 0, 1, 1, 1]
    rising = [True, True, False, True, True, True]
    weights = np.array([-0.25, -0.25, -0.5, 1 / 3, 1 / 3, 1 / 3])
    scatter = pooled_scatter(error, point, rising, weights)
    assert scatter == pytest.approx((sqrt(8 / 3 * (2 / 16 + 1 / 4 + 1 / 3)), 3))


def test_scatter_is_known_from_points_that_carry_no_weight():
    """1, 3 and 0, 4: sums of squares 2 and 8 with one degree of freedom each; s^2 = 5, of the mean of two 2.5."""
    scatter = pooled_scatter([1.0, 3.0, 0.0, 4.0], [0, 0, 1, 1], [True] * 4, [0.5, 0.5, 0.0, 0.0])
    assert scatter == pytest.approx((sqrt(2.5), 2))
    single = pooled_scatter([1.0, 2.0, 3.0], [0, 0, 1], [True] * 3, [0.0, 0.0, 1.0])
    assert single == pytest.approx((sqrt(0.5), 1))


def test_scatter_of_a_group_counts_whole_where_one_reading_of_it_carries_weight():
    """Errors 1 and 3, s^2 = 2 with one degree of freedom; a figure that takes the first alone."""
    assert pooled_scatter([1.0, 3.0], [0, 0], [True, True], [1.0, 0.0]) == pytest.approx((sqrt(2), 1))


def test_scatter_keeps_neighbouring_points_and_directions_apart():
    """(0, up) and (1, down) have one reading each, however they are numbered."""
    assert pooled_scatter([1.0, 9.0], [0, 1], [True, False], [0.5, 0.5]) is None
    assert pooled_scatter([1.0, 9.0], [1, 2], [True, False], [0.5, 0.5]) is None
    assert pooled_scatter([1.0, 9.0], [1, 2], [False, True], [0.5, 0.5]) is None


def test_scatter_of_single_readings_is_unknown():
    assert pooled_scatter([1.0, 2.0], [0, 1], [True, True], [0.5, 0.5]) is None
    assert pooled_scatter([1.0, 2.0], [0, 0], [True, False], [0.5, 0.5]) is None
    assert pooled_scatter([], [], [], []) is None


def test_scatter_of_equal_readings_is_zero():
    assert pooled_scatter([0.5, 0.5], [0, 0], [True, True], [0.5, 0.5]) == (0.0, 1.0)


@given(integers(0, 2**32 - 1), floats(-100, 100))
def test_scatter_does_not_depend_on_the_level_of_each_group(start_number, shift):
    generator = np.random.default_rng(start_number)
    error, point, rising = generator.normal(0, 1, 12), np.repeat([0, 1, 2], 4), np.tile([True, False], 6)
    before = pooled_scatter(error, point, rising, np.full(12, 1 / 12))
    after = pooled_scatter(error + shift * point - shift * rising, point, rising, np.full(12, 1 / 12))
    assert after == pytest.approx(before, rel=1e-9)
    assert before[1] == 6


@pytest.mark.parametrize("probability", [0.0, 1.0, -0.1, 95.45, float("nan")])
def test_a_coverage_probability_outside_0_to_1_is_refused(probability):
    with pytest.raises(CalculationInputError, match=rf"^A coverage probability of {probability:g} is none; give one"):
        coverage_factor(probability, 10)


@pytest.mark.parametrize("freedom", [0.0, -1.0, float("nan")])
def test_degrees_of_freedom_that_are_none_are_refused(freedom):
    with pytest.raises(
        CalculationInputError, match=rf"^{freedom:g} degrees of freedom are none; give a number above 0"
    ):
        coverage_factor(0.95, freedom)
    with pytest.raises(CalculationInputError, match="degrees of freedom are none"):
        effective_degrees_of_freedom([1.0, 1.0], [5, freedom])


def test_a_budget_that_would_hide_a_gap_is_refused():
    with pytest.raises(CalculationInputError, match=r"^A budget without a component has no uncertainty; give at least"):
        combine([], coverage_probability=0.95)
    with pytest.raises(CalculationInputError, match=r"^The component 'b' is nan; leave the budget out altogether"):
        combine([rectangular("a", 1.0, "%"), rectangular("b", float("nan"), "%")], coverage_probability=0.95)


def test_unpaired_degrees_of_freedom_are_refused():
    with pytest.raises(ValueError, match=r"zip\(\) argument 2 is shorter"):
        effective_degrees_of_freedom([1.0, 2.0], [3])
