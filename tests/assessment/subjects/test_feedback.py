"""Feedback against measured position."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from kit.basis.registers import Tag
from tests.assessment.builders import LOOP_MA, check, records
from tests.assessment.with_recordings import recorded, with_recordings


def test_reverse_action_asks_for_the_mirror_and_swaps_the_feedback_ends():
    tag = Tag("T", command_range=LOOP_MA, feedback_range=LOOP_MA, action="reverse", limits="modulating")
    rows = [
        {"direction": "up", "command_pct": at, "position_pct": 100 - at, "feedback_pct": (100 - at) * 1.02 + 1}
        for at in (0.0, 50.0, 100.0)
    ]
    assessment = assess_tag(records({"readings": rows}, tag=tag))
    assert check(assessment, "inaccuracy").value == pytest.approx(0)
    assert check(assessment, "feedback_zero_error").value == pytest.approx(1.0)  # at the closed end, 100 % command
    assert check(assessment, "feedback_span_error").value == pytest.approx(2.0)


def test_travel_taken_from_the_feedback_is_said() -> None:
    data = recorded(channels=("command", "feedback"))
    found = assess_tag(with_recordings(data))
    assert any("the feedback element itself is not verified" in each for each in found.remarks)
    assert not [each for each in found.deciding.checks if each.check.startswith("feedback_")]
