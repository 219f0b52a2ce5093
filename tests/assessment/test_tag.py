"""A tag, judged: which stage decides."""

from __future__ import annotations

from kit.assessment import assess_tag
from kit.basis.registers import Tag
from tests.assessment.builders import GOOD, LOOP_MA, limit, records, stroke, visit


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
