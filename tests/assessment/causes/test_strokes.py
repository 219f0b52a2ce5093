"""Stroke times: slow both ways, slow one way, fast, in pulses. What each resembles is common practice, no source."""

from __future__ import annotations

import dataclasses
from typing import Any

import pytest

from kit.assessment import assess_tag
from kit.assessment.causes import probable_causes
from kit.assessment.results import ProbableCause, RecordingResult
from kit.basis.quantity import Quantity
from kit.basis.verdicts import CHECK_VERDICTS
from tests.assessment.builders import GOOD, TAG, limit, records, result, stage
from tests.assessment.made import reduction
from tests.assessment.made import stroke as recorded_stroke

OF_20_S = dataclasses.replace(TAG, stroke_time_open_s=20.0, stroke_time_close_s=20.0)
LIMITS = (limit("stroke_time_open", of_nominal_pct=10.0), limit("stroke_time_close", of_nominal_pct=10.0))


def recorded(open_s: float, close_s: float, *further: Any, **supply: float) -> tuple[ProbableCause, ...]:
    """The causes of one stroke each way of a valve of 20 s."""
    strokes = [{"direction": "open", "time_s": open_s}, {"direction": "close", "time_s": close_s}]
    tables: dict[str, Any] = {"strokes": strokes, "electrical": [supply] if supply else []}
    made = records(tables, *LIMITS, *further, tag=OF_20_S, instruments=GOOD, rule="simple")
    return assess_tag(made).stages[0].causes


def test_strokes_in_time_resemble_nothing():
    assert recorded(20.4, 19.8) == ()


def test_slow_both_ways_alike_is_told_over_nominal_with_torque_next():
    """26 and 27 s of 20 s: 1.30 and 1.35."""
    (cause,) = recorded(26.0, 27.0)
    assert cause.pattern == "slow both ways: supply, speed setting or cold grease"
    assert cause.evidence == "Times over nominal: opening 1.30, closing 1.35."
    assert cause.runner_up == "torque near the motor's limit"
    assert cause.explains == (("stroke_time_open", ""), ("stroke_time_close", ""))


@pytest.mark.parametrize(("open_s", "close_s", "way"), [(30.0, 20.0, "opening"), (20.0, 30.0, "closing")])
def test_slow_one_way_names_the_way_and_nothing_comes_next(open_s, close_s, way):
    (cause,) = recorded(open_s, close_s)
    assert cause.pattern.startswith(f"slow {way} only")
    assert cause.runner_up == ""
    assert cause.explains == (("stroke_time_open" if way == "opening" else "stroke_time_close", ""),)


@pytest.mark.parametrize(
    ("open_s", "close_s", "pattern"),
    [
        (25.0, 31.0, "slow both ways"),  # 0.806
        (25.0, 31.5, "slow closing only"),  # 0.794
        (31.0, 25.0, "slow both ways"),  # 1.24
        (31.5, 25.0, "slow opening only"),  # 1.26
    ],
)
def test_alike_is_within_a_quarter(open_s, close_s, pattern):
    """House definition: opening over closing, each over its nominal, between 0.8 and 1.25; else the slower one."""
    (cause,) = recorded(open_s, close_s)
    assert cause.pattern.startswith(pattern)
    if pattern != "slow both ways":
        assert cause.runner_up.startswith("slow both ways")
        assert len(cause.explains) == 2


@pytest.mark.parametrize(("deviation", "goes_with"), [(-10.1, True), (-10.0, False), (4.0, False)])
def test_a_supply_that_sags_by_more_than_a_tenth_goes_with_slow_strokes(deviation, goes_with):
    checks = [
        result("stroke_time_open", "fail", 26.0, (18.0, 22.0), target=20.0),
        result("stroke_time_close", "fail", 27.0, (18.0, 22.0), target=20.0),
        result("supply_deviation", "fail", deviation, (-3.0, 3.0)),
    ]
    (cause,) = probable_causes(stage(*checks), OF_20_S)
    assert cause.evidence.endswith(f"The running supply is {deviation:+.1f} % from nominal.")
    assert (("supply_deviation", "") in cause.explains) == goes_with


def test_a_supply_on_record_is_told_beside_slow_strokes():
    """20.4 of 24 V: -15 %."""
    (cause,) = recorded(26.0, 27.0, supply_nominal_v=24.0, supply_idle_v=24.0, supply_running_v=20.4)
    assert cause.evidence.endswith("The running supply is -15.0 % from nominal.")


def test_fast_is_told_with_a_part_of_the_travel_next():
    (cause,) = recorded(15.0, 20.0)
    assert cause.pattern == "faster than registered: a speed setting, or another gear"
    assert cause.evidence == "opening 15.0 s, at least 18 s"
    assert cause.runner_up == "stroke timed over a part of the travel"
    assert cause.explains == (("stroke_time_open", ""),)


def test_fast_one_way_and_slow_the_other_are_two_causes():
    assert [each.pattern.partition(":")[0] for each in recorded(15.0, 30.0)] == [
        "slow closing only",
        "faster than registered",
    ]


@pytest.mark.parametrize(
    ("opens", "pauses", "pattern"),
    [(False, 12, "run in pulses"), (True, 12, "slow closing only"), (False, 0, "slow closing only")],
)
def test_pauses_of_the_slow_way_in_a_recording_are_pulses(opens, pauses, pattern):
    made = recorded_stroke(Quantity(44.0), opens=opens, duty=Quantity(45.0), pauses=pauses)
    recording = RecordingResult("logs/T/1.as_left.csv", "", "", reduction(strokes=(made,)))
    checks = [
        result("stroke_time_open", "pass", 20.0, (18.0, 22.0), target=20.0),
        result("stroke_time_close", "fail", 44.0, (18.0, 22.0), target=20.0),
    ]
    (cause,) = probable_causes(stage(*checks, recordings=(recording,)), OF_20_S)
    assert cause.pattern.startswith(pattern)
    if pattern == "run in pulses":
        assert cause.evidence == "12 regular pauses in a stroke, in motion 45 % of the time."
        assert (cause.runner_up, cause.explains) == ("stick-slip", (("stroke_time_close", ""),))


@pytest.mark.parametrize("verdict", CHECK_VERDICTS)
def test_a_cause_is_looked_for_only_where_a_limit_is_exceeded(verdict):
    causes = probable_causes(stage(result("stroke_time_open", verdict, 30.0, (18.0, 22.0), target=20.0)), OF_20_S)
    assert len(causes) == (1 if verdict in ("fail", "conditional_fail") else 0)


def test_without_a_nominal_the_time_stands_beside_its_limit():
    (cause,) = probable_causes(stage(result("stroke_time_open", "fail", 30.0, (None, 22.0))), TAG)
    assert cause.evidence == "30.0 s, limit 22 s."


def test_what_never_arrived_has_no_time_to_tell_by():
    assert probable_causes(stage(result("stroke_time_open", "fail", None, (None, 22.0))), TAG) == ()


def test_pulses_seen_in_the_feedback_alone_are_said_to_be():
    slow = result("stroke_time_close", "fail", 60.0, (None, 33.0))
    made = dataclasses.replace(recorded_stroke(Quantity(60.0), opens=False), feedback_pauses=30)
    recording = RecordingResult("logs/T/1.as_left.csv", "", "", reduction(strokes=(made,)))
    (cause,) = probable_causes(stage(slow, recordings=(recording,)), TAG)
    assert cause.pattern == "run in pulses: a speed setting"
    assert cause.evidence == "30 regular pauses in a stroke, seen in the feedback."
