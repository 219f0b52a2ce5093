"""Which records a check is made from."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.assessment.origin import VisitRecords, group_of, rows_of
from kit.basis.records import Problem, Scope
from tests.assessment.builders import result, stroke
from tests.assessment.made import reduction, stage_records


@pytest.mark.parametrize(
    ("check", "detail", "group"),
    [
        ("inaccuracy", "", ("inaccuracy", "")),
        ("inaccuracy", "typed", ("inaccuracy", "")),
        ("stroke_time_open", "speed setting 40 %", ("stroke_time_open", "")),
        ("fail_position", "signal_open", ("fail_position", "signal_open")),
        ("fail_position", "signal_open, typed", ("fail_position", "signal_open")),
    ],
)
def test_what_stands_beside_a_check_is_of_its_group(check, detail, group):
    assert group_of(result(check, "pass", 1.0, detail=detail)) == group


def test_each_direction_each_switch_and_each_cause_has_its_own_rows():
    tables = {
        "strokes": [{"direction": "open", "time_s": 1.0}, {"direction": "close", "time_s": 2.0}],
        "switches": [{"switch": "closed", "makes_at_pct": 3.0}],
        "fail_tests": [{"cause": "supply_off", "time_s": 4.0}],
        "electrical": [{"earth_ohm": 0.1}, {"insulation_mohm": 5.0}],
        "readings": stroke(0, 0, 0, 0, 0),
    }
    records = stage_records(tables)
    counts = {
        group: len(rows_of(records, group))
        for group in (
            ("stroke_time_open", ""),
            ("closed_switch_lead", ""),
            ("open_switch_lead", ""),
            ("fail_position", "supply_off"),
            ("fail_position", "signal_open"),
            ("insulation_resistance", ""),
            ("supply_deviation", ""),
            ("feedback_inaccuracy", ""),
            ("dead_band", ""),
        )
    }
    assert list(counts.values()) == [1, 1, 0, 1, 0, 1, 0, 5, 0]


def test_a_visit_holds_what_it_has_as_found_what_was_recorded_and_what_is_open():
    nothing = stage_records({name: [] for name in ("readings", "strokes", "fail_tests", "switches", "prechecks")})
    strokes = stage_records({"strokes": [{"direction": "open", "time_s": 1.0}]})
    assert VisitRecords(nothing, strokes, ()).holds(("stroke_time_open", ""))
    assert not VisitRecords(nothing, strokes, ()).holds(("stroke_time_close", ""))
    scope = Scope(("T",), visit="1", table="prechecks")
    problem = Problem("records/prechecks.csv", 2, "result", "?", "No word.", "T", status="open", scope=scope)
    assert VisitRecords(nothing, nothing, (problem,)).holds(("prechecks", ""))
    assert not VisitRecords(nothing, nothing, (problem,)).holds(("inaccuracy", ""))


def test_a_recording_that_cannot_be_used_could_have_held_every_test_that_recordings_answer():
    records = stage_records(None, reduction())
    lost = without_samples(records)
    assert VisitRecords(lost, records, ()).holds(("fail_position", "signal_open"))
    assert not VisitRecords(lost, records, ()).holds(("loop_command_error", ""))
    assert not VisitRecords(records, records, ()).holds(("fail_position", "signal_open"))


def without_samples(records):
    """The same stage with a recording of which nothing can be used."""
    (made,) = records.recordings.results
    unusable = replace(made, reduction=None)
    return replace(records, recordings=replace(records.recordings, results=(unusable,)))
