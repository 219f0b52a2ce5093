"""Probable causes of what failed."""

from __future__ import annotations

from kit.assessment import assess_tag
from tests.assessment.builders import GOOD, limit, records, stroke


def test_what_fails_comes_with_its_probable_cause_and_a_punch_item():
    made = records(
        {"readings": stroke(0, -1.25, -2.5, -3.75, -5)}, limit("inaccuracy", plus_minus=1.5), instruments=GOOD
    )
    assessment = assess_tag(made)
    assert assessment.stages[0].causes[0].pattern == "span error about the closed end"
    assert [(each.check, each.category) for each in assessment.punch_list] == [("inaccuracy", "B")]
    assert "-5 % of travel span (100.0 % command, up)" in assessment.punch_list[0].evidence
