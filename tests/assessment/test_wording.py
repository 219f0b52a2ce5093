"""Sentences about results."""

from __future__ import annotations

import pytest

from kit.assessment.wording import CAUSE_WORDS, check_words, end_words, rule_words, span_words, verdict_reason
from kit.basis.checks import LOSS_CAUSES
from kit.basis.registers import Tag
from kit.basis.settings import DECISION_RULES
from tests.assessment.builders import result, stage


def test_every_rule_and_every_cause_has_its_words() -> None:
    assert set(CAUSE_WORDS) == set(LOSS_CAUSES)
    assert len({rule_words(rule) for rule in DECISION_RULES}) == len(DECISION_RULES)


def test_a_detail_stands_behind_its_check_in_words():
    assert check_words("fail_position", "signal_open") == "Position on loss, command signal open"
    assert check_words("fail_time", "signal_short") == "Time on loss, command signal shorted"
    assert check_words("fail_time", "supply_off") == "Time on loss, supply off"
    assert check_words("fail_time", "both_off") == "Time on loss, signal and supply off"
    assert check_words("dead_time", "10 % step") == "Dead time, 10 % step"
    assert check_words("inaccuracy", "") == "Inaccuracy"


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        (
            "simple",
            "Simple acceptance: a value inside or on its limit passes, whatever its uncertainty "
            "(ILAC-G8:09/2019, 4.2.1).",
        ),
        (
            "guarded",
            "Guarded acceptance with a guard band as wide as the expanded uncertainty U: pass only where the value is "
            "inside its limit by more than U; nearer than U to the limit is a conditional pass or a conditional fail "
            "(ILAC-G8:09/2019, 4.2.3). Without an uncertainty nothing passes.",
        ),
        (
            "by_ratio",
            "By ratio: simple acceptance where half the tolerance is at least 4 times the expanded uncertainty U; "
            "elsewhere, and for one-sided limits, a guard band as wide as U (ILAC-G8:09/2019, 4.2.1 and 4.2.3). "
            "Without an uncertainty nothing passes.",
        ),
    ],
)
def test_each_rule_is_told_as_a_reviewer_reads_it(rule, says):
    assert rule_words(rule) == says


@pytest.mark.parametrize(
    ("verdict", "one", "two"),
    [
        ("fail", "Inaccuracy is outside its limit.", "Inaccuracy is outside its limit (2 such checks)."),
        (
            "conditional_fail",
            "Inaccuracy is outside its limit by less than its uncertainty.",
            "Inaccuracy is outside its limit by less than its uncertainty (2 such checks).",
        ),
        (
            "conditional_pass",
            "Inaccuracy is inside its limit by less than its uncertainty.",
            "Inaccuracy is inside its limit by less than its uncertainty (2 such checks).",
        ),
        (
            "pass",
            "Every check is inside its limit; Inaccuracy is nearest to it.",
            "Every check is inside its limit; Inaccuracy is nearest to it.",
        ),
    ],
)
def test_the_reason_of_a_verdict_names_the_worst_check_and_how_many_are_like_it(verdict, one, two):
    worst, other = result("inaccuracy", verdict, 0.9, (-1.0, 1.0)), result("zero_error", verdict, 0.1, (-1.0, 1.0))
    beside = result("span_error", "information", 0.1)
    assert verdict_reason(stage(worst, beside), worst, "") == one
    assert verdict_reason(stage(worst, beside, other), worst, "") == two


def test_gaps_are_counted_and_the_first_is_named_with_its_reason():
    gap = result("dead_band", "not_tested", reason="no rows of logs were recorded")
    other = result("fail_time", "not_assessable", 3.0, detail="supply_off")
    passed = result("inaccuracy", "pass", 0.1, (-1.0, 1.0))
    assert verdict_reason(stage(gap, passed), gap, "") == (
        "1 check is open, first Dead band: no rows of logs were recorded."
    )
    assert verdict_reason(stage(gap, passed, other), gap, "").startswith("2 checks are open, first Dead band: ")


def test_without_limits_the_reason_says_that_nothing_could_be_judged():
    worst = result("inaccuracy", "fail", 2.0, (-1.0, 1.0))
    assert verdict_reason(stage(worst), worst, "the register names none") == (
        "The register names none, so nothing could be judged."
    )
    assert verdict_reason(stage(), None, "") == "No check has a limit, so nothing could be judged."


@pytest.mark.parametrize(
    ("further", "told"),
    [
        ({}, []),
        ({"characteristic": "equal_percentage"}, ["2 % of travel asked for at 0 % command, not shut"]),
        ({"characteristic": "equal_percentage", "shut_below_pct": 2.0}, ["shut below 2 % command"]),
        ({"shut_below_pct": 1.5, "open_above_pct": 98.0}, ["shut below 1.5 % command", "open above 98 % command"]),
        (
            {"action": "reverse", "shut_below_pct": 1.5, "open_above_pct": 98.0},
            ["shut above 98.5 % command", "open below 2 % command"],
        ),
        (
            {"action": "reverse", "characteristic": "equal_percentage"},
            ["2 % of travel asked for at 100 % command, not shut"],
        ),
    ],
)
def test_the_page_says_what_is_asked_for_at_the_ends(further, told):
    assert end_words(Tag("T", **further)) == told


@pytest.mark.parametrize(
    ("error_pct", "action", "told"),
    [
        (-2.0, "direct", "travel short by 2.00 %"),
        (2.0, "direct", "travel long by 2.00 %"),
        (2.0, "reverse", "travel short by 2.00 %"),
        (-2.0, "reverse", "travel long by 2.00 %"),
        (0.004, "direct", ""),
    ],
)
def test_a_span_error_is_told_as_travel_short_or_long(error_pct, action, told):
    assert span_words(error_pct, action) == told
