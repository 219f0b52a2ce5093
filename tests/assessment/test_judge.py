"""One finding against its limit."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from tests.assessment.builders import GOOD, check, limit, records, stroke


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


def test_simple_acceptance_needs_no_uncertainty():
    made = records({"readings": stroke(0, 0, 0.5, 0, 0)}, limit("inaccuracy", plus_minus=1.0), rule="simple")
    assert assess_tag(made).verdict == "pass"
