"""Fail action: target, worst position, longest time."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.arrays import CalculationInputError
from kit.calculations.fail_action import fail_target_pct, farthest, longest


@pytest.mark.parametrize(
    ("action", "before", "target"),
    [
        ("open", 40.0, 100.0),
        ("closed", 40.0, 0.0),
        ("hold", 40.0, 40.0),
        ("hold", 0.0, 0.0),
        ("open", float("nan"), 100.0),
        ("closed", float("nan"), 0.0),
        ("hold", float("nan"), None),
        ("hold", float("inf"), None),
    ],
)
def test_target_of_each_fail_action(action, before, target):
    assert fail_target_pct(action, before) == target


def test_an_unknown_fail_action_is_refused():
    with pytest.raises(CalculationInputError, match=r"^The fail action 'shut' is unknown; give open, closed or hold"):
        fail_target_pct("shut", 40.0)


def test_the_position_farthest_from_its_target_counts():
    found = farthest([98.0, 103.0, 99.0], 100.0)
    assert (found.value, found.reading, found.averaged) == (103.0, 1, False)
    assert found.weights.tolist() == [0, 1, 0]
    assert farthest([40.0, 41.0, 60.0], [40.0, 44.0, 60.0]).value == 41.0


def test_of_equal_distances_the_first_counts():
    assert farthest([2.0, -2.0], 0.0).value == 2.0
    assert farthest([100.0, 100.0], 100.0).reading == 0


@pytest.mark.parametrize(
    ("values", "targets"),
    [
        ([np.nan, 1.0, 3.0], 0.0),
        ([9.0, 1.0, 3.0], [np.nan, 0.0, 0.0]),
        ([np.inf, 1.0, 3.0], 0.0),
        ([np.inf, 1.0, 3.0], [np.inf, 0.0, 0.0]),
    ],
)
def test_a_pair_that_is_no_number_is_skipped(values, targets):
    found = farthest(values, targets)
    assert (found.value, found.reading, found.weights.tolist()) == (3.0, 2, [0, 0, 1])


def test_no_pair_gives_no_position_and_says_what_is_missing():
    assert (farthest([], 0.0).value, farthest([], 0.0).why_not) == (None, "no position recorded")
    assert farthest([np.nan], 0.0).why_not == "no position recorded"
    assert (farthest([5.0], np.nan).value, farthest([5.0], np.nan).why_not) == (None, "no target known")
    assert farthest([5.0], [np.nan]).why_not == "no target known"


def test_targets_of_another_length_are_refused():
    with pytest.raises(CalculationInputError, match=r"^target_pct has 1 values beside 2 readings"):
        farthest([1.0, 2.0], [0.0])


def test_the_longest_time_counts():
    found = longest([12.0, np.nan, 15.5, 15.5, np.inf])
    assert (found.value, found.reading) == (15.5, 2)
    assert found.weights.tolist() == [0, 0, 1, 0, 0]
    assert longest([0.0]).value == 0.0


@pytest.mark.parametrize("times", [[], [np.nan], [np.inf]])
def test_no_time_gives_none(times):
    assert (longest(times).value, longest(times).why_not) == (None, "no time recorded: write time_s")
