"""The loop from the station to the valve and back."""

from __future__ import annotations

import dataclasses
import math

import pytest

from kit.assessment import assess_tag
from kit.assessment.subjects.loop import LOOP
from kit.basis.registers import Instrument
from tests.assessment.builders import TAG, check, records
from tests.assessment.made import typed


def test_loop_check_runs_from_station_to_valve_and_back():
    rows = [
        {"station_output_pct": 0.0, "position_pct": 0.2, "station_feedback_pct": 0.0},
        {"station_output_pct": 50.0, "position_pct": 50.5, "station_feedback_pct": 48.5},
        {"station_output_pct": 100.0, "position_pct": 99.0},
    ]
    assessment = assess_tag(records({"loop_checks": rows}))
    assert check(assessment, "loop_command_error").value == pytest.approx(-1.0)
    assert check(assessment, "loop_feedback_error").value == pytest.approx(-2.0)


def looped(*rows, **further):
    columns = ("station_output_pct", "position_pct", "station_feedback_pct")
    return typed(LOOP, [dict(zip(columns, each, strict=True)) for each in rows], **further)


BLANK = float("nan")


def test_the_greatest_error_of_each_kind_is_named_by_its_station_output():
    found = looped((0.0, 0.2, 0.0), (50.0, 50.5, 48.5), (100.0, 99.0, 99.1))
    command, feedback = found["loop_command_error", ""], found["loop_feedback_error", ""]
    assert (command.value, command.at, command.target) == (pytest.approx(-1.0), "100.0 % station output", 0.0)
    assert (feedback.value, feedback.at, feedback.target) == (pytest.approx(-2.0), "50.0 % station output", 0.0)
    assert (dict(command.beside), dict(feedback.beside)) == ({}, {})


def test_both_rest_on_one_reading_of_the_position_and_the_feedback_on_the_display_too():
    """0.3/sqrt(3) and 0.1/sqrt(12); the display shows tenths: 0.1/sqrt(12)."""
    found = looped((0.0, 0.2, 0.0), (50.0, 50.5, 48.5))
    command, feedback = (found[name, ""].uncertainty.budget for name in ("loop_command_error", "loop_feedback_error"))
    assert command.standard_uncertainty == pytest.approx(math.sqrt(0.3**2 / 3 + 0.1**2 / 12))
    assert feedback.standard_uncertainty == pytest.approx(math.sqrt(0.3**2 / 3 + 2 * 0.1**2 / 12))
    assert {each.instrument for each in command.components} == {"P"}
    assert feedback.components[-1].name == "station display, last digit typed"


def test_a_display_in_whole_percent_is_read_to_half_of_one():
    found = looped((0.0, 0.2, 0.0), (50.0, 50.5, 49.0))["loop_feedback_error", ""]
    assert found.uncertainty.budget.components[-1].value == 1.0


def test_the_accuracy_is_that_at_the_deciding_reading():
    """1 % of reading at 99 %."""
    percent = Instrument("P", "pct", accuracy_pct_reading=1.0)
    found = looped((0.0, 0.2, 0.0), (100.0, 99.0, BLANK), instruments=(percent,))["loop_command_error", ""]
    assert found.uncertainty.budget.components[0].value == pytest.approx(0.99)


def test_the_station_output_asks_for_what_the_tag_makes_of_it():
    reverse = dataclasses.replace(TAG, action="reverse")
    found = looped((30.0, 72.0, 70.0), tag=reverse)
    assert found["loop_command_error", ""].value == pytest.approx(2.0)
    assert found["loop_feedback_error", ""].value == pytest.approx(-2.0)


def test_what_was_not_read_says_so():
    found = looped((50.0, BLANK, 48.5), (60.0, BLANK, 58.0))
    assert {each.why_not for each in found.values()} == {"no readings"}
    assert {each.at for each in found.values()} == {""}
    assert looped() == {}
