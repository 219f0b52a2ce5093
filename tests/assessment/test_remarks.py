"""What a reviewer should know and no check says."""

from __future__ import annotations

from kit.assessment import assess_tag
from tests.assessment.builders import GOOD, limit, records, stroke


def test_readings_as_found_alone_give_no_verdict_as_left():
    made = records(
        {"readings": [{**each, "stage": "as_found"} for each in stroke(0, 0, 0, 0, 0)]},
        limit("inaccuracy", plus_minus=1.0),
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    assert assessment.verdict == "incomplete"
    assert any("none as left" in each for each in assessment.remarks)


def test_a_wrong_fail_direction_is_said_even_without_a_limit():
    made = records({"fail_tests": [{"cause": "signal_open", "position_before_pct": 50.0, "position_after_pct": 100.0}]})
    assert any("came to rest at 100.0 %" in each for each in assess_tag(made).remarks)
