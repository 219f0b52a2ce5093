"""Typed and recorded values beside each other."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from tests.assessment.builders import check, limit
from tests.assessment.with_recordings import recorded, with_recordings
from tests.making.valves import Motor, VirtualValve


def test_the_recording_stands_and_a_typed_value_is_shown_beside_it(healthy: bytes) -> None:
    strokes = [{"direction": "open", "time_s": 30.2}, {"direction": "close", "time_s": 25.0}]
    found = assess_tag(
        with_recordings(healthy, tables={"strokes": strokes}, limits=(limit("stroke_time_close", of_nominal_pct=10),))
    )
    assert check(found, "stroke_time_close").verdict == "pass"
    assert check(found, "stroke_time_close", "typed").verdict == "information"
    assert check(found, "stroke_time_close", "typed").value == 25.0
    (problem,) = [each for each in found.problems if each.column == "stroke_time_close"]
    assert problem.column == "stroke_time_close"
    assert problem.tag == "T"
    assert not problem.set_aside
    assert "more than their uncertainties together" in problem.problem


def test_pulsed_closing_is_held_against_the_typed_speed_setting() -> None:
    valve = VirtualValve(motor=Motor(close_setting_pct=40.0, pulse_period_s=2.0))
    data = recorded(valve)
    agrees = assess_tag(
        with_recordings(data, tables={"strokes": [{"direction": "close", "time_s": 75.0, "speed_setting_pct": 40.0}]})
    )
    assert not [each for each in agrees.problems if each.column == "speed_setting_pct"]
    assert check(agrees, "stroke_time_close").beside["times_full_speed"] == pytest.approx(2.5, rel=0.1)
    wrong = assess_tag(
        with_recordings(data, tables={"strokes": [{"direction": "close", "time_s": 75.0, "speed_setting_pct": 70.0}]})
    )
    (problem,) = [each for each in wrong.problems if each.column == "speed_setting_pct"]
    assert "the setting says 70 %" in problem.problem
