"""The re-test map."""

from __future__ import annotations

import pytest

from kit.basis.checks import CHECKS
from kit.basis.retest import CHANGES, RETEST, change_of_setting, touched_by
from kit.basis.tables.measurements import ADJUSTMENTS

# the practice's own table: which of nine tests each change leaves without a result, spot checks and parts included
TESTS = {
    "switches": "closed_switch_lead",
    "feedback span": "potentiometer_low_margin",
    "feedback out": "feedback_span_error",
    "command range": "zero_error",
    "dead band": "dead_band",
    "speed": "stroke_time_open",
    "stroke check": "inaccuracy",
    "fail action": "fail_time",
    "loop check": "loop_command_error",
}
PRACTICE = {
    "travel_stop": "1111 0 1111",
    "limit_switch": "1000 0 1111",
    "feedback_coupling": "0111 1 0111",
    "end_points": "0111 0 0111",
    "command_range": "0001 0 0111",
    "dead_band": "0000 1 0100",
    "speed": "0000 1 1110",
    "signal_path": "0011 0 0111",
    "part_replaced": "1111 1 1111",
    "packing": "1000 1 1110",
    "control_system_range": "0000 0 0001",
}
OF_THE_STROKE_CHECK = frozenset({"command range"})  # zero and span are read in the stroke check


@pytest.mark.parametrize("change", CHANGES)
def test_each_change_touches_what_practice_says(change):
    asked = dict(zip(TESTS, PRACTICE[change].replace(" ", ""), strict=True))
    for test, check in TESTS.items():
        if test not in OF_THE_STROKE_CHECK:
            assert (check in RETEST[change]) == (asked[test] == "1"), (change, test)


def test_a_stroke_check_is_repeated_wherever_the_command_range_is():
    ranged = {change for change, row in PRACTICE.items() if row[3] == "1"}
    assert ranged <= {change for change in CHANGES if {"zero_error", "inaccuracy"} <= RETEST[change]}


def test_a_part_replaced_and_a_change_that_is_not_known_touch_every_check():
    assert RETEST["part_replaced"] == touched_by("") == touched_by("something") == frozenset(CHECKS)
    assert ADJUSTMENTS.words("what") == CHANGES


def test_the_answer_to_steps_goes_with_all_that_moves_the_valve_otherwise():
    assert all("t86" in RETEST[change] for change in CHANGES if change != "control_system_range")
    assert "insulation_resistance" not in RETEST["travel_stop"]
    assert "loop_margin" in RETEST["signal_path"]


@pytest.mark.parametrize(
    ("setting", "change"),
    [
        ("speed_open_pct", "speed"),
        ("Speed close", "speed"),
        ("dead_band", "dead_band"),
        ("Dead band, %", "dead_band"),
        ("deadband", "dead_band"),
        ("command_range", "command_range"),
        ("travel stop open", "travel_stop"),
        ("display language", "part_replaced"),
        ("", "part_replaced"),
    ],
)
def test_a_setting_is_known_by_how_its_name_begins(setting, change):
    assert change_of_setting(setting) == change
