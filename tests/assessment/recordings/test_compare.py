"""Typed and recorded values beside each other."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis.strategies import booleans, floats, lists, none, sampled_from, tuples

from kit.assessment import assess_tag
from kit.assessment.judge import judge
from kit.assessment.recordings.compare import compare, difference, hold_together, recorded_of_typed
from kit.assessment.subjects import feed_of
from kit.basis.quantity import Quantity
from kit.basis.records import Scope
from tests.assessment.builders import check, finding, limit, rows
from tests.assessment.made import NOTHING, read, reduction, stage_records, stroke
from tests.assessment.with_recordings import recorded, with_recordings
from tests.making.valves import Motor, VirtualValve


def test_a_typed_time_that_the_recording_contradicts_keeps_the_check_from_passing(healthy: bytes) -> None:
    strokes = [{"direction": "close", "time_s": 28.0}]
    found = assess_tag(
        with_recordings(
            healthy,
            tables={"strokes": strokes},
            limits=(limit("stroke_time_open", of_nominal_pct=10), limit("stroke_time_close", of_nominal_pct=10)),
        )
    )
    assert check(found, "stroke_time_open").verdict == "pass"
    held = check(found, "stroke_time_close")
    assert held.verdict == "not_assessable"
    assert held.reason.startswith("28 s typed and 29.9")
    assert (check(found, "stroke_time_close", "typed").verdict, check(found, "stroke_time_close", "typed").value) == (
        "information",
        28.0,
    )
    (item,) = [each for each in found.punch_list if each.check == "stroke_time_close"]
    assert item.suggested_action.startswith("Find out which of the two is wrong")
    (problem,) = [each for each in found.problems if each.column == "stroke_time_close"]
    assert (problem.status, problem.tag, problem.table, problem.set_aside) == ("open", "T", "strokes", False)
    assert problem.scope == Scope(("T",), "1", "as_left", "strokes", feed_of("stroke_time_close").columns)


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
    return {(each.detail, each.value, each.judged) for each in compare(typed, recorded)}


def test_the_recorded_value_stands_and_the_typed_one_is_shown_beside_it():
    assert kept([one(20.0)], [one(20.1)]) == {("", 20.1, True), ("typed", 20.0, False)}
    rows = kept([one(20.0, detail="signal_open")], [one(20.1, detail="signal_open")])
    assert rows == {("signal_open", 20.1, True), ("signal_open, typed", 20.0, False)}


def test_a_recorded_value_that_rests_on_too_little_gives_way_to_a_typed_one_that_does_not():
    short = dataclasses.replace(one(20.1), shortfall="it rests on one hold")
    assert kept([one(20.0)], [short]) == {("", 20.0, True), ("recorded", 20.1, False)}
    short_too = dataclasses.replace(one(20.0), shortfall="it rests on one row")
    assert kept([short_too], [short]) == {("", 20.1, True), ("typed", 20.0, False)}


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
    assert kept(typed, recorded) == rows


values = lists(
    tuples(sampled_from(["dead_time", "fail_time"]), sampled_from(["", "a", "b"]), none() | floats(0, 100)),
    unique_by=lambda each: each[:2],
    max_size=6,
)


@given(typed=values, recorded=values)
def test_every_value_is_kept_once_and_one_row_of_each_is_judged(typed, recorded):
    both = [[one(value, detail=detail, check=name) for name, detail, value in each] for each in (typed, recorded)]
    found = compare(*both)
    wanted = sorted(value for _, _, value in (*typed, *recorded) if value is not None)
    assert sorted(each.value for each in found if each.value is not None) == wanted
    judged = [(each.check, each.detail) for each in found if each.judged and each.value is not None]
    assert len(judged) == len(set(judged))
    assert {(each.check, each.value) for each in found if not each.judged} <= {
        (name, value) for name, _, value in typed
    }


def held(typed, recorded, *limits):
    """Verdict and reason of the one that stands, and what is told, of two findings of one check."""
    made = stage_records(None, reduction())
    by_check = {each.check: each for each in limits}
    judged = [
        judge(each, by_check.get(each.check) if each.judged else None, "simple")
        for each in compare([typed], [recorded])
    ]
    checks, problems = hold_together(judged, made, by_check)
    assert [(each.check, each.detail) for each in checks] == [(each.check, each.detail) for each in judged]
    return checks[0].verdict, checks[0].reason, problems


LIMIT = limit("fail_time", maximum=25.0)


def took(value, expanded=0.1, **further):
    return one(value, expanded, check="fail_time", **further)


def test_a_difference_beyond_both_uncertainties_is_held_and_one_on_the_edge_is_not():
    """U 0.3 and 0.4 together: 0.5."""
    assert held(took(20.0, 0.3), took(20.5, 0.4), LIMIT) == ("pass", "", [])
    verdict, reason, (problem,) = held(took(20.51234, 0.3), took(20.0, 0.4), LIMIT)
    assert (verdict, problem.status) == ("not_assessable", "open")
    assert reason == (
        "20.51 s typed and 20 s recorded: they differ by 0.512, more than their uncertainties together (0.5); find out "
        "which is wrong"
    )
    assert (problem.file, problem.row, problem.tag) == ("logs/T/1.as_left.0.csv", None, "T")
    assert (problem.value, problem.column) == ("20.51 typed, 20 recorded", "fail_time")
    assert problem.problem == f"Typed and recorded contradict each other: {reason}."
    (named,) = held(took(20.0, detail="supply_off"), took(21.0, detail="supply_off"), LIMIT)[2]
    assert named.column == "fail_time, supply_off"


@pytest.mark.parametrize(("typed", "recorded"), [(None, 0.1), (0.1, None), (None, None)])
def test_without_both_uncertainties_a_tenth_of_the_limit_or_of_half_the_tolerance_tells(typed, recorded):
    """A tenth of 25 s is 2.5 s; of half the tolerance from 15 to 25 s, 0.5 s."""
    between = limit("fail_time", minimum=15.0, maximum=25.0)
    for edge, form in ((2.5, LIMIT), (0.5, between)):
        assert held(took(20.0, typed), took(20.0 + edge, recorded), form)[2] == []
        verdict, reason, told = held(took(20.0, typed), took(20.01 + edge, recorded), form)
        assert (verdict, len(told)) == ("not_assessable", 1)
        assert "a tenth of" in reason


def test_without_a_limit_a_difference_is_a_flag_and_without_uncertainty_nothing_is_said():
    verdict, _, (problem,) = held(took(20.0), took(30.0))
    assert (verdict, problem.status, problem.scope) == ("information", "flag", None)
    assert held(took(20.0, None), took(30.0)) == ("information", "", [])


@pytest.mark.parametrize(
    ("typed", "recorded", "verdict"),
    [(25.05, 24.95, "not_assessable"), (30.0, 20.0, "not_assessable"), (30.0, 40.0, "fail"), (24.95, 25.05, "fail")],
)
def test_nothing_passes_where_one_of_the_two_fails(typed, recorded, verdict):
    found, _, told = held(took(typed, 0.5), took(recorded, 0.5), LIMIT)
    assert found == verdict
    assert bool(told) == ((typed, recorded) != (24.95, 25.05))


@given(typed=floats(0, 50), recorded=floats(0, 50), known=tuples(booleans(), booleans()))
def test_a_pass_rests_on_two_values_that_both_pass(typed, recorded, known):
    findings = [took(value, 0.2 if each else None) for value, each in zip((typed, recorded), known, strict=True)]
    if held(*findings, LIMIT)[0] == "pass":
        assert max(typed, recorded) <= 25.0 * (1 + 1e-6)


def test_a_typed_failure_counts_beside_a_recording_whatever_it_lacks():
    short = dataclasses.replace(took(30.0), shortfall="one row")
    assert held(short, took(20.0), LIMIT)[0] == "not_assessable"
    assert held(dataclasses.replace(took(20.0), shortfall="one row"), took(20.2), LIMIT) == ("pass", "", [])


def test_greatest_errors_are_held_against_each_other_by_sign():
    """+0.35 beside -0.30 recorded, -0.33 beside +0.30 typed: 0.05 apart, not 0.68."""

    def errors(value, positive, negative):
        beside = {"greatest_positive": positive, "greatest_negative": negative}
        return dataclasses.replace(
            finding("inaccuracy", value, 0.1), quantity=Quantity(value, beside=beside), target=0.0
        )

    within = limit("inaccuracy", plus_minus=1.0)
    assert held(errors(-0.33, 0.3, -0.33), errors(0.35, 0.35, -0.3), within) == ("pass", "", [])
    assert held(errors(-0.33, 0.3, -0.33), errors(0.5, 0.5, -0.3), within)[0] == "not_assessable"


def test_an_inaccuracy_of_other_readings_may_differ_by_a_tenth_of_half_the_tolerance():
    """U 0.05 both: 0.07 together; a tenth of 2 % is 0.2 %."""
    typed, near, far = (finding("inaccuracy", value, 0.05) for value in (0.3, 0.49, 0.51))
    typed, near, far = (dataclasses.replace(each, target=0.0) for each in (typed, near, far))
    within = limit("inaccuracy", plus_minus=2.0)
    assert held(typed, near, within)[0] == "pass"
    verdict, reason, _ = held(typed, far, within)
    assert (verdict, "a tenth of half the tolerance (0.2)" in reason) == ("not_assessable", True)


def test_a_sweep_that_finds_more_dropouts_than_were_typed_is_no_contradiction():
    typed, recorded = (finding("potentiometer_dropouts", value, None) for value in (0.0, 1.0))
    none = limit("potentiometer_dropouts", maximum=0.0)
    assert held(typed, recorded, none)[0] == "fail"
    assert held(recorded, typed, none)[0] == "not_assessable"


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


def test_a_typed_stroke_that_never_arrived_is_judged_beside_the_recorded_one():
    never = dataclasses.replace(finding("stroke_time_open", None), quantity=Quantity(None, never="did not arrive"))
    recorded_one = finding("stroke_time_open", 29.0, 0.2)
    stands, beside = compare([never], [recorded_one])
    assert (stands, beside.detail, beside.judged) == (recorded_one, "typed", True)
    (alone,) = compare([never], [])
    assert alone == never


@pytest.mark.parametrize(("end", "apart"), [(20.0, 0.0), (29.0, 0.0), (40.0, -11.0)])
def test_a_typed_bound_is_as_far_from_the_recorded_value_as_its_end(end, apart):
    typed_one = finding("stroke_time_open", end, 0.2)
    bound = dataclasses.replace(typed_one, quantity=Quantity(end, within=(end, float("inf"))))
    assert difference(bound, finding("stroke_time_open", 29.0, 0.2)) == apart


@pytest.mark.parametrize(("end", "apart"), [(20.0, 0.0), (29.0, 0.0), (40.0, 11.0)])
def test_a_recorded_bound_is_as_far_from_the_typed_value_as_its_end(end, apart):
    recorded_one = finding("stroke_time_open", end, 0.2)
    bound = dataclasses.replace(recorded_one, quantity=Quantity(end, within=(end, float("inf"))))
    assert difference(finding("stroke_time_open", 29.0, 0.2), bound) == apart
