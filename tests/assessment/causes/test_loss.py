"""Where a valve went on a loss: it stayed, went the wrong way, stopped on its way, or came late.

What each resembles is common practice, no source.
"""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from kit.assessment import assess_tag
from kit.assessment.causes import probable_causes
from kit.assessment.results import CheckResult, ProbableCause
from kit.basis.quantity import Quantity
from kit.basis.verdicts import CHECK_VERDICTS
from tests.assessment.builders import GOOD, TAG, limit, records, result, stage

FAILS_CLOSED = dataclasses.replace(TAG, fail_action="closed", fail_action_supply="open")
LIMITS = (limit("fail_position", plus_minus=2.0), limit("fail_time", maximum=30.0))


def recorded(*rows: dict[str, Any]) -> tuple[ProbableCause, ...]:
    """The causes of typed losses of a valve that closes on a lost signal and opens on a lost supply."""
    made = records({"fail_tests": rows}, *LIMITS, tag=FAILS_CLOSED, instruments=GOOD, rule="simple")
    return assess_tag(made).stages[0].causes


def lost(after: float, *, cause: str = "signal_open", before: float = 50.0, time_s: float = 8.0) -> dict[str, Any]:
    return {"cause": cause, "position_before_pct": before, "position_after_pct": after, "time_s": time_s}


def rested(value: float, before: float | None, verdict: Any = "fail") -> CheckResult:
    """Where it came to rest on an open signal, judged by hand."""
    made = result("fail_position", verdict, value, (-1.0, 1.0), detail="signal_open")
    beside = {} if before is None else {"from_pct": before}
    return dataclasses.replace(made, finding=dataclasses.replace(made.finding, quantity=Quantity(value, beside=beside)))


def test_a_valve_that_went_where_the_register_has_it_in_time_resembles_nothing():
    assert recorded(lost(0.0), lost(100.0, cause="supply_off")) == ()


@pytest.mark.parametrize(
    ("after", "pattern", "runner_up"),
    [
        (50.5, "stays where it is on command signal open", "loss of signal not recognised"),
        (100.0, "goes open on command signal open, where the register asks for closed", "action and fail action taken"),
        (20.0, "stops on its way on command signal open", "friction or a stop in the way"),
    ],
)
def test_where_it_came_to_rest_names_the_cause_and_the_next(after, pattern, runner_up):
    (cause,) = recorded(lost(after))
    assert cause.pattern == pattern
    assert cause.runner_up.startswith(runner_up)
    assert cause.explains[0] == ("fail_position", "signal_open")
    assert cause.evidence.startswith(f"It came to rest at {after:.1f} % from 50.0 %; the register expects closed.")
    assert cause.decide.endswith(".")
    assert cause.adjust.endswith("repeat every fail test.")


@pytest.mark.parametrize(
    ("cause", "after", "pattern", "runner_up"),
    [
        ("supply_off", 50.0, "stays where it is on supply off", "stored energy missing"),
        ("supply_off", 0.0, "goes closed on supply off, where the register asks for open", "action and fail action"),
        ("signal_short", 50.0, "stays where it is on command signal shorted", "stored energy missing"),
    ],
)
def test_the_supply_has_an_action_and_a_runner_up_of_its_own(cause, after, pattern, runner_up):
    (found,) = recorded(lost(after, cause=cause))
    assert found.pattern == pattern
    assert found.runner_up.startswith(runner_up)


@pytest.mark.parametrize(
    ("value", "before", "pattern"),
    [
        (52.0, 50.0, "stays where it is"),
        (48.0, 50.0, "stays where it is"),
        (52.1, 50.0, "stops on its way"),
        (52.0, None, "stops on its way"),  # where it began is not known
        (95.0, 50.0, "goes open"),
        (94.9, 50.0, "stops on its way"),
        (5.0, 50.0, "goes closed"),
        (5.1, 50.0, "stops on its way"),
    ],
)
def test_stayed_is_2_percent_and_an_end_is_5(value, before, pattern):
    """House definitions of the cause: a valve that moved by 2 % or less stayed; within 5 % of an end it went there."""
    made = rested(value, before)
    (cause,) = probable_causes(stage(made), FAILS_CLOSED)
    assert cause.pattern.startswith(pattern)


def test_the_losses_that_went_right_are_named_since_a_spring_drives_them_all():
    (cause,) = recorded(lost(50.0), lost(100.0, cause="supply_off"), lost(0.0, cause="signal_short"))
    assert cause.evidence.endswith("Right on command signal shorted, supply off.")
    assert cause.explains[0] == ("fail_position", "signal_open")


def test_a_time_that_is_a_gap_goes_with_the_place_and_a_time_that_failed_does_not_stand_again():
    position = rested(50.0, 50.0)
    for verdict, explains in (("not_assessable", True), ("pass", False), ("fail", False)):
        time = result("fail_time", verdict, 40.0, (None, 30.0), detail="signal_open")
        (cause,) = probable_causes(stage(position, time), FAILS_CLOSED)
        assert (("fail_time", "signal_open") in cause.explains) == explains, verdict


def test_right_and_too_slow_is_late():
    (cause,) = recorded(lost(0.0, time_s=42.0))
    assert (cause.pattern, cause.runner_up) == ("goes the right way too slowly on command signal open", "")
    assert cause.evidence == "It took 42.0 s, at most 30 s are allowed."
    assert cause.explains == (("fail_time", "signal_open"),)


def test_what_never_arrived_says_so():
    made = result("fail_time", "fail", None, (None, 30.0), detail="signal_open")
    (cause,) = probable_causes(stage(made), FAILS_CLOSED)
    assert cause.evidence == "It did not arrive."


@pytest.mark.parametrize("verdict", CHECK_VERDICTS)
def test_a_cause_is_looked_for_only_where_a_limit_is_exceeded(verdict):
    place = rested(50.0, 50.0, verdict)
    time = result("fail_time", verdict, 40.0, (None, 30.0), detail="supply_off")
    causes = probable_causes(stage(place, time), FAILS_CLOSED)
    assert len(causes) == (2 if verdict in ("fail", "conditional_fail") else 0)


def test_without_a_value_a_cause_or_an_action_of_the_register_nothing_is_said():
    blank = dataclasses.replace(TAG, fail_action=None)
    place = result("fail_position", "fail", 50.0, (-2.0, 2.0), detail="signal_open")
    assert probable_causes(stage(place), blank) == ()
    assert probable_causes(stage(result("fail_position", "fail", None, detail="signal_open")), FAILS_CLOSED) == ()
    assert probable_causes(stage(result("fail_position", "fail", 50.0, detail="cause_unknown")), FAILS_CLOSED) == ()
