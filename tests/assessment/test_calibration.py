"""Readings brought to test points, and what a quantity drawn from them rests on."""

from __future__ import annotations

import math

import numpy as np
import pytest

from kit.assessment.budgets import Source
from kit.assessment.calibration import feedback_runs, finding_of_runs, position_runs
from kit.basis.checks import SPAN
from kit.basis.quantity import Quantity
from kit.calculations.repeats import lean_of_greatest
from tests.assessment.builders import COMMAND, POSITION, TAG, day, rows

READINGS = rows(
    "readings",
    [
        {"direction": "down", "cycle": "b", "command_pct": 50.0, "position_pct": 51.0, "feedback_pct": 51.5},
        {"direction": "up", "cycle": "", "command_pct": 0.0, "position_pct": 2.0},
        {"direction": "up", "cycle": "a", "position_pct": 2.0, "feedback_pct": 2.0},
        {"direction": "", "cycle": "b", "command_pct": 100.0, "position_pct": 97.0, "feedback_pct": 98.0},
    ],
)


def test_position_errors_are_from_the_ideal_and_keep_their_way_and_cycle():
    runs = position_runs(READINGS, TAG)
    assert runs.kept.tolist() == [0, 1, 3]
    assert runs.error_pct == pytest.approx([1.0, 2.0, -3.0])
    assert runs.rising.tolist() == [False, True, False]
    assert runs.cycle[0] == runs.cycle[2]
    assert np.isnan(runs.cycle[1])  # a blank cell is no cycle


def test_feedback_errors_are_from_the_position_and_stand_over_it():
    runs = feedback_runs(READINGS, TAG)
    assert runs.kept.tolist() == [0, 3]
    assert runs.error_pct == pytest.approx([0.5, 1.0])
    assert runs.input_pct == pytest.approx([51.0, 97.0])
    assert runs.rising.tolist() == [False, False]
    assert runs.point_command_pct == pytest.approx([50.0, 100.0])


def test_without_usable_readings_there_are_no_runs():
    assert position_runs(READINGS.where(slice(2, 3)), TAG) is None
    assert feedback_runs(READINGS.where(slice(1, 2)), TAG) is None


RUNS = position_runs(READINGS, TAG)
SIGNALS = (
    Source("position", np.array([51.0, 2.0, 97.0]), np.ones(3)),
    Source("command", np.array([50.0, 0.0, 100.0]), np.full(3, -2.0)),
)


def found(quantity, noise_pct=None):
    return finding_of_runs("inaccuracy", quantity, RUNS, SIGNALS, day(POSITION, COMMAND), noise_pct)


@pytest.mark.parametrize(
    ("point", "reading", "place"),
    [(0, 1, "0.0 % command, up"), (2, 2, "100.0 % command, down"), (1, None, "50.0 % command"), (None, None, "")],
)
def test_the_place_is_that_of_the_reading_or_else_of_the_test_point(point, reading, place):
    assert found(Quantity(1.0, point=point, reading=reading)).at == place


def test_each_signal_enters_with_its_own_slope():
    """One reading: position 0.3/sqrt(3) and 0.1/sqrt(12), command 0.1/sqrt(3) doubled by a slope of 2."""
    made = found(Quantity(1.0, weights=np.array([1.0, 0.0, 0.0])))
    expected = 0.3**2 / 3 + 0.1**2 / 12 + 4 * 0.1**2 / 3
    assert made.uncertainty.budget.standard_uncertainty == pytest.approx(math.sqrt(expected))
    assert made.target == 0.0


def test_without_a_value_or_its_weights_there_is_no_budget():
    assert found(Quantity(None, "no readings", weights=np.ones(3))).uncertainty.budget is None
    assert found(Quantity(1.0)).uncertainty.budget is None


def test_the_noise_of_each_reading_goes_with_its_weight():
    """0.5 of 0.04 and -0.5 of 0.03: 0.025, of the greatest of three readings."""
    made = found(Quantity(1.0, weights=np.array([0.5, -0.5, 0.0])), np.array([0.04, 0.03, 9.0]))
    noise = made.uncertainty.budget.components[-1]
    assert (noise.value, noise.unit) == (pytest.approx(0.025), SPAN)
    assert noise.standard_uncertainty == pytest.approx(0.025 * lean_of_greatest(3))
    assert all(
        "noise" not in each.name for each in found(Quantity(1.0, weights=np.ones(3))).uncertainty.budget.components
    )


@pytest.mark.parametrize(
    ("check", "competing"),
    [("zero_error", 1), ("inaccuracy", 6), ("hysteretic_error", 2), ("repeatability", 2), ("terminal_linearity", 2)],
)
def test_the_noise_of_a_greatest_of_many_counts_as_often_as_there_are_competitors(check, competing):
    """Two points read up twice and down once: six readings, two differences, two pairs of repeats."""
    cells = [
        {"direction": way, "cycle": cycle, "command_pct": at, "position_pct": at}
        for at in (0.0, 50.0)
        for way, cycle in (("up", "1"), ("down", "1"), ("up", "2"))
    ]
    runs = position_runs(rows("readings", cells), TAG)
    signals = (Source("position", runs.input_pct, np.ones(6)), Source("command", runs.input_pct, np.full(6, -1.0)))
    quantity = Quantity(1.0, weights=np.array([1.0, 0, 0, 0, 0, 0]))
    made = finding_of_runs(check, quantity, runs, signals, day(POSITION, COMMAND), np.full(6, 0.03))
    noise = made.uncertainty.budget.components[-1]
    assert noise.sensitivity == pytest.approx(lean_of_greatest(competing))


def test_means_at_one_point_from_one_side_share_their_noise_and_differences_do_not():
    cells = [{"direction": "up", "cycle": cycle, "command_pct": 50.0, "position_pct": 50.0} for cycle in "12"]
    runs = position_runs(rows("readings", cells), TAG)
    signals = (Source("position", runs.input_pct, np.ones(2)), Source("command", runs.input_pct, np.full(2, -1.0)))
    for weights, deviation in ((np.array([0.5, 0.5]), 0.03), (np.array([1.0, -1.0]), 0.03 * 2**0.5)):
        made = finding_of_runs(
            "zero_error", Quantity(1.0, weights=weights), runs, signals, day(POSITION, COMMAND), np.full(2, 0.03)
        )
        assert made.uncertainty.budget.components[-1].value == pytest.approx(deviation)
