"""Typed and recorded values beside each other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists, none, sampled_from, tuples

from kit.assessment import assess_tag
from kit.assessment.recordings.compare import compare, recorded_of_typed
from kit.basis.quantity import Quantity
from tests.assessment.builders import check, finding, limit, rows
from tests.assessment.made import NOTHING, read, reduction, stage_records, stroke
from tests.assessment.with_recordings import recorded, with_recordings
from tests.making.valves import Motor, VirtualValve


def test_the_recording_stands_and_a_typed_value_is_shown_beside_it(healthy: bytes) -> None:
    strokes = [{"direction": "open", "time_s": 30.2}, {"direction": "close", "time_s": 25.0}]
    found = assess_tag(
        with_recordings(healthy, tables={"strokes": strokes}, limits=(limit("stroke_time_close", of_nominal_pct=10),))
    )
    assert check(found, "stroke_time_close").verdict == "pass"
    assert check(found, "stroke_time_close", "typed").verdict == "information"
    assert check(found, "stroke_time_close", "typed").value == 25.0
    (problem,) = [each for each in found.problems if each.column == "stroke_time_close"]
    assert problem.column == "stroke_time_close"
    assert problem.tag == "T"
    assert not problem.set_aside
    assert "more than their uncertainties together" in problem.problem


def test_pulsed_closing_is_held_against_the_typed_speed_setting() -> None:
    valve = VirtualValve(motor=Motor(close_setting_pct=40.0, pulse_period_s=2.0))
    data = recorded(valve)
    agrees = assess_tag(
        with_recordings(data, tables={"strokes": [{"direction": "close", "time_s": 75.0, "speed_setting_pct": 40.0}]})
    )
    assert not [each for each in agrees.problems if each.column == "speed_setting_pct"]
    assert check(agrees, "stroke_time_close").beside["times_full_speed"] == pytest.approx(2.5, rel=0.1)
    wrong = assess_tag(
        with_recordings(data, tables={"strokes": [{"direction": "close", "time_s": 75.0, "speed_setting_pct": 70.0}]})
    )
    (problem,) = [each for each in wrong.problems if each.column == "speed_setting_pct"]
    assert "the setting says 70 %" in problem.problem


def one(value, expanded=0.1, detail="", check="stroke_time_open"):
    return finding(check, value, expanded, detail=detail)


def kept(typed, recorded):
    found, problems = compare(typed, recorded, "logs/a.csv", "T")
    return {(each.detail, each.value, each.judged) for each in found}, problems


def test_the_recorded_value_stands_and_the_typed_one_is_shown_beside_it():
    rows, problems = kept([one(20.0)], [one(20.1)])
    assert rows == {("", 20.1, True), ("typed", 20.0, False)}
    assert problems == []
    rows, _ = kept([one(20.0, detail="signal_open")], [one(20.1, detail="signal_open")])
    assert rows == {("signal_open", 20.1, True), ("signal_open, typed", 20.0, False)}


@pytest.mark.parametrize(
    ("typed", "recorded", "rows"),
    [
        ([one(20.0)], [], {("", 20.0, True)}),
        ([], [one(20.0)], {("", 20.0, True)}),
        ([one(20.0)], [one(None)], {("", 20.0, True)}),
        ([one(None)], [one(20.0)], {("", 20.0, True)}),
        ([one(None)], [one(None)], {("", None, True)}),
        ([one(None)], [], {("", None, True)}),
        ([one(20.0, detail="a")], [one(21.0, detail="b")], {("a", 20.0, True), ("b", 21.0, True)}),
        ([one(None, detail="a")], [one(21.0, detail="b")], {("b", 21.0, True)}),
        ([one(None), one(None, check="fail_time")], [one(21.0)], {("", 21.0, True), ("", None, True)}),
    ],
)
def test_where_one_has_no_value_the_other_stands(typed, recorded, rows):
    assert kept(typed, recorded) == (rows, [])


values = lists(
    tuples(sampled_from(["dead_time", "fail_time"]), sampled_from(["", "a", "b"]), none() | floats(0, 100)),
    unique_by=lambda each: each[:2],
    max_size=6,
)


@given(typed=values, recorded=values)
def test_every_value_is_kept_once_and_one_row_of_each_is_judged(typed, recorded):
    both = [[one(value, detail=detail, check=name) for name, detail, value in each] for each in (typed, recorded)]
    found, _ = compare(*both, "", "T")
    wanted = sorted(value for _, _, value in (*typed, *recorded) if value is not None)
    assert sorted(each.value for each in found if each.value is not None) == wanted
    judged = [(each.check, each.detail) for each in found if each.judged and each.value is not None]
    assert len(judged) == len(set(judged))
    assert {(each.check, each.value) for each in found if not each.judged} <= {
        (name, value) for name, _, value in typed
    }


def test_a_difference_beyond_both_uncertainties_is_a_problem_and_one_on_the_edge_is_none():
    """U 0.3 and 0.4 together: 0.5."""
    assert kept([one(20.0, 0.3)], [one(20.5, 0.4)])[1] == []
    (problem,) = kept([one(20.51234, 0.3)], [one(20.0, 0.4)])[1]
    assert (problem.file, problem.row, problem.column, problem.tag) == ("logs/a.csv", None, "stroke_time_open", "T")
    assert (problem.value, problem.set_aside) == ("20.51 typed, 20 recorded", False)
    assert problem.problem == (
        "Typed and recorded differ by 0.512 s, more than their uncertainties together (0.5 s). The recording stands; "
        "find out which is wrong."
    )
    (named,) = kept([one(1.0, detail="supply_off")], [one(2.0, detail="supply_off")])[1]
    assert named.column == "stroke_time_open, supply_off"
    assert kept([one(20.0, None)], [one(30.0)])[1] == kept([one(20.0)], [one(30.0, None)])[1] == []


def told(setting_pct, *strokes, direction="close", blank=False):
    """What the recorded strokes say to one typed row with this speed setting."""
    given = {"direction": direction, "time_s": 50.0, **({} if blank else {"speed_setting_pct": setting_pct})}
    made = stage_records(None, reduction(strokes=strokes))
    return recorded_of_typed(made.recordings, rows("strokes", [given]), made.day)


def pulsed(time_s, duty_pct, deviation=0.0, *, opens=False):
    return stroke(read(time_s, deviation=deviation), opens=opens, duty=read(duty_pct, deviation=deviation), pauses=5)


def full(time_s, deviation=0.0, *, opens=False):
    return stroke(read(time_s, deviation=deviation), opens=opens)


@pytest.mark.parametrize(
    ("setting", "duty", "told_of"),
    [
        (40.0, 40.0, False),
        (40.0, 41.5, False),  # a step of 1 % and half of one
        (40.0, 41.6, True),
        (40.0, 38.5, False),
        (40.0, 38.4, True),
    ],
)
def test_a_typed_speed_setting_is_held_against_the_recorded_duty(setting, duty, told_of):
    assert bool(told(setting, pulsed(50.0, duty))) == told_of


def test_the_noise_of_the_duty_widens_what_is_allowed():
    """sqrt((2 * 1)^2 + 0.5^2) + 1 = 3.06 %."""
    assert told(40.0, pulsed(50.0, 43.0, 1.0)) == []
    assert told(40.0, pulsed(50.0, 43.1, 1.0)) != []


def test_what_is_said_of_a_wrong_speed_setting():
    (problem,) = told(70.0, pulsed(50.0, 40.4))
    assert problem.problem == (
        "The recorded stroke is in motion 40 % of the time, the setting says 70 %. Check the setting."
    )
    assert (problem.file, problem.row, problem.column) == ("records/strokes.csv", 2, "speed_setting_pct")
    assert (problem.value, problem.tag, problem.set_aside) == ("70", "T", False)


def test_strokes_without_pulses_are_at_full_speed():
    assert told(100.0, full(20.0)) == []
    assert "in motion 100 % of the time" in told(70.0, full(20.0))[0].problem
    assert told(70.0, stroke(read(50.0), opens=False, duty=NOTHING, pauses=5)) == []  # pulsed, at no known duty


def test_only_strokes_of_the_same_way_and_rows_with_a_setting_are_held_against_each_other():
    assert told(70.0, pulsed(50.0, 40.0, opens=True)) == []
    assert told(70.0, pulsed(50.0, 40.0, opens=True), direction="open") != []
    assert told(70.0, pulsed(50.0, 40.0), blank=True) == []


@pytest.mark.parametrize(
    ("slow_s", "told_of"), [(50.0, False), (51.24, False), (51.26, True), (48.76, False), (48.74, True)]
)
def test_a_pulsed_stroke_takes_as_long_as_its_setting_says(slow_s, told_of):
    """40 % of 20 s are 50 s; half a step of the setting, 0.5 of 40, is 0.625 s, twice that is allowed."""
    assert bool(told(40.0, full(20.0), pulsed(slow_s, 40.0))) == told_of


def test_the_noise_of_both_times_widens_what_is_allowed():
    """2 sqrt(0.3^2 + (0.2 * 2.5)^2 + 0.625^2) = 1.709 s."""
    strokes = full(20.0, 0.2), stroke(read(51.7, deviation=0.3), opens=False, duty=Quantity(40.0), pauses=5)
    assert told(40.0, *strokes) == []
    late = stroke(read(51.72, deviation=0.3), opens=False, duty=Quantity(40.0), pauses=5)
    assert told(40.0, strokes[0], late) != []


def test_what_is_said_of_a_pulsed_stroke_that_takes_too_long():
    (problem,) = told(40.0, full(20.0), pulsed(60.0, 40.0))
    assert problem.problem == (
        "At 40 % the stroke should take 50 s, which is 2.5 times that at full speed; the recording shows 60 s."
    )


def test_at_full_setting_no_longer_time_is_expected():
    assert told(100.0, full(20.0), pulsed(60.0, 99.0)) == []
