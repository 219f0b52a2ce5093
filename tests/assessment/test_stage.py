"""One stage: every finding judged, every gap named."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.assessment.budgets import Day
from kit.assessment.recordings.stage_recordings import NO_RECORDINGS
from kit.assessment.stage import assess_stage
from kit.assessment.stage_records import StageRecords
from kit.basis.checks import CHECKS
from kit.basis.records import Problem
from tests.assessment.builders import GOOD, TAG, check, limit, records, stroke


def test_a_limited_check_without_data_is_a_gap():
    made = records(
        {"readings": stroke(0, 0, 0, 0, 0)},
        limit("inaccuracy", plus_minus=1.0),
        limit("hysteretic_error", maximum=1.0),
        limit("dead_band", maximum=1.0),
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    assert check(assessment, "hysteretic_error").verdict == "not_assessable"
    assert check(assessment, "hysteretic_error").reason.startswith("readings both ways at 0 commands")
    assert check(assessment, "dead_band").reason == "no rows of logs were recorded"
    assert assessment.verdict == "incomplete"


def test_a_required_test_without_rows_is_a_gap_even_without_a_limit():
    made = records(
        {"fail_tests": [{"cause": "signal_open", "position_before_pct": 50.0, "position_after_pct": 0.0}]},
        limit("fail_position", plus_minus=2.0),
        instruments=GOOD,
        tests=("fail_tests:signal_open", "fail_tests:supply_off", "strokes"),
    )
    checks = {(each.check, each.detail): each.verdict for each in assess_tag(made).stages[0].checks}
    assert checks["fail_position", "signal_open"] == "pass"
    assert checks["fail_position", "supply_off"] == "not_tested"
    assert checks["stroke_time_open", ""] == checks["stroke_time_close", ""] == "not_tested"


def test_rows_that_were_set_aside_are_not_called_missing():
    """Two faults of one row of a sheet of a workbook, and a row of another of its sheets."""
    book = "records/field-sheets.xlsx"
    problem = Problem(book, 7, "command_V", "5", "volts on a 4-20 mA loop", "T", set_aside=True, table="readings")
    more = dataclasses.replace(problem, column="direction"), dataclasses.replace(problem, table="strokes")
    made = dataclasses.replace(records({}, limit("inaccuracy", plus_minus=1)), problems=(problem, *more))
    assert check(assess_tag(made), "inaccuracy").reason == "no rows of readings could be used (1 set aside)"


def assessed(tables, *limits, decides=True, recordings=NO_RECORDINGS, set_aside=None, **further):
    made = records(tables, *limits, instruments=GOOD, **further)
    day = Day(made.settings, made.tag, made.visits[0] if made.visits else None, made.instruments, set_aside or {})
    return assess_stage(StageRecords(day, "1", "as_left", made.tables, recordings), decides=decides).result


def reasons(stage):
    return {(each.check, each.detail): each.reason for each in stage.checks if each.verdict == "not_tested"}


def test_only_the_deciding_stage_has_gaps():
    asked = (limit("inaccuracy", plus_minus=1.0), limit("dead_band", maximum=1.0))
    whole = assessed({"readings": stroke(0, 0, 0, 0, 0)}, *asked, tests=("strokes",))
    part = assessed({"readings": stroke(0, 0, 0, 0, 0)}, *asked, tests=("strokes",), decides=False)
    assert (whole.verdict, part.verdict) == ("incomplete", "pass")
    assert set(reasons(whole)) == {("dead_band", ""), ("stroke_time_open", ""), ("stroke_time_close", "")}
    assert reasons(part) == {}


def test_a_required_test_says_that_no_row_was_recorded_or_none_could_be_used():
    asked = {"tests": ("strokes:open", "fail_tests:supply_off", "logs")}
    assert reasons(assessed({}, **asked)) == {
        ("stroke_time_open", ""): ("the limit set asks for the test strokes:open, and no rows of it were recorded"),
        ("fail_position", "supply_off"): (
            "the limit set asks for the test fail_tests:supply_off, and no rows of it were recorded"
        ),
        ("dead_time", ""): "the limit set asks for the test logs, and no rows of it were recorded",
        ("dead_band", ""): "the limit set asks for the test logs, and no rows of it were recorded",
        ("hunting_amplitude", ""): "the limit set asks for the test logs, and no rows of it were recorded",
    }
    aside = assessed({}, set_aside={"strokes": 2}, **asked)
    assert reasons(aside)["stroke_time_open", ""] == (
        "the limit set asks for the test strokes:open, and no rows of it could be used (2 set aside)"
    )


@pytest.mark.parametrize(
    ("test", "table", "row", "answered"),
    [
        ("strokes:open", "strokes", {"direction": "open", "time_s": 20.0}, True),
        ("strokes:close", "strokes", {"direction": "open", "time_s": 20.0}, False),
        ("strokes", "strokes", {"direction": "open", "time_s": 20.0}, False),
        ("switches:open", "switches", {"switch": "open", "makes_at_pct": 98.0}, True),
        ("switches:closed", "switches", {"switch": "open", "makes_at_pct": 98.0}, False),
        ("readings:down", "readings", {"direction": "up", "command_pct": 0.0, "position_pct": 0.0}, False),
        ("readings:up", "readings", {"direction": "up", "command_pct": 0.0, "position_pct": 0.0}, True),
        ("fail_tests:both_off", "fail_tests", {"cause": "supply_off", "position_after_pct": 0.0}, False),
        ("prechecks", "prechecks", {"item": "tight", "result": "yes"}, True),
        ("loop_checks", "prechecks", {"item": "tight", "result": "yes"}, False),
    ],
)
def test_a_part_of_a_test_is_answered_by_its_own_rows(test, table, row, answered):
    open_tests = [each for each in reasons(assessed({table: [row]}, tests=(test,))).values() if test in each]
    assert bool(open_tests) != answered


def test_a_required_test_opens_no_gap_for_a_check_that_has_a_value():
    """Readings up only: the test down is missing, and hysteretic error has no value; inaccuracy has one."""
    found = assessed({"readings": stroke(0, 0, 0, 0, 0)}, tests=("readings:down", "potentiometer"))
    assert set(reasons(found)) == {
        ("hysteretic_error", ""),
        ("potentiometer_low_margin", ""),
        ("potentiometer_high_margin", ""),
    }


def test_a_limit_on_a_check_without_rows_names_its_table():
    found = assessed({}, limit("prechecks", maximum=0), limit("zero_error", plus_minus=1.0), set_aside={"readings": 1})
    assert reasons(found) == {
        ("prechecks", ""): "no rows of prechecks were recorded",
        ("zero_error", ""): "no rows of readings could be used (1 set aside)",
    }
    zero = next(each for each in found.checks if each.check == "zero_error")
    assert (zero.lower_limit, zero.upper_limit, zero.limit_source) == (-1.0, 1.0, "made-up limit for a test")


def test_a_check_without_a_value_is_a_gap_where_it_has_a_limit_and_says_why():
    given = {"readings": stroke(0.5, commands=(50,))}
    found = assessed(given, limit("zero_error", plus_minus=1.0), limit("hysteretic_error", maximum=1.0))
    assert {each.check: (each.verdict, each.reason) for each in found.checks if each.value is None} == {
        "zero_error": ("not_tested", "no readings within 0.5 % of 0 % command: read there too"),
        "hysteretic_error": (
            "not_assessable",
            "readings both ways at 0 commands between the ends, 3 are needed: "
            "read 25 % both ways, 50 % both ways and 75 % both ways too",
        ),
    }


def test_the_required_test_and_its_limit_are_one_gap():
    found = assessed({}, limit("fail_position", plus_minus=2.0), tests=("fail_tests",))
    assert list(reasons(found)) == [("fail_position", "")]
    assert "the limit set asks for the test fail_tests" in reasons(found)["fail_position", ""]


def test_checks_stand_in_the_order_of_the_contract_and_their_details_in_natural_order():
    rows = [
        {"direction": "open", "time_s": 20.0, "speed_setting_pct": 100.0},
        {"direction": "open", "time_s": 200.0, "speed_setting_pct": 9.0},
        {"direction": "open", "time_s": 100.0, "speed_setting_pct": 10.0},
    ]
    fails = [{"cause": cause, "position_after_pct": 0.0} for cause in ("supply_off", "signal_open")]
    tables = {"strokes": rows, "fail_tests": fails, "readings": stroke(0, 0, 0, 0, 0)}
    found = assessed(tables | {"settings": [{"setting": "speed_open_pct", "value": "100 %"}]}, tests=("logs",))
    order = list(CHECKS)
    assert [each.check for each in found.checks] == sorted((each.check for each in found.checks), key=order.index)
    assert [each.detail for each in found.checks if each.check == "stroke_time_open"] == [
        "",
        "speed setting 9 %",
        "speed setting 10 %",
    ]
    assert [each.detail for each in found.checks if each.check == "fail_position"] == ["signal_open", "supply_off"]


def test_a_row_beside_the_one_that_counts_is_held_against_no_limit():
    rows = [{"direction": "open", "time_s": 20.0, "speed_setting_pct": at} for at in (100.0, 40.0)]
    left = [{"setting": "speed_open_pct", "value": "100"}]
    found = assessed({"strokes": rows, "settings": left}, limit("stroke_time_open", maximum=30.0), rule="simple")
    assert [(each.detail, each.verdict) for each in found.checks] == [
        ("", "pass"),
        ("speed setting 40 %", "information"),
    ]


def test_the_stage_carries_its_visit_its_date_and_what_was_reduced():
    sweep = [{"position_pct": at, "wiper_ohm": 100 + 8 * at, "track_ohm": 1000.0} for at in (0.0, 50.0, 100.0)]
    readings = [{**each, "feedback_pct": each["position_pct"]} for each in stroke(0, 0, 0.5, 0, 0)]
    found = assessed({"readings": readings, "potentiometer": sweep})
    assert (found.visit, found.stage, found.date) == ("1", "as_left", "2026-03-10")
    assert len(found.position_runs.kept) == len(found.feedback_runs.kept) == 5
    assert found.position_runs.curve_pct[2] == pytest.approx(0.5)
    assert found.feedback_runs.curve_pct[2] == pytest.approx(0.0)
    assert found.sweep.ratio_pct.tolist() == [10.0, 50.0, 90.0]
    assert (found.recordings, found.causes) == ((), ())
    assert assessed({}, visits=()).date == ""


def test_causes_are_looked_for_in_the_readings_of_the_stage():
    found = assessed({"readings": stroke(2, 2, 2, 2, 0)}, limit("inaccuracy", plus_minus=1.0), rule="simple")
    assert [each.pattern for each in found.causes] == ["zero shift"]
    within = assessed({"readings": stroke(2, 2, 2, 2, 0)}, limit("inaccuracy", plus_minus=3.0), rule="simple")
    assert within.causes == ()


def test_a_tag_without_a_limit_set_has_no_gap_of_a_limit():
    bare = dataclasses.replace(TAG, limits="")
    found = assessed({"readings": stroke(0, 0, 0, 0, 0)}, limit("dead_band", maximum=1.0), tag=bare)
    assert {each.verdict for each in found.checks} == {"information"}
