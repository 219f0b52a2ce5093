"""A re-test of some tests, put together with the visit that it goes on from."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.basis.records import Problem, Scope
from kit.basis.signals import SignalRange
from tests.assessment.builders import GOOD, TAG, check, limit, records, settings, stroke, visit
from tests.assessment.with_recordings import with_recordings

OUTPUTS = (0.0, 25.0, 50.0, 75.0, 100.0)
FIRST, SECOND, THIRD = "2026-03-10", "2026-04-10", "2026-06-10"
LIMITS = (
    limit("inaccuracy", plus_minus=1),
    limit("stroke_time_open", maximum=40),
    limit("stroke_time_close", maximum=40),
    limit("fail_position", maximum=2),
    limit("earth_resistance", maximum=1),
    limit("insulation_resistance", minimum=1),
)


def of(name, rows):
    return [each | {"visit": name} for each in rows]


def strokes(opening_s, closing_s=30.0):
    timed = (("open", opening_s), ("close", closing_s))
    return [{"direction": way, "time_s": time} for way, time in timed if time for _ in range(2)]


def whole(name):
    """Every test of the limits, good."""
    return {
        "readings": of(name, stroke(0, 0, 0.1, 0, 0)),
        "strokes": of(name, strokes(30.0)),
        "fail_tests": of(name, [{"cause": "signal_open", "position_before_pct": 50.0, "position_after_pct": 0.1}]),
        "electrical": of(name, [{"earth_ohm": 0.2}, {"insulation_mohm": 100.0}]),
    }


def joined(*parts):
    tables = {}
    for part in parts:
        for name, rows in part.items():
            tables.setdefault(name, []).extend(rows)
    return tables


def retest(*parts, goes_on="1", between=(), problems=()):
    """Visit 1 is whole; visit 3 goes on from it."""
    last = dataclasses.replace(visit("3", THIRD), continues=goes_on)
    visits = (visit("1", FIRST), *between, last)
    instruments = (*GOOD, dataclasses.replace(GOOD[0], instrument="R", measures="ohm", accuracy_fixed=0.01))
    made = records(joined(whole("1"), *parts), *LIMITS, instruments=instruments, visits=visits, rule="simple")
    return dataclasses.replace(made, problems=tuple(problems))


def test_without_going_on_from_another_the_newest_visit_must_be_whole():
    found = assess_tag(retest({"strokes": of("3", strokes(31.0))}, goes_on=""))
    assert found.verdict == "incomplete"
    assert check(found, "inaccuracy").verdict == "not_tested"


def test_each_check_comes_from_the_newest_visit_of_the_chain_that_holds_a_row_of_it():
    found = assess_tag(retest({"strokes": of("3", strokes(31.0))}))
    assert (found.verdict, found.visit) == ("pass", "3")
    seen = {(each.check, each.detail): (each.visit, each.date) for each in found.deciding.checks}
    assert seen["stroke_time_open", ""] == ("3", THIRD)
    assert check(found, "stroke_time_open").value == 31.0
    assert seen["inaccuracy", ""] == seen["fail_position", "signal_open"] == ("1", FIRST)
    assert found.deciding.visits == ("3", "1")
    assert found.deciding.position_runs is not None
    assert found.deciding.visits_of(["inaccuracy"]) == ("1",)
    assert [(each.visit, each.stage, each.verdict) for each in found.stages] == [
        ("3", "as_left", "pass"),
        ("1", "as_left", "pass"),
    ]


def test_a_failure_of_the_re_test_stands():
    found = assess_tag(retest({"strokes": of("3", strokes(50.0, None))}))
    assert (found.verdict, found.worst_check) == ("fail", "stroke_time_open")
    assert check(found, "stroke_time_close").visit == "1"  # each direction, each loss is a test of its own


def test_a_loss_made_again_does_not_stand_for_another():
    row = {"cause": "supply_off", "position_before_pct": 50.0, "position_after_pct": 50.1}
    found = assess_tag(retest({"fail_tests": of("3", [row])}))
    assert {each.detail: each.visit for each in found.deciding.checks if each.check == "fail_position"} == {
        "signal_open": "1",
        "supply_off": "3",
    }


def test_one_electrical_quantity_measured_again_does_not_ask_for_the_others():
    found = assess_tag(retest({"electrical": of("3", [{"insulation_mohm": 0.5}])}))
    assert (found.verdict, found.worst_check) == ("fail", "insulation_resistance")
    assert check(found, "earth_resistance").visit == "1"


def test_rows_as_found_alone_are_rows_of_it():
    rows = [each | {"stage": "as_found"} for each in of("3", stroke(0, 0, 5, 0, 0))]
    found = assess_tag(retest({"readings": rows}))
    assert found.verdict == "incomplete"
    assert check(found, "inaccuracy").verdict == "not_tested"
    assert check(found, "inaccuracy").reason == "visit 3 recorded it as found and not as left: record it as left"


def test_an_open_row_is_a_row_of_it():
    scope = Scope(("T",), visit="3", table="strokes")
    problem = Problem(
        "records/strokes.csv", 9, "time_s", ">60", "A bound.", "T", status="open", scope=scope, table="strokes"
    )
    found = assess_tag(retest(problems=[problem]))
    assert found.verdict == "incomplete"
    assert check(found, "stroke_time_open").value is None
    assert check(found, "inaccuracy").verdict == "pass"


def test_an_adjustment_of_the_re_test_touches_what_the_visits_before_it_left():
    rows = [{"what": "speed", "at": f"{THIRD}T09:00", "visit": "3"}]
    timed = [each | {"at": f"{THIRD}T10:00"} for each in of("3", strokes(31.0))]
    found = assess_tag(retest({"strokes": timed, "adjustments": rows}))
    assert check(found, "stroke_time_open").verdict == "pass"
    assert check(found, "inaccuracy").verdict == check(found, "fail_position", "signal_open").verdict == "stale"
    assert check(found, "earth_resistance").verdict == "pass"
    history = next(each for each in found.stages if each.visit == "1")
    assert history.verdict == "pass"


@pytest.mark.parametrize(
    ("setting", "values", "stale"),
    [
        ("speed_open_pct", ("80", "80"), set()),
        ("speed_open_pct", ("80", "80.0"), set()),
        ("speed_open_pct", ("80 %", "80%"), set()),
        ("speed_open_pct", ("80", "70"), {"inaccuracy", "stroke_time_close", "fail_position"}),
        ("dead_band", ("0.5", "0.6"), {"inaccuracy"}),
        (
            "mode",
            ("a", "b"),
            {"inaccuracy", "stroke_time_close", "fail_position", "earth_resistance", "insulation_resistance"},
        ),
    ],
)
def test_a_setting_that_differs_between_the_visits_is_an_adjustment(setting, values, stale):
    rows = [{"setting": setting, "value": value, "visit": name} for name, value in zip("13", values, strict=True)]
    found = assess_tag(retest({"strokes": of("3", strokes(31.0, None)), "settings": rows}))
    assert {each.check for each in found.deciding.checks if each.verdict == "stale"} == stale
    if stale:
        assert f"setting {setting}, which differs on visit 3" in check(found, "inaccuracy").reason


@pytest.mark.parametrize("table", ["adjustments", "settings"])
def test_a_change_that_cannot_be_read_touches_what_the_visits_before_it_left(table):
    problem = Problem(
        "records/a.csv", 9, "at", "?", "No date.", "T", status="open", scope=Scope(("T",), "3"), table=table
    )
    found = assess_tag(retest({"strokes": of("3", strokes(31.0))}, problems=[problem]))
    assert check(found, "inaccuracy").verdict == check(found, "earth_resistance").verdict == "stale"


def test_a_setting_that_the_older_visit_lacks_may_have_been_another_unless_it_has_none_at_all():
    rows = [
        {"setting": "Dead  band", "value": "0.5", "visit": "1"},
        {"setting": "dead_band", "value": "0.5", "visit": "3"},
    ]
    new = {"setting": "speed", "value": "80", "visit": "3"}
    assert check(assess_tag(retest({"settings": rows})), "inaccuracy").verdict == "pass"
    found = check(assess_tag(retest({"settings": [*rows, new]})), "inaccuracy")
    assert found.verdict == "stale"
    assert "setting speed, which visit 1 does not have" in found.reason
    assert check(assess_tag(retest({"settings": [new]})), "inaccuracy").verdict == "pass"


def test_a_setting_found_changed_and_set_back_was_an_adjustment():
    values = (("1", "as_left", "80"), ("3", "as_found", "60"), ("3", "as_left", "80"))
    rows = [{"setting": "speed", "value": value, "visit": name, "stage": stage} for name, stage, value in values]
    assert check(assess_tag(retest({"settings": rows})), "inaccuracy").verdict == "stale"


def test_a_visit_that_the_chain_leaves_out_keeps_from_passing_what_it_tested_later():
    left_out = {"readings": of("2", stroke(0, 0, 5, 0, 0))}
    found = assess_tag(retest(left_out, {"strokes": of("3", strokes(31.0))}, between=(visit("2", SECOND),)))
    assert found.verdict == "incomplete"
    assert check(found, "inaccuracy").reason == "visit 2 of 2026-04-10 holds it too: name it in continues of visit 3"
    assert check(found, "fail_position", "signal_open").verdict == "pass"


@pytest.mark.parametrize(
    ("before", "after", "held"),
    [
        ({"tight": "no", "vent": "no"}, {"tight": "yes"}, True),
        ({"tight": "no", "vent": "no"}, {"Tight ": "yes", "vent": "na"}, False),
        ({"tight": "yes", "vent": "yes"}, {"tight": "yes"}, False),
        ({"tight": "", "vent": "yes"}, {"vent": "yes"}, True),
    ],
)
def test_a_precheck_left_open_on_an_older_visit_is_not_answered_by_another_item(before, after, held):
    rows = [
        {"item": item, "result": answer, "visit": name}
        for name, items in (("1", before), ("3", after))
        for item, answer in items.items()
    ]
    made = records(
        {"prechecks": rows},
        limit("prechecks", maximum=0),
        visits=(visit("1", FIRST), dataclasses.replace(visit("3", THIRD), continues="1")),
    )
    found = check(assess_tag(made), "prechecks")
    assert (found.verdict, found.visit) == ("not_assessable" if held else "pass", "3")
    assert ("answer it again" in found.reason) == held


def test_a_precheck_that_cannot_be_read_on_an_older_visit_is_not_passed_over():
    scope = Scope(("T",), visit="1", table="prechecks")
    problem = Problem("records/prechecks.csv", 9, "result", "?", "No word.", "T", status="open", scope=scope)
    rows = [{"item": "tight", "result": "yes", "visit": name} for name in "13"]
    goes_on = dataclasses.replace(visit("3", THIRD), continues="1")
    made = records({"prechecks": rows}, limit("prechecks", maximum=0), visits=(visit("1", FIRST), goes_on))
    found = check(assess_tag(dataclasses.replace(made, problems=(problem,))), "prechecks")
    assert found.verdict == "not_assessable"
    assert found.reason == "a precheck of visit 1 cannot be judged: answer its open record"


def test_a_recording_of_the_re_test_takes_the_place_of_earlier_readings(healthy):
    made = with_recordings(healthy, tables={"readings": of("0", stroke(0, 0, 50, 0, 0))}, limits=(LIMITS[0],))
    goes_on = dataclasses.replace(made.visits[0], continues="0")
    found = assess_tag(dataclasses.replace(made, visits=(visit("0", "2026-01-05"), goes_on)))
    assert check(found, "inaccuracy").visit == goes_on.visit
    assert check(found, "inaccuracy").value != pytest.approx(50)


def test_the_loop_check_that_a_cause_is_looked_for_in_comes_from_the_visit_of_its_checks():
    shown = [{"station_output_pct": at, "position_pct": at, "station_feedback_pct": 20 + 0.8 * at} for at in OUTPUTS]
    made = retest({"loop_checks": of("1", shown), "strokes": of("3", strokes(30.0))})
    signal = SignalRange(4.0, 20.0, "mA", "4-20 mA")
    looped = dataclasses.replace(TAG, command_range=signal, feedback_range=signal)
    limited = settings(*LIMITS, limit("loop_feedback_error", plus_minus=2.0), rule="simple")
    found = assess_tag(dataclasses.replace(made, tag=looped, settings=limited)).deciding
    assert (found.visit, found.goes_on_from) == ("3", ("1",))
    assert [each.explains for each in found.causes] == [(("loop_feedback_error", ""),)]
