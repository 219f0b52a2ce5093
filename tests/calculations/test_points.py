"""Readings gathered into test points."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers, lists

from kit.basis.arrays import CalculationInputError
from kit.calculations.points import group_commands


def merged_one_by_one(commands, within_pct):
    """The definition, as slowly and plainly as it can be written: lists of readings, merged in pairs."""
    groups = [[value] * commands.count(value) for value in sorted(set(commands))]
    while True:
        pairs = []
        for left in range(len(groups) - 1):
            union = groups[left] + groups[left + 1]
            middle = sum(union) / len(union)
            if all(abs(value - middle) < within_pct for value in union):
                means = [sum(group) / len(group) for group in groups[left : left + 2]]
                pairs.append((means[1] - means[0], left))
        if not pairs:
            return groups
        left = min(pairs)[1]
        groups[left : left + 2] = [groups[left] + groups[left + 1]]


@given(lists(integers(-40, 60), max_size=24), integers(1, 24))
def test_points_are_those_of_the_plain_definition(steps, width):
    """Commands in steps of 1/16 %, so that means and distances are the same in both."""
    commands = [step / 16 for step in steps]
    groups = merged_one_by_one(commands, width / 16)
    expected = [next(n for n, group in enumerate(groups) if value in group) for value in commands]
    assert group_commands(commands, within_pct=width / 16).tolist() == expected


@given(lists(floats(-5, 105), min_size=1, max_size=40))
def test_every_reading_lies_close_to_the_mean_of_its_point(commands):
    values = np.array(commands)
    point = group_commands(values)
    means = np.bincount(point, weights=values) / np.bincount(point)
    assert np.abs(values - means[point]).max() < 0.5 + 1e-12
    assert sorted(set(point.tolist())) == list(range(point.max() + 1))
    assert (np.diff(point[values.argsort(kind="stable")]) >= 0).all()


@given(lists(integers(0, 8), min_size=1, max_size=33), integers(0, 10_000))
def test_set_points_with_a_little_scatter_come_back_as_they_were_set(steps, start_number):
    commands = 12.5 * np.array(steps) + np.random.default_rng(start_number).uniform(-0.24, 0.24, len(steps))
    ranks = {step: rank for rank, step in enumerate(sorted(set(steps)))}
    assert group_commands(commands).tolist() == [ranks[step] for step in steps]


@given(lists(integers(0, 12), min_size=3, max_size=12))
def test_points_of_a_dense_stretch_are_those_of_the_plain_definition(steps):
    """A stretch a little wider than one point, in steps of 1/8 %, is where the order of merging tells."""
    commands = [step / 8 for step in steps]
    groups = merged_one_by_one(commands, 0.5)
    expected = [next(n for n, group in enumerate(groups) if value in group) for value in commands]
    assert group_commands(commands).tolist() == expected


@pytest.mark.parametrize(
    ("commands", "points"),
    [
        ([], []),
        ([50.0], [0]),
        ([0.0, 0.99], [0, 0]),  # 0.495 from their mean
        ([0.0, 1.0], [0, 1]),  # 0.5 from their mean: not less than 0.5
        ([0.0, 0.4, 0.8], [0, 0, 0]),
        ([0.0, 0.4, 0.8, 1.2], [0, 0, 1, 1]),
        ([0.0, 0.75, 1.25], [0, 1, 1]),  # the nearer neighbour goes first
        ([0.0, 0.5, 1.25], [0, 0, 1]),
        ([0.0, 0.0, 0.0, 0.75], [0, 0, 0, 1]),  # their mean 0.1875 is 0.5625 from the last
        ([0.0, 0.5, 1.0], [0, 0, 1]),  # of equal distances the lower goes first
        ([100.0, 0.0, 50.0], [2, 0, 1]),
    ],
)
def test_points_by_hand(commands, points):
    assert group_commands(commands).tolist() == points


def test_width_of_a_point_can_be_chosen():
    assert group_commands([0.0, 1.0, 3.0], within_pct=1.0).tolist() == [0, 0, 1]
    assert group_commands([0.0, 0.1], within_pct=0.05).tolist() == [0, 1]


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_a_command_that_is_no_number_is_refused(bad):
    with pytest.raises(CalculationInputError, match=r"^command_pct holds a nan or an infinity; leave those"):
        group_commands([0.0, bad])


def test_a_table_of_commands_is_refused():
    with pytest.raises(CalculationInputError, match=r"^command_pct has 2 dimensions; give one value a reading"):
        group_commands([[0.0, 1.0]])
