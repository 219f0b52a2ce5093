"""A tag, judged: which stage decides."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.basis.records import Problem, RecordingFile
from kit.basis.registers import Tag, Visit
from kit.basis.tables import TABLES
from tests.assessment.builders import COMMAND, GOOD, LOOP_MA, POSITION, check, limit, records, stroke, visit
from tests.assessment.with_recordings import with_recordings


def test_a_tag_without_records_is_not_tested_and_one_without_limits_is_incomplete():
    assert assess_tag(records({}, visits=())).verdict == "not_tested"
    no_limits = Tag("T", command_range=LOOP_MA)
    assessment = assess_tag(records({"readings": stroke(0, 0, 0, 0, 0)}, tag=no_limits, instruments=GOOD))
    assert assessment.verdict == "incomplete"
    assert "names no limit set" in assessment.reason


def test_as_left_of_the_newest_visit_decides_and_as_found_stands_beside_it():
    readings = [
        *({**each, "visit": "9"} for each in stroke(0, 0, 5, 0, 0)),
        *({**each, "visit": "10", "stage": "as_found"} for each in stroke(0, 0, 3, 0, 0)),
        *({**each, "visit": "10"} for each in stroke(0, 0, 0.1, 0, 0)),
    ]
    made = records(
        {"readings": readings},
        limit("inaccuracy", plus_minus=1.0),
        instruments=GOOD,
        visits=(visit("9", "2026-02-01"), visit("10")),
    )
    assessment = assess_tag(made)
    assert [(each.visit, each.stage, each.verdict) for each in assessment.stages] == [
        ("10", "as_left", "pass"),
        ("10", "as_found", "fail"),
        ("9", "as_left", "fail"),
    ]
    assert (assessment.verdict, assessment.visit, assessment.as_found.verdict) == ("pass", "10", "fail")


def recording_of(visit_name, stage):
    return RecordingFile(f"logs/T/{visit_name}.{stage}.csv", "T", visit_name, stage, "", "", why_not="Empty.")


def stages(made):
    return [(each.visit, each.stage) for each in assess_tag(made).stages]


def test_a_tag_without_records_says_so_and_has_nothing_else():
    found = assess_tag(records({}, visits=()))
    assert found.reason == "No records: nothing was tested."
    assert (found.visit, found.worst_check, found.stages, found.instruments, found.remarks) == ("", "", (), (), ())
    assert [each.what for each in found.punch_list] == ["No records"]
    assert found.problems == ()


def test_whatever_bears_a_visits_name_makes_a_visit():
    """A row of any table, a row of visits, a recording; the newest one has a stage as left in any case."""
    by_setting = records({"settings": [{"visit": "5", "setting": "dead band"}]}, visits=())
    assert stages(by_setting) == [("5", "as_left")]
    assert stages(records({}, visits=(visit("3"),))) == [("3", "as_left")]
    by_recording = dataclasses.replace(records({}, visits=()), recordings=(recording_of("4", "as_found"),))
    assert stages(by_recording) == [("4", "as_left"), ("4", "as_found")]
    older = dataclasses.replace(records({}, visits=(visit("5"),)), recordings=(recording_of("4", "as_left"),))
    assert stages(older) == [("5", "as_left"), ("4", "as_left")]


def test_older_visits_are_shown_as_far_as_they_were_recorded():
    of = ({"visit": "1", "stage": "as_found"}, {"visit": "2", "stage": "as_left"})
    rows = [each | keys for keys in of for each in stroke(0, 0, 0, 0, 0)]
    assert stages(records({"readings": rows}, visits=(visit("1"), visit("2"), visit("3")))) == [
        ("3", "as_left"),
        ("2", "as_left"),
        ("1", "as_found"),
    ]


def test_tables_that_know_no_stage_belong_to_as_left():
    checks = [{"item": "tight", "result": "no"}]
    assert "stage" not in TABLES["prechecks"].columns
    made = records({"prechecks": checks, "readings": [{**each, "stage": "as_found"} for each in stroke(0, 0, 0, 0, 0)]})
    left, found = assess_tag(made).stages
    assert [each.check for each in left.checks] == ["prechecks"]
    assert "prechecks" not in {each.check for each in found.checks}


def test_rows_of_another_visit_do_not_enter():
    rows = [{**each, "visit": "0"} for each in stroke(9, 9, 9, 9, 9)]
    (newest, _) = assess_tag(records({"readings": [*rows, *stroke(0, 0, 0.2, 0, 0)]})).stages
    assert next(each.value for each in newest.checks if each.check == "inaccuracy") == pytest.approx(0.2)


def test_the_verdict_is_that_of_the_deciding_stage_with_its_worst_check_and_its_reason():
    made = records({"readings": stroke(0, 0, 5, 0, 0)}, limit("inaccuracy", plus_minus=1), instruments=GOOD)
    found = assess_tag(made)
    assert (found.tag, found.verdict, found.visit, found.worst_check) == ("T", "fail", "1", "inaccuracy")
    assert found.reason == "Inaccuracy is outside its limit."
    bare = assess_tag(records({"readings": stroke(0, 0, 0, 0, 0)}, tag=Tag("T", command_range=LOOP_MA)))
    assert bare.worst_check == ""
    assert bare.reason == (
        "The register names no limit set and unit.toml has none called after the duty (it has modulating), so nothing "
        "could be judged."
    )


def test_each_visit_is_judged_with_its_own_instruments_of_its_own_day():
    """On the second visit the position instrument is overdue."""
    short = dataclasses.replace(POSITION, due_on="2026-02-15")
    rows = [{**each, "visit": name} for name in ("1", "2") for each in stroke(0, 0, 0.1, 0, 0)]
    visits = (visit("1", "2026-02-01"), visit("2", "2026-03-01"))
    newest, oldest = assess_tag(records({"readings": rows}, visits=visits, instruments=(COMMAND, short))).stages
    budgets = [next(each.budget for each in stage.checks if each.check == "inaccuracy") for stage in (newest, oldest)]
    assert budgets[0] is None
    assert budgets[1] is not None
    assert (newest.date, oldest.date) == ("2026-03-01", "2026-02-01")


def uses(made):
    return {(each.visit, each.role) for each in assess_tag(made).instruments}


BARE = Visit("1", "2026-03-10")


@pytest.mark.parametrize(
    ("table", "row", "roles"),
    [
        ("readings", {"direction": "up"}, {"command", "position"}),
        ("strokes", {"direction": "open"}, {"time"}),
        ("fail_tests", {"cause": "signal_open"}, {"position"}),
        ("switches", {"switch": "open"}, {"position"}),
        ("potentiometer", {"position_pct": 0.0}, {"resistance"}),
        ("electrical", {"earth_ohm": 0.1}, {"supply", "resistance"}),
        ("loop_checks", {"position_pct": 0.0}, {"position"}),
        ("prechecks", {"item": "tight"}, set()),
        ("settings", {"setting": "dead band"}, set()),
    ],
)
def test_what_was_recorded_asks_for_its_instruments(table, row, roles):
    assert {role for _, role in uses(records({table: [row]}, visits=(BARE,)))} == roles


def test_a_visit_also_lists_the_instruments_that_it_names_and_those_of_its_recordings():
    named = dataclasses.replace(BARE, feedback_instrument="F")
    rows = {"strokes": [{"direction": "open", "time_s": 20.0}]}
    assert uses(records(rows, visits=(named,))) == {("1", "time"), ("1", "feedback")}
    other = Visit("2", "2026-03-11")
    logged = dataclasses.replace(records(rows, visits=(BARE, other)), recordings=(recording_of("2", "as_left"),))
    assert uses(logged) == {("1", "time"), ("2", "command"), ("2", "position"), ("2", "time")}


def test_rows_set_aside_are_counted_by_table_and_once_each():
    aside = Problem("records/a.csv", 3, "time_s", "quick", "no number", "T", set_aside=True, table="strokes")
    problems = (
        aside,
        dataclasses.replace(aside, column="direction"),
        dataclasses.replace(aside, row=4),
        dataclasses.replace(aside, file="records/b.csv"),
        dataclasses.replace(aside, row=9, set_aside=False),
        dataclasses.replace(aside, row=10, table="readings"),
    )
    made = dataclasses.replace(records({}, limit("stroke_time_open", maximum=30)), problems=problems)
    assert check(assess_tag(made), "stroke_time_open").reason == (
        "no rows of strokes (open) could be used (3 set aside)"
    )


def test_problems_found_while_judging_are_handed_on(healthy):
    rows = {"strokes": [{"direction": "close", "time_s": 25.0}]}
    assert [each.column for each in assess_tag(with_recordings(healthy, tables=rows)).problems] == ["stroke_time_close"]
