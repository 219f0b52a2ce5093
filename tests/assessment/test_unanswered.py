"""What an open record keeps from passing."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.assessment import assess_tag
from kit.assessment.unanswered import fed_by, in_stage, unanswered
from kit.basis.checks import CHECKS
from kit.basis.records import Problem, Scope
from tests.assessment.builders import GOOD, check, limit, records

STROKES = [{"direction": way, "time_s": 20.0} for way in ("open", "open", "close", "close")]
LIMITS = (limit("stroke_time_open", maximum=30.0), limit("earth_resistance", maximum=1.0))
EARTH = [{"earth_ohm": 0.2}]


def opened(table="strokes", *, row=21, status="open", **scope):
    return Problem(
        f"records/{table}.csv",
        row,
        "",
        "",
        "cannot be read",
        record=f"r{row}",
        status=status,
        scope=Scope(("T",), table=table, **scope),
    )


def assessed(*problems, strokes=STROKES):
    made = records({"strokes": strokes, "electrical": EARTH}, *LIMITS, instruments=GOOD, rule="simple")
    return assess_tag(replace(made, problems=problems))


def test_an_open_row_keeps_from_passing_what_it_could_have_fed_and_nothing_else():
    found = assessed(opened(visit="1", stage="as_left"), opened(visit="1", stage="as_left", row=22))
    held = check(found, "stroke_time_open")
    assert held.verdict == "not_assessable"
    assert held.reason == "2 records unanswered: strokes.csv rows 21 and 22"
    assert "strokebook sheet --open" in held.suggested_action
    assert held.value == 20.0
    assert check(found, "earth_resistance").verdict == "pass"
    assert found.verdict == "incomplete"


def test_a_failure_that_the_remaining_rows_prove_stays():
    slow = [{**each, "time_s": 90.0} for each in STROKES]
    failed = check(assessed(opened(), strokes=slow), "stroke_time_open")
    assert failed.verdict == "fail"
    assert "1 record unanswered: strokes.csv row 21" in failed.reason


@pytest.mark.parametrize("scope", [{"visit": "0"}, {"visit": "1", "stage": "as_found"}])
def test_a_row_of_another_visit_or_stage_blocks_nothing(scope):
    assert check(assessed(opened(**scope)), "stroke_time_open").verdict == "pass"


@pytest.mark.parametrize("table", ["", "visits", "adjustments", "tags", "instruments"])
def test_what_every_check_rests_on_blocks_every_check(table):
    found = assessed(opened(table))
    assert {check(found, name).verdict for name in ("stroke_time_open", "earth_resistance")} == {"not_assessable"}
    assert fed_by(Scope(("T",), table=table)) == set(CHECKS)


def test_a_used_row_that_lacks_a_cell_is_open_where_a_limited_check_needs_it():
    lacks = opened(status="blank", columns=("time_s",))
    found = assessed(lacks)
    assert check(found, "stroke_time_open").verdict == "not_assessable"
    assert found.problems == (replace(lacks, status="open"),)
    needless = opened("electrical", status="blank", columns=("loop_ohm",))
    found = assessed(needless)
    assert check(found, "earth_resistance").verdict == "pass"
    assert found.problems == (replace(needless, status="flag"),)


def test_a_tag_of_which_nothing_could_be_read_is_incomplete_and_not_untested():
    made = replace(records({}, *LIMITS, visits=()), problems=(opened(""),))
    found = assess_tag(made)
    assert found.verdict == "incomplete"
    assert check(found, "earth_resistance").verdict == "not_assessable"


def test_settings_move_the_stroke_times_and_a_recording_what_recordings_answer():
    assert fed_by(Scope(table="settings")) == {"stroke_time_open", "stroke_time_close"}
    by_recording = fed_by(Scope(table="logs"))
    assert {"inaccuracy", "dead_band", "fail_position"} <= by_recording
    assert not {"prechecks", "loop_command_error", "earth_resistance", "loop_margin"} & by_recording


def test_a_cell_blocks_the_checks_that_its_column_feeds():
    assert fed_by(Scope(table="switches", columns=("stop_at_pct",))) == {"closed_switch_lead", "open_switch_lead"}
    assert fed_by(Scope(table="switches", columns=("at",))) == fed_by(Scope(table="switches"))


def test_records_are_counted_once_and_many_are_named_by_number():
    many = [opened(row=row) for row in range(10, 20)] + [replace(opened(row=10), column="time_s")]
    assert unanswered(many) == "10 records unanswered: strokes.csv rows 10, 11, 12, 13 and 6 more"
    assert unanswered([replace(opened(), row=None)]) == "1 record unanswered: strokes.csv"


def test_history_is_not_held_back_by_what_has_no_visit():
    unknown = opened()
    assert in_stage([unknown], "1", "as_left", decides=True) == (unknown,)
    assert in_stage([unknown], "1", "as_left", decides=False) == ()
    assert in_stage([replace(unknown, status="answered")], "1", "as_left", decides=True) == ()
