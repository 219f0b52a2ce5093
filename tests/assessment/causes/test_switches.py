"""The limit switches: exchanged, after their stop, too near to it.

What each resembles is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest

from kit.assessment import assess_tag
from kit.assessment.causes import probable_causes
from kit.assessment.results import ProbableCause
from kit.basis.verdicts import CHECK_VERDICTS
from tests.assessment.builders import GOOD, TAG, limit, records, result, stage

LIMITS = (
    limit("closed_switch_lead", minimum=1.0),
    limit("open_switch_lead", minimum=1.0),
    limit("closed_switch_position", maximum=5.0),
    limit("open_switch_position", minimum=95.0),
)


def recorded(closed: tuple[float, float], opened: tuple[float, float]) -> tuple[ProbableCause, ...]:
    """The causes of where two switches make and where their stops stand."""
    rows: list[dict[str, Any]] = [
        {"switch": end, "makes_at_pct": makes, "stop_at_pct": stop}
        for end, (makes, stop) in (("closed", closed), ("open", opened))
    ]
    return assess_tag(records({"switches": rows}, *LIMITS, instruments=GOOD, rule="simple")).stages[0].causes


def test_switches_that_make_before_their_stops_resemble_nothing():
    assert recorded((2.5, 0.0), (97.5, 100.0)) == ()


@pytest.mark.parametrize("end", ["closed", "open"])
def test_a_switch_after_its_stop_is_told_with_how_far_and_with_an_early_stop_next(end):
    """-0.4 % where the stop stands at 0.6 %, and 100.4 % where it stands at 99.4 %: 1 % beyond."""
    (cause,) = recorded((-0.4, 0.6), (97.5, 100.0)) if end == "closed" else recorded((2.5, 0.0), (100.4, 99.4))
    assert cause.pattern == f"{end} switch makes after its stop"
    assert cause.evidence.startswith("It would make 1.0 % beyond the stop")
    assert cause.runner_up == f"{end} stop set early, or an obstruction"
    assert cause.explains == ((f"{end}_switch_lead", ""),)


def test_a_switch_near_its_stop_is_told_with_coast_next():
    (cause,) = recorded((0.6, 0.0), (97.5, 100.0))
    assert cause.pattern == "closed switch set too near to its stop"
    assert cause.evidence.startswith("It makes 0.6 % before the stop")
    assert cause.runner_up.startswith("coast")
    assert cause.explains == (("closed_switch_lead", ""),)


@pytest.mark.parametrize(("lead", "pattern"), [(0.01, "set too near"), (0.0, "makes after"), (-0.01, "makes after")])
def test_a_switch_on_its_stop_is_none_before_it(lead, pattern):
    (cause,) = probable_causes(stage(result("open_switch_lead", "fail", lead, (1.0, None))), TAG)
    assert pattern in cause.pattern


def test_both_ends_have_a_cause_each():
    causes = recorded((0.6, 0.0), (100.4, 99.4))
    assert {each.pattern for each in causes} == {
        "closed switch set too near to its stop",
        "open switch makes after its stop",
    }


def test_each_at_the_others_end_they_are_exchanged_and_nothing_else_is_said():
    (cause,) = recorded((97.5, 100.0), (2.5, 0.0))
    assert cause.pattern == "switches exchanged, in their wiring or in the record"
    assert cause.evidence == "The closed switch makes at 97.5 %, the open one at 2.5 % of travel."
    assert cause.runner_up.startswith("normally open and normally closed")
    assert set(cause.explains) >= {("closed_switch_position", ""), ("open_switch_position", "")}


@pytest.mark.parametrize(
    ("closed", "opened", "told"), [(50.1, 49.9, 1), (50.0, 49.9, 0), (50.1, 50.0, 0), (97.5, 97.0, 0)]
)
def test_exchanged_is_beyond_the_middle_on_both(closed, opened, told):
    checks = [
        result("closed_switch_position", "fail", closed, (None, 5.0)),
        result("open_switch_position", "fail", opened, (95.0, None)),
    ]
    assert len(probable_causes(stage(*checks), TAG)) == told


@pytest.mark.parametrize("verdict", CHECK_VERDICTS)
def test_a_cause_is_looked_for_only_where_a_limit_is_exceeded(verdict):
    causes = probable_causes(stage(result("closed_switch_lead", verdict, 0.6, (1.0, None))), TAG)
    assert len(causes) == (1 if verdict in ("fail", "conditional_fail") else 0)


def test_a_lead_without_a_value_says_nothing():
    assert probable_causes(stage(result("closed_switch_lead", "fail", None, (1.0, None))), TAG) == ()
