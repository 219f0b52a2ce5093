"""One finding against its limit."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists, sampled_from
from scipy.stats import norm

from kit.assessment import assess_tag
from kit.assessment.budgets import Uncertainty
from kit.assessment.judge import judge, missing
from kit.basis.settings import DECISION_RULES, Limit
from kit.basis.verdicts import FAILING
from kit.calculations.uncertainty import combine, rectangular, type_a
from tests.assessment.builders import GOOD, budget, check, finding, limit, records, stroke


@pytest.mark.parametrize(
    ("error", "rule", "verdict"),
    [
        (0.9, "simple", "pass"),
        (1.0, "simple", "pass"),
        (1.1, "simple", "fail"),
        (0.5, "guarded", "pass"),
        (0.9, "guarded", "conditional_pass"),
        (1.1, "guarded", "conditional_fail"),
        (1.5, "guarded", "fail"),
        (0.9, "by_ratio", "conditional_pass"),  # TUR = 1 / 0.3697 = 2.7
    ],
)
def test_the_decision_rule_decides(error, rule, verdict):
    made = records(
        {"readings": stroke(0, 0, error, 0, 0)}, limit("inaccuracy", plus_minus=1.0), instruments=GOOD, rule=rule
    )
    assessment = assess_tag(made)
    assert check(assessment, "inaccuracy").verdict == verdict
    assert assessment.verdict == verdict


def test_by_ratio_is_simple_where_the_ratio_is_four():
    made = records({"readings": stroke(0, 0, 1.9, 0, 0)}, limit("inaccuracy", plus_minus=2.0), instruments=GOOD)
    found = check(assess_tag(made), "inaccuracy")
    assert found.tur == pytest.approx(2.0 / found.budget.expanded_uncertainty)
    assert found.tur > 4
    assert (found.rule, found.verdict) == ("simple", "pass")


def test_no_rule_passes_a_value_whose_uncertainty_is_not_known():
    for rule in DECISION_RULES:
        made = records({"readings": stroke(0, 0, 0.5, 0, 0)}, limit("inaccuracy", plus_minus=1.0), rule=rule)
        assert check(assess_tag(made), "inaccuracy").verdict == "not_assessable"


def judged(value, expanded=None, *, check="inaccuracy", rule="by_ratio", target=0.0, revision="", **form):
    made = Limit(check, "made-up", revision=revision, **form)
    return judge(finding(check, value, expanded, target=target), made, rule)


def test_without_a_limit_a_value_is_information_with_what_is_missing_from_it():
    found = judge(finding("inaccuracy", 0.4, at="50 % command", target=0.0), None, "guarded")
    assert (found.verdict, found.reason, found.rule, found.limit_source) == ("information", "no instrument", "", "")
    assert (found.lower_limit, found.upper_limit, found.tur, found.p_conformity) == (None, None, None, None)
    assert (found.value, found.at, found.target) == (0.4, "50 % command", 0.0)


def test_a_limit_that_cannot_be_worked_out_leaves_the_check_unjudged():
    found = judged(0.5, 0.1, check="stroke_time_open", target=None, of_nominal_pct=10.0)
    assert found.verdict == "not_assessable"
    assert found.reason == "the register gives no stroke time for this direction"
    assert (found.limit_source, found.lower_limit, found.rule, found.p_conformity) == ("made-up", None, "", None)


def test_a_finding_without_a_value_is_not_tested_for_its_own_reason():
    found = judge(finding("inaccuracy", None), Limit("inaccuracy", "made-up", plus_minus=1.0), "simple")
    assert (found.verdict, found.reason, found.value) == ("not_tested", "no reading", None)
    assert (found.lower_limit, found.upper_limit, found.limit_source) == (-1.0, 1.0, "made-up")


def test_a_gap_shows_its_limit_where_the_target_is_nought_and_no_target_of_its_own():
    wide = missing("hysteretic_error", "", "no rows", Limit("hysteretic_error", "made-up", plus_minus=2.0))
    assert (wide.lower_limit, wide.upper_limit, wide.target) == (-2.0, 2.0, None)
    gain = missing("travel_gain", "", "no rows", Limit("travel_gain", "made-up", plus_minus=0.2))
    assert (gain.lower_limit, gain.upper_limit) == (None, None)
    bare = missing("dead_time", "10 % step", "", None)
    assert (bare.verdict, bare.reason, bare.limit_source, bare.detail) == (
        "not_tested",
        "not recorded",
        "",
        "10 % step",
    )


def test_the_source_of_a_limit_carries_its_revision():
    assert judged(0.1, 0.1, plus_minus=1.0, revision="B").limit_source == "made-up, revision B"
    assert judged(0.1, 0.1, plus_minus=1.0).limit_source == "made-up"


@pytest.mark.parametrize(
    ("expanded", "rule", "verdict"),
    [
        (0.25, "simple", "pass"),  # TUR 1 / 0.25 = 4 exactly
        (0.2500001, "guarded", "conditional_pass"),
        (0.1, "simple", "pass"),
    ],
)
def test_by_ratio_turns_at_four_exactly(expanded, rule, verdict):
    found = judged(0.95, expanded, plus_minus=1.0)
    assert found.tur == pytest.approx(1.0 / expanded)
    assert (found.rule, found.verdict, found.reason) == (rule, verdict, "")


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        (0.0, "pass"),
        (0.49, "pass"),
        (0.5, "conditional_pass"),  # the inner edge of the guard band belongs to it
        (1.0, "conditional_pass"),
        (1.5, "conditional_fail"),
        (1.51, "fail"),
    ],
)
@pytest.mark.parametrize("side", [1.0, -1.0])
def test_the_edges_of_the_guard_band_on_both_sides(value, verdict, side):
    assert judged(side * value, 0.5, rule="guarded", plus_minus=1.0).verdict == verdict


@pytest.mark.parametrize(
    ("value", "side"), [(1.0, "inside"), (1.01, "OUTSIDE"), (-1.0, "inside"), (-1.01, "OUTSIDE"), (0.0, "inside")]
)
@pytest.mark.parametrize("rule", ["guarded", "by_ratio"])
def test_without_an_uncertainty_the_reason_says_where_the_value_lies(value, side, rule):
    found = judged(value, rule=rule, plus_minus=1.0)
    assert found.verdict == "not_assessable"
    assert found.reason == (f"the value lies {side} the limits, but its uncertainty is not known: no instrument")
    assert found.suggested_action.startswith("Repeat with an instrument in order")
    assert (found.rule, found.tur, found.p_conformity) == ("guarded", None, None)
    assert (found.lower_limit, found.upper_limit) == (-1.0, 1.0)


def test_simple_acceptance_without_an_uncertainty_fails_outside_and_says_why_it_does_not_pass_inside():
    inside, outside = (judged(value, rule="simple", plus_minus=1.0) for value in (0.5, 1.01))
    assert (inside.verdict, inside.rule) == ("not_assessable", "simple")
    assert inside.reason == "the value lies inside the limits, but its uncertainty is not known: no instrument"
    assert (outside.verdict, outside.reason, outside.rule) == ("fail", "no instrument", "simple")


NO_REPEATS = "valve scatter not included"


@pytest.mark.parametrize("rule", DECISION_RULES)
@pytest.mark.parametrize(("value", "verdict"), [(0.0, "conditional_pass"), (0.9, "conditional_pass"), (1.3, "fail")])
def test_without_the_valves_scatter_no_rule_gives_more_than_a_conditional_pass(rule, value, verdict):
    uncertainty = Uncertainty(budget(0.2), NO_REPEATS, lacks_scatter=True)
    made = replace(finding("zero_error", value, 0.2, target=0.0), uncertainty=uncertainty)
    found = judge(made, Limit("zero_error", "made-up", plus_minus=1.0), rule)
    assert (found.verdict, found.reason) == (verdict, NO_REPEATS)
    assert found.budget.expanded_uncertainty == 0.2


def with_scatter(value, deviation, freedom, *, rule, coverage=0.9545, accuracy=0.0):
    """A value with an instrument of +-accuracy and a scatter of few degrees of freedom, against +-1."""
    parts = [rectangular("a", accuracy, "%"), type_a("b", deviation, "%", freedom)]
    made = Uncertainty(combine(parts, coverage_probability=coverage))
    held = replace(finding("zero_error", value, 0.1, target=0.0), uncertainty=made)
    return judge(held, Limit("zero_error", "made-up", plus_minus=1.0), rule)


@pytest.mark.parametrize(("freedom", "rule"), [(8, "guarded"), (9, "simple")])
def test_a_ratio_needs_nine_degrees_of_freedom_of_the_scatter_itself(freedom, rule):
    found = with_scatter(0.9, 0.01, freedom, rule="by_ratio", accuracy=0.2)
    assert found.tur > 4
    assert found.rule == rule


def test_ratio_and_guard_band_stay_at_95_percent_whatever_the_coverage():
    usual, wide = (with_scatter(0.79, 0.1, 20, rule="guarded", coverage=each) for each in (0.9545, 0.999))
    assert wide.budget.expanded_uncertainty > 1.5 * usual.budget.expanded_uncertainty
    assert (wide.tur, wide.verdict) == (pytest.approx(usual.tur), usual.verdict)
    assert usual.tur == pytest.approx(1.0 / usual.budget.expanded_uncertainty)


@given(
    value=floats(-1.2, 1.2),
    deviation=floats(0.01, 0.3),
    freedom=sampled_from([1, 2, 3, 4, 6, 9, 30]),
    accuracy=floats(0.0, 0.3),
)
def test_a_guarded_pass_leaves_no_more_than_a_fortieth_beyond_either_limit(value, deviation, freedom, accuracy):
    found = with_scatter(value, deviation, freedom, rule="guarded", accuracy=accuracy)
    beyond = found.budget.distribution.beyond
    if found.verdict == "pass":
        assert max(beyond(1.0 - value), beyond(1.0 + value)) <= 0.02275 * 1.001
    if found.verdict == "fail":
        assert found.p_conformity <= 0.02275 * 1.001


def test_the_probability_of_conformity_goes_with_the_standard_uncertainty():
    """Value on one limit of -1 to 1 with u = 0.25: half, as the other limit is 8 u away."""
    found = judged(1.0, 0.5, plus_minus=1.0)
    assert found.p_conformity == pytest.approx(0.5, abs=1e-9)
    assert judged(0.75, 0.5, plus_minus=1.0).p_conformity == pytest.approx(norm.cdf(1.0), abs=1e-9)


@pytest.mark.parametrize(("count", "verdict"), [(0.0, "pass"), (2.0, "pass"), (3.0, "fail")])
@pytest.mark.parametrize("rule", ["guarded", "by_ratio", "simple"])
def test_a_count_is_held_against_its_limit_as_it_is(count, verdict, rule):
    found = judged(count, check="potentiometer_dropouts", rule=rule, target=None, maximum=2.0)
    assert (found.verdict, found.rule, found.reason, found.upper_limit) == (verdict, "simple", "", 2.0)


@given(
    values=lists(floats(0, 5), min_size=2, max_size=2),
    expanded=floats(0.01, 3),
    rule=sampled_from(DECISION_RULES),
    side=sampled_from([-1.0, 1.0]),
)
def test_a_value_farther_from_its_target_is_never_judged_better(values, expanded, rule, side):
    order = ["pass", "conditional_pass", "conditional_fail", "fail"]
    near, far = (
        order.index(judged(side * each, expanded, rule=rule, plus_minus=1.5).verdict) for each in sorted(values)
    )
    assert near <= far


@pytest.mark.parametrize("rule", DECISION_RULES)
@pytest.mark.parametrize("value", [0.0, 0.5, 0.95, 1.0, 1.05, 1.5])
def test_by_a_placeholder_nothing_passes_and_what_is_outside_fails_as_it_would(rule, value):
    confirmed = judged(value, 0.2, rule=rule, plus_minus=1.0)
    waiting = judged(value, 0.2, rule=rule, plus_minus=1.0, placeholder_in="modulating")
    assert waiting.by_placeholder
    assert waiting.limit_source == "made-up; placeholder, not confirmed by a responsible engineer"
    if confirmed.verdict in FAILING:
        assert waiting.verdict == confirmed.verdict
        assert "a placeholder of unit.toml [limits.modulating]" in waiting.reason
    else:
        assert waiting.verdict == "not_assessable"
        assert waiting.reason == (
            "the limit is a placeholder until a responsible engineer confirms it: delete the word placeholder in "
            "unit.toml [limits.modulating]"
        )


def test_a_count_and_a_bound_do_not_pass_by_a_placeholder_either():
    assert judged(0, check="potentiometer_dropouts", maximum=0, placeholder_in="modulating").verdict == "not_assessable"
    assert judged(0, check="potentiometer_dropouts", maximum=0).verdict == "pass"
    megohms = finding("insulation_resistance", 999.0, target=None)
    over = replace(megohms, quantity=replace(megohms.quantity, within=(999.0, inf)))
    least = Limit("insulation_resistance", "made-up", minimum=1.0)
    assert judge(over, replace(least, placeholder_in="modulating"), "by_ratio").verdict == "not_assessable"


def test_what_the_record_lacks_is_told_before_the_placeholder():
    """Confirming the limit would not settle it."""
    found = replace(finding("inaccuracy", 0.2, 0.1, target=0.0), shortfall="2 commands of 5")
    waiting = Limit("inaccuracy", "made-up", plus_minus=1.0, placeholder_in="modulating")
    assert judge(found, waiting, "by_ratio").reason == "2 commands of 5"
