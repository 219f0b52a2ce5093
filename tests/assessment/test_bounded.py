"""What bounds prove against limits."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, floats, none, one_of, sampled_from

from kit.assessment.bounded import bounds_among, range_text
from kit.assessment.conformity import Tolerance
from kit.assessment.judge import judge
from kit.basis.quantity import Quantity
from tests.assessment.builders import finding, limit

ENDS = floats(-1e3, 1e3)
PASSES = frozenset({"pass", "conditional_pass"})


def judged(low: float, high: float, *, expanded: float | None = 0.1, rule: str = "simple", **form: float):
    one = finding("earth_resistance", low if np.isfinite(low) else high, expanded)
    bounded = one.__class__(one.check, Quantity(one.value, within=(low, high)), uncertainty=one.uncertainty)
    return judge(bounded, limit("earth_resistance", **form), rule)


@pytest.mark.parametrize(
    ("low", "high", "form", "verdict"),
    [
        (60.0, inf, {"maximum": 30.0}, "fail"),
        (60.0, inf, {"maximum": 60.0}, "fail"),
        (60.0, inf, {"maximum": 61.0}, "not_assessable"),
        (999.0, inf, {"minimum": 1.0}, "pass"),
        (0.5, inf, {"minimum": 1.0}, "not_assessable"),
        (-inf, 0.1, {"maximum": 1.0}, "pass"),
        (-inf, 0.1, {"minimum": 1.0}, "fail"),
        (-inf, 1.0, {"minimum": 1.0}, "fail"),
        (-inf, 5.0, {"maximum": 1.0}, "not_assessable"),
        (40.0, inf, {"minimum": 27.0, "maximum": 33.0}, "fail"),
        (30.0, inf, {"minimum": 27.0, "maximum": 33.0}, "not_assessable"),
        (10.0, inf, {"minimum": 27.0, "maximum": 33.0}, "not_assessable"),
        (-inf, 20.0, {"minimum": 27.0, "maximum": 33.0}, "fail"),
    ],
)
def test_a_bound_fails_beyond_a_limit_passes_inside_it_and_else_leaves_it_open(low, high, form, verdict):
    found = judged(low, high, **form)
    assert found.verdict == verdict
    assert bool(found.reason) == (verdict != "pass")


@pytest.mark.parametrize("rule", ["guarded", "by_ratio"])
def test_a_bound_passes_under_the_same_rules_as_a_value(rule):
    """999 is inside 1 by more than U = 0.1; 1.05 is inside by less; without an uncertainty nothing passes."""
    assert judged(999.0, inf, minimum=1.0, rule=rule).verdict == "pass"
    assert judged(1.05, inf, minimum=1.0, rule=rule).verdict == "conditional_pass"
    assert judged(999.0, inf, minimum=1.0, rule=rule, expanded=None).verdict == "not_assessable"


@pytest.mark.parametrize("rule", ["simple", "guarded", "by_ratio"])
def test_a_bound_beyond_its_limit_fails_without_an_uncertainty(rule):
    assert judged(60.0, inf, maximum=30.0, rule=rule, expanded=None).verdict == "fail"


@given(
    end=ENDS,
    above=booleans(),
    lower=one_of(none(), ENDS),
    upper=one_of(none(), ENDS),
    rule=sampled_from(["simple", "guarded", "by_ratio"]),
)
def test_a_bound_never_passes_a_limit_inside_its_interval_nor_fails_one_that_could_hold_it(
    end, above, lower, upper, rule
):
    if (lower is None and upper is None) or (lower is not None and upper is not None and lower >= upper):
        return
    low, high = (end, inf) if above else (-inf, end)
    form = {name: each for name, each in (("minimum", lower), ("maximum", upper)) if each is not None}
    verdict = judged(low, high, rule=rule, **form).verdict
    cut = any(each is not None and low < each < high for each in (lower, upper))
    assert verdict not in PASSES or not cut
    inside = np.linspace(max(low, -1e4), min(high, 1e4), 401)[1:-1]
    could_hold = any(Tolerance(lower, upper).room(each) >= 0 for each in inside)
    assert verdict != "fail" or not could_hold


def test_what_never_happened_fails_with_and_without_a_limit():
    never = finding("stroke_time_open", None).__class__("stroke_time_open", Quantity(None, never="did not arrive"))
    for given_limit in (None, limit("stroke_time_open", maximum=30.0), limit("stroke_time_open", of_nominal_pct=10)):
        found = judge(never, given_limit, "simple")
        assert (found.verdict, found.value, found.reason) == ("fail", None, "did not arrive")


def test_readings_are_intervals_as_soon_as_one_is_a_bound():
    low, high = np.array([28.0, 60.0, np.nan]), np.array([28.0, inf, np.nan])
    assert bounds_among(low, high) == ((28.0, 28.0), (60.0, inf))
    assert bounds_among(low[:1], high[:1]) == ()
    assert range_text(low, high) == "28 to > 60"
