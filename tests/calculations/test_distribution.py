"""The distribution of errors against closed forms, a general-purpose library and simulation."""

from __future__ import annotations

from math import inf, sqrt

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis.strategies import floats, sampled_from

from kit.basis.arrays import CalculationInputError
from kit.calculations.distribution import distribution_of, least_freedom
from kit.calculations.uncertainty import combine, rectangular, resolution, type_a

DRAWS = 400_000


def simulated(components, number):
    """Errors drawn as JCGM 101:2008, 6.4 says for each component."""
    generator = np.random.default_rng(number)
    total = np.zeros(DRAWS)
    for each in components:
        scale = each.standard_uncertainty
        if each.distribution != "normal":
            total += generator.uniform(-1.0, 1.0, DRAWS) * scale * sqrt(3)
        elif each.degrees_of_freedom == inf:
            total += generator.normal(0.0, scale, DRAWS)
        else:
            total += generator.standard_t(each.degrees_of_freedom, DRAWS) * scale
    return total


@pytest.mark.second_opinion
@pytest.mark.parametrize(
    "components",
    [
        (rectangular("a", 1.0, "%"), resolution("b", 1.0, "%")),
        tuple(rectangular(name, 1.0, "%") for name in "abcdef"),
        (rectangular("a", 1.0, "%"), type_a("b", 0.3, "%", 1)),
        (rectangular("a", 0.2, "%"), resolution("b", 0.1, "%"), type_a("c", 0.3, "%", 2)),
        (rectangular("a", 1.0, "%"), rectangular("b", 0.5, "%"), type_a("c", 0.5, "%", 3)),
        (rectangular("a", 0.5, "%"), type_a("b", 0.5, "%", 4), type_a("c", 0.2, "%", inf)),
        (rectangular("a", 1.0, "%"), type_a("b", 0.4, "%", 1), type_a("c", 0.4, "%", 2)),
        (type_a("a", 0.4, "%", 12.5), type_a("b", 0.4, "%", inf)),
        (rectangular("a", 1.0, "%"), rectangular("b", 0.001, "%"), type_a("c", 0.0001, "%", 1)),
    ],
)
def test_probabilities_and_half_width_are_those_of_a_simulation(components):
    """JCGM 101:2008, clause 7; tolerance: five standard deviations of 400,000 draws."""
    found, errors = distribution_of(components), simulated(components, 7)
    for distance in np.quantile(np.abs(errors), [0.1, 0.5, 0.8, 0.95, 0.99]):
        share = float(np.mean(np.abs(errors) > distance))
        assert 2 * found.beyond(distance) == pytest.approx(share, abs=5 * sqrt(share / DRAWS) + 2e-4)
    assert 2 * found.beyond(found.half_width(0.9545)) == pytest.approx(0.0455, rel=1e-4)
    assert float(np.mean(np.abs(errors) > found.half_width(0.9545))) == pytest.approx(0.0455, abs=0.0018)


@pytest.mark.second_opinion
@given(freedom=sampled_from([1.0, 2.0, 3.0, 4.5, 9.0, 60.0]), scale=floats(0.01, 100), distance=floats(0.0, 8.0))
def test_a_scatter_alone_is_students_distribution(freedom, scale, distance):
    found = distribution_of([type_a("a", scale, "%", freedom)])
    assert found.beyond(distance * scale) == pytest.approx(scipy.stats.t.sf(distance, freedom), abs=3e-5)
    assert found.half_width(0.9545) == pytest.approx(scale * scipy.stats.t.ppf(0.97725, freedom), rel=2e-3)


@pytest.mark.second_opinion
@given(scale=floats(0.01, 100), distance=floats(-6.0, 6.0))
def test_a_known_scatter_alone_is_normal(scale, distance):
    found = distribution_of([type_a("a", scale, "%", inf)])
    assert found.beyond(distance * scale) == pytest.approx(scipy.stats.norm.sf(distance), abs=1e-12)


def test_one_rectangle_ends_at_its_half_width():
    found = distribution_of([rectangular("a", 2.0, "%")])
    assert [found.beyond(each) for each in (-2.0, -1.0, 0.0, 1.0, 1.9, 2.0, 3.0)] == pytest.approx(
        [1.0, 0.75, 0.5, 0.25, 0.025, 0.0, 0.0]
    )
    assert found.half_width(0.95) == pytest.approx(1.9, rel=1e-5)


def test_two_equal_rectangles_make_a_triangle():
    """Half widths of 1: P(sum > x) = (2 - x)^2 / 8."""
    found = distribution_of([rectangular("a", 1.0, "%"), rectangular("b", 1.0, "%")])
    for distance in (0.0, 0.5, 1.0, 1.9):
        assert found.beyond(distance) == pytest.approx((2 - distance) ** 2 / 8, abs=1e-9)


def test_sensitivities_widen_it_and_components_of_nought_change_nothing():
    wide = distribution_of([rectangular("a", 1.0, "mA", sensitivity=-2.0), rectangular("b", 0.0, "%")])
    assert wide.beyond(1.0) == pytest.approx(0.25)


def test_errors_of_nought_lie_nowhere_but_at_nought():
    found = distribution_of([rectangular("a", 0.0, "%")])
    assert (found.beyond(0.0), found.beyond(0.1), found.beyond(-0.1)) == (0.0, 0.0, 1.0)


@given(accuracy=floats(0.0, 1.0), deviation=floats(0.001, 1.0), freedom=sampled_from([1, 2, 5, 30]), at=floats(0, 5))
def test_probabilities_fall_with_distance_and_both_sides_are_alike(accuracy, deviation, freedom, at):
    found = distribution_of([rectangular("a", accuracy, "%"), type_a("b", deviation, "%", freedom)])
    assert found.beyond(at) >= found.beyond(1.1 * at + 0.01) - 1e-9
    assert found.beyond(at) + found.beyond(-at) == pytest.approx(1.0)


def test_the_fewest_degrees_of_freedom_are_those_of_scatter_that_counts():
    parts = [rectangular("a", 1.0, "%"), type_a("b", 0.1, "%", 7), type_a("c", 0.0, "%", 2)]
    assert least_freedom(parts) == 7
    assert least_freedom(parts[:1]) == inf


def test_a_distribution_of_nothing_is_refused():
    with pytest.raises(CalculationInputError, match=r"^Errors without a component have no distribution; give at least"):
        distribution_of([])


def test_with_few_degrees_of_freedom_the_factor_is_that_of_the_distribution():
    """Pure scatter of one degree of freedom: t = 13.97 at 95.45 %; beside an instrument it is not far less."""
    alone = combine([type_a("a", 0.1, "%", 1)], coverage_probability=0.9545)
    assert alone.coverage_factor == pytest.approx(scipy.stats.t.ppf(0.97725, 1), rel=2e-3)
    beside = combine([rectangular("a", 1.0, "%"), type_a("b", 0.3, "%", 1)], coverage_probability=0.9545)
    errors = np.abs(simulated(beside.components, 3))
    assert float(np.mean(errors <= beside.expanded_uncertainty)) == pytest.approx(0.9545, abs=0.002)
    welch = combine([rectangular("a", 1.0, "%"), type_a("b", 0.3, "%", 4)], coverage_probability=0.9545)
    assert welch.coverage_factor == pytest.approx(scipy.stats.t.ppf(0.97725, welch.degrees_of_freedom))


@given(accuracy=floats(0.1, 1.0), deviation=floats(0.0001, 0.001))
def test_a_tiny_scatter_never_makes_u_smaller_than_none(accuracy, deviation):
    parts = [rectangular("a", accuracy, "%"), type_a("b", deviation, "%", 1)]
    with_it, without = (combine(each, coverage_probability=0.9545) for each in (parts, parts[:1]))
    assert with_it.expanded_uncertainty >= without.expanded_uncertainty


def test_the_guard_band_holds_the_distribution_where_the_t_formula_falls_short():
    """Four degrees of freedom beside two rectangles: k u covers some 93 % of the distribution."""
    parts = [rectangular("a", 1.0, "%"), rectangular("b", 1.0, "%"), type_a("c", 1.0, "%", 4)]
    found = combine(parts, coverage_probability=0.9545)
    assert found.guard_band == pytest.approx(found.distribution.half_width(0.9545))
    assert 1.15 > found.guard_band / found.expanded_uncertainty > 1.05
    assert found.two_sigma == found.expanded_uncertainty
    wider = combine(parts, coverage_probability=0.99)
    assert (wider.two_sigma, wider.guard_band) == pytest.approx((found.two_sigma, found.guard_band))
    assert wider.expanded_uncertainty > found.expanded_uncertainty
