"""Drift from visit to visit and the days until a limit, against arithmetic by hand."""

from __future__ import annotations

from math import inf, nan, sqrt

import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers, lists, tuples
from uncertainties import ufloat

from kit.basis.arrays import CalculationInputError
from kit.calculations.drift import days_to_limit, drift_budget
from kit.calculations.uncertainty import combine, rectangular, resolution, type_a

_INTERVAL = tuples(floats(-5, 5), floats(0, 2), integers(1, 2000))


def test_the_uncertainty_of_a_drift_is_that_of_both_readings():
    """0.3/sqrt(3) and 0.1/(2 sqrt(3)): squared 0.03 + 0.000833; twice that is 0.061667, its root 0.248328; k = 2."""
    own = [rectangular("inclinometer", 0.3, "%", instrument="IN-1"), resolution("inclinometer", 0.1, "%")]
    budget = drift_budget(own, own, coverage_probability=0.9545)
    assert budget.standard_uncertainty == pytest.approx(0.248328, abs=1e-6)
    assert budget.expanded_uncertainty == pytest.approx(0.496656, abs=2e-5)


@pytest.mark.second_opinion
@given(floats(0.01, 2), floats(0.01, 2), floats(0.01, 2))
def test_the_uncertainty_of_a_drift_is_that_of_the_uncertainties_package(one: float, other: float, grain: float):
    """uncertainties: two independent numbers, one less the other."""
    before, after = ufloat(0.2, one / sqrt(3)), ufloat(0.5, other / sqrt(3)) + ufloat(0.0, grain / sqrt(12))
    budget = drift_budget(
        [rectangular("a", one, "%")],
        [rectangular("b", other, "%"), resolution("b", grain, "%")],
        coverage_probability=0.9545,
    )
    assert budget.standard_uncertainty == pytest.approx((after - before).std_dev, rel=1e-12)


def test_few_repeats_of_either_visit_count_by_their_own_degrees_of_freedom():
    """Welch-Satterthwaite by hand: u1 = u2 = 0.1 with 5 and 10: 0.02^2 / (0.1^4/5 + 0.1^4/10) = 13.33."""
    budget = drift_budget(
        [type_a("scatter", 0.1, "%", 5)], [type_a("scatter", 0.1, "%", 10)], coverage_probability=0.9545
    )
    assert budget.degrees_of_freedom == pytest.approx(0.02**2 / (0.1**4 / 5 + 0.1**4 / 10))
    assert budget.degrees_of_freedom == pytest.approx(13.3333, abs=1e-4)


def test_a_drift_without_a_budget_on_both_sides_is_an_error():
    with pytest.raises(CalculationInputError, match="components of both"):
        drift_budget([rectangular("a", 1.0, "%")], [], coverage_probability=0.95)


@given(floats(0.01, 2), floats(0.01, 2))
def test_a_drift_is_never_better_known_than_either_value(one: float, other: float):
    first, second = [rectangular("a", one, "%")], [rectangular("a", other, "%")]
    budget = drift_budget(first, second, coverage_probability=0.9545)
    alone = max(combine(each, coverage_probability=0.9545).expanded_uncertainty for each in (first, second))
    assert budget.expanded_uncertainty >= alone
    assert budget.standard_uncertainty == pytest.approx(sqrt(one**2 + other**2) / sqrt(3))


def test_the_fastest_interval_decides():
    """Room 0.9. (0.2 + 0.1)/100 d = 0.003 a day; (0.05 + 0.1)/200 d = 0.00075 a day. 0.9/0.003 = 300 d."""
    assert days_to_limit(0.9, [0.2, 0.05], [0.1, 0.1], [100, 200]) == pytest.approx(300.0)


@pytest.mark.parametrize(
    ("room", "drift", "days"),
    [
        (0.0, [0.1, 0.1], 0.0),
        (-0.2, [0.1, 0.1], 0.0),
        (0.0, [-1.0, -1.0], 0.0),  # it is there, wherever it was going
        (0.5, [-1.0, -1.0], inf),
        (0.5, [0.1, nan], None),
        (0.5, [0.1], None),
        (0.5, [], None),
        (nan, [0.1, 0.1], None),
    ],
)
def test_what_is_there_already_what_moves_away_and_what_cannot_be_told(
    room: float, drift: list[float], days: float | None
):
    assert days_to_limit(room, drift, [0.1] * len(drift), [100.0] * len(drift)) == days


def test_a_constant_value_is_due_by_its_uncertainty_alone():
    """0.5 / (0.1/100) = 500 d."""
    assert days_to_limit(0.5, [0.0, 0.0, 0.0], [0.1] * 3, [100.0] * 3) == pytest.approx(500.0)


@pytest.mark.parametrize(
    ("uncertainty", "days", "words"),
    [([0.1, 0.1], [100.0], "as many"), ([0.1, -0.1], [1.0, 1.0], "below 0"), ([0.1, 0.1], [1.0, 0.0], "0 days")],
)
def test_lengths_and_signs_are_checked(uncertainty: list[float], days: list[float], words: str):
    with pytest.raises(CalculationInputError, match=words):
        days_to_limit(0.5, [0.1, 0.1], uncertainty, days)


@given(floats(0.001, 10), lists(_INTERVAL, min_size=2, max_size=6), _INTERVAL)
def test_a_further_interval_never_postpones_and_less_room_never_either(
    room: float, intervals: list[tuple[float, float, int]], further: tuple[float, float, int]
):
    known = days_to_limit(room, *zip(*intervals, strict=True))
    more = days_to_limit(room, *zip(*[*intervals, further], strict=True))
    less = days_to_limit(room / 2, *zip(*intervals, strict=True))
    assert known is not None
    assert more is not None
    assert less is not None
    assert more <= known
    assert less <= known


@given(floats(0.01, 10), lists(_INTERVAL, min_size=2, max_size=6), floats(0.1, 10))
def test_the_unit_of_the_value_does_not_matter(room: float, intervals: list[tuple[float, float, int]], factor: float):
    drift, uncertainty, days = zip(*intervals, strict=True)
    known = days_to_limit(room, drift, uncertainty, days)
    scaled = days_to_limit(
        room * factor, [each * factor for each in drift], [each * factor for each in uncertainty], days
    )
    assert scaled == pytest.approx(known)
