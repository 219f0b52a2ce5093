"""One stage: every finding judged, every gap named."""

from __future__ import annotations

import dataclasses

from kit.assessment import assess_tag
from kit.basis.records import Problem
from tests.assessment.builders import GOOD, check, limit, records, stroke


def test_a_limited_check_without_data_is_a_gap():
    made = records(
        {"readings": stroke(0, 0, 0, 0, 0)},
        limit("inaccuracy", plus_minus=1.0),
        limit("hysteretic_error", maximum=1.0),
        limit("dead_band", maximum=1.0),
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    assert check(assessment, "hysteretic_error").verdict == "not_tested"
    assert check(assessment, "hysteretic_error").reason
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
