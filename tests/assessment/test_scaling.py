"""Readings brought to % by the tag's own ranges."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, sampled_from

from kit.assessment import assess_tag
from kit.assessment.scaling import command_pct, feedback_pct, ideal_pct, last_digit_pct, position_pct, slope
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from tests.assessment.builders import LOOP_MA, check, records, rows

VOLTS = SignalRange(2.0, 10.0, "V", "2-10 V")


def test_split_range_half_asks_for_its_own_range():
    """4-12 mA: 8 mA is 50 %, and 20 mA asks for fully open."""
    tag = Tag("T", command_range=SignalRange(4, 12, "mA", "4-12 mA"), limits="modulating")
    rows = [
        {"direction": "up", "command_mA": ma, "position_pct": at} for ma, at in ((4, 0), (8, 50), (12, 100), (20, 100))
    ]
    assert check(assess_tag(records({"readings": rows}, tag=tag)), "inaccuracy").value == pytest.approx(0)


def test_a_measured_signal_comes_before_a_percentage_and_a_blank_gives_way_to_it():
    """8 mA of 4-20 mA are 25 %, 6 V of 2-10 V are 50 %."""
    tag = Tag("T", command_range=LOOP_MA, feedback_range=VOLTS)
    given = rows(
        "readings",
        [
            {"command_mA": 8.0, "command_pct": 70.0, "feedback_V": 6.0, "feedback_pct": 70.0},
            {"command_pct": 70.0, "feedback_pct": 80.0, "command_V": 5.0, "feedback_mA": 12.0},
            {},
        ],
    )
    assert command_pct(given, tag) == pytest.approx([25.0, 70.0, np.nan], nan_ok=True)
    assert feedback_pct(given, tag) == pytest.approx([50.0, 80.0, np.nan], nan_ok=True)


def test_without_a_range_only_percentages_are_read():
    given = rows("readings", [{"command_mA": 8.0, "command_pct": 70.0}, {"feedback_V": 6.0}])
    assert command_pct(given, Tag("T")) == pytest.approx([70.0, np.nan], nan_ok=True)
    assert feedback_pct(given, Tag("T")) == pytest.approx([np.nan, np.nan], nan_ok=True)


def test_a_position_in_percent_comes_before_one_in_the_unit_of_the_travel():
    """30 mm of 40 mm are 75 %."""
    both, own, foreign = {"position_pct": 10.0, "position_mm": 30.0}, {"position_mm": 30.0}, {"position_deg": 9.0}
    given = rows("readings", [both, own, foreign])
    tag = Tag("T", travel=40.0, travel_unit="mm")
    assert position_pct(given, tag) == pytest.approx([10.0, 75.0, np.nan], nan_ok=True)
    for bare in (Tag("T"), Tag("T", travel=40.0), Tag("T", travel_unit="mm")):
        assert position_pct(given, bare) == pytest.approx([10.0, np.nan, np.nan], nan_ok=True)


@pytest.mark.parametrize(
    ("further", "asked", "steepness"),
    [
        ({}, 25.0, 1.0),
        ({"action": "reverse"}, 75.0, -1.0),
        ({"rangeability": 30.0}, 25.0, 1.0),  # a linear valve has none
        ({"characteristic": "equal_percentage"}, 100 * 50**-0.75, 50**-0.75 * math.log(50)),
        (
            {"characteristic": "equal_percentage", "rangeability": 30.0, "action": "reverse"},
            100 * 30**-0.25,
            -(30**-0.25) * math.log(30),
        ),
        ({"shut_below_pct": 26.0}, 0.0, 0.0),
        ({"open_above_pct": 24.0}, 100.0, 0.0),
        ({"action": "reverse", "open_above_pct": 74.0}, 100.0, 0.0),
    ],
)
def test_what_a_command_of_25_percent_asks_for(further, asked, steepness):
    tag = Tag("T", **further)
    assert float(ideal_pct(25.0, tag)) == pytest.approx(asked)
    assert float(slope(25.0, tag)) == pytest.approx(steepness)


@given(command=floats(0, 99.9), characteristic=sampled_from(["linear", "equal_percentage"]))
def test_the_slope_is_that_of_the_ideal_position(command, characteristic):
    for action in ("direct", "reverse"):
        tag = Tag("T", action=action, characteristic=characteristic)
        near = ideal_pct(np.array([command, command + 1e-5]), tag)
        assert float(slope(command, tag)) == pytest.approx(float(np.diff(near)[0]) / 1e-5, rel=1e-3, abs=1e-6)


@pytest.mark.parametrize(
    ("role", "cells", "step"),
    [
        ("command", {"command_mA": 12.02}, 0.01 / 16 * 100),
        ("command", {"command_mA": 12.02, "command_pct": 50.0}, 0.01 / 16 * 100),  # what was measured goes before
        ("command", {"command_pct": 50.0}, 1.0),
        ("position", {"position_deg": 45.5}, 0.1 / 90 * 100),
        ("position", {"position_pct": 50.25}, 0.01),
        ("feedback", {"feedback_mA": 12.0}, 1.0 / 16 * 100),
        ("feedback", {}, 0.0),
    ],
)
def test_the_last_digit_typed_is_brought_to_percent(role, cells, step):
    tag = Tag("T", travel=90.0, travel_unit="deg", command_range=LOOP_MA, feedback_range=LOOP_MA)
    assert last_digit_pct(rows("readings", [cells]), role, tag) == pytest.approx(step)
