"""The loop from the station to the valve and back."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from tests.assessment.builders import check, records


def test_loop_check_runs_from_station_to_valve_and_back():
    rows = [
        {"station_output_pct": 0.0, "position_pct": 0.2, "station_feedback_pct": 0.0},
        {"station_output_pct": 50.0, "position_pct": 50.5, "station_feedback_pct": 48.5},
        {"station_output_pct": 100.0, "position_pct": 99.0},
    ]
    assessment = assess_tag(records({"loop_checks": rows}))
    assert check(assessment, "loop_command_error").value == pytest.approx(-1.0)
    assert check(assessment, "loop_feedback_error").value == pytest.approx(-2.0)
