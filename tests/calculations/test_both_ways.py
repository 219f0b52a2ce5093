"""Up and down runs held against each other where their commands do not meet."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists

from kit.calculations.both_ways import commands_both_ways, compare_ways, hysteretic_error
from kit.calculations.position import Runs, reduce_runs


def runs_of(up: dict[float, float], down: dict[float, float]) -> Runs:
    """Runs from the error at each command, up and down."""
    commands, errors = [*up, *down], [*up.values(), *down.values()]
    return reduce_runs(commands, errors, [True] * len(up) + [False] * len(down), [1] * len(commands))


def test_commands_that_do_not_meet_do_not_hide_a_gap_between_the_ways():
    """0.18 mA apart, 1.125 % of range: the ends meet without a difference, between them the ways are 4 % apart."""
    apart = 100 * 0.18 / 16
    up = {0.0: 0.0, 25.0: -2.0, 50.0: -2.0, 75.0: -2.0, 100.0: 0.0}
    down = {0.0: 0.0, 25.0 + apart: 2.0, 50.0 + apart: 2.0, 75.0 + apart: 2.0, 100.0: 0.0}
    found = hysteretic_error(runs_of(up, down))
    assert found.value == pytest.approx(4.0)
    assert commands_both_ways(runs_of(up, down)) == 3


def test_the_other_way_is_interpolated_linearly_and_weighs_with_its_neighbours():
    """Down 1 at 40 %, 2 at 60 %: 1.25 at 45 %. Up 0 there, so that -1.25 is the difference; 3/4 and 1/4 of the two."""
    runs = runs_of({45.0: 0.0}, {60.0: 2.0, 40.0: 1.0})
    ways = compare_ways(runs)
    assert ways.point.tolist() == [1]
    assert ways.interpolated.tolist() == [-1]
    assert ways.difference_pct == pytest.approx(np.array([-1.25]))
    found = hysteretic_error(runs)
    assert (found.value, found.point) == (pytest.approx(1.25), 1)
    assert found.weights == pytest.approx(np.array([-1.0, 0.25, 0.75]))
    turned = hysteretic_error(runs_of({60.0: 2.0, 40.0: 1.0}, {45.0: 0.0}))
    assert (turned.value, compare_ways(runs_of({60.0: 2.0, 40.0: 1.0}, {45.0: 0.0})).interpolated.tolist()) == (
        pytest.approx(1.25),
        [1],
    )
    assert turned.weights == pytest.approx(np.array([0.25, 0.75, -1.0]))


@pytest.mark.parametrize(("gap", "known"), [(30.0, True), (30.1, False)])
def test_nothing_is_interpolated_across_a_wide_gap_or_beyond_the_span_of_the_other_way(gap, known):
    found = hysteretic_error(runs_of({50.0: 0.0}, {40.0: 1.0, 40.0 + gap: 1.0}))
    assert (found.value is not None) == known
    beyond = hysteretic_error(runs_of({70.0: 0.0}, {40.0: 1.0, 60.0: 1.0}))
    assert (beyond.value, beyond.why_not) == (None, "no command with readings in both directions")


def test_a_command_read_both_ways_takes_its_own_two_means_and_no_neighbour():
    runs = runs_of({25.0: 0.0, 50.0: 0.0, 75.0: 0.0}, {75.0: 9.0, 50.0: 0.5, 25.0: 9.0})
    ways = compare_ways(runs)
    assert ways.difference_pct.tolist() == [-9.0, -0.5, -9.0]
    assert not ways.share.any()
    assert not ways.interpolated.any()


@pytest.mark.parametrize(
    ("up", "down", "count"),
    [
        ((0, 25, 50, 75, 100), (75, 50, 25, 0), 3),
        ((0, 25, 50, 75, 100), (74, 49, 24, 0), 3),
        ((0, 25, 50, 75, 100), (76, 51, 26, 1), 3),
        ((0, 50, 100), (100, 50, 0), 1),
        ((0, 100), (100, 0), 0),
        ((0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100), (55, 30), 2),
        ((0, 25, 50, 75, 100), (49,), 1),
        ((0, 25, 50, 75, 100), (), 0),
    ],
)
def test_commands_are_counted_between_the_ends_and_never_more_than_either_way_has(up, down, count):
    runs = runs_of(dict.fromkeys(map(float, up), 0.0), dict.fromkeys(map(float, down), 0.0))
    assert commands_both_ways(runs) == count


@given(
    backlash=floats(0.0, 5.0),
    slope=floats(-0.05, 0.05),
    shifts=lists(floats(1.1, 9.0), min_size=3, max_size=3),
)
def test_a_constant_gap_between_straight_ways_is_found_wherever_they_were_read(backlash, slope, shifts):
    """Each way is one straight line: interpolation adds nothing of its own."""
    up = {at: slope * at - backlash / 2 for at in (0.0, 25.0, 50.0, 75.0, 100.0)}
    places = [0.0, *(at + shift for at, shift in zip((25.0, 50.0, 75.0), shifts, strict=True)), 100.0]
    down = {at: slope * at + backlash / 2 for at in places}
    assert hysteretic_error(runs_of(up, down)).value == pytest.approx(backlash, abs=1e-9)


def test_how_far_between_the_ends_begins_can_be_said():
    runs = runs_of({2.0: 0.0, 50.0: 0.0, 100.0: 0.0}, {50.0: 0.0, 2.0: 0.0})
    assert [commands_both_ways(runs, end_within_pct=within) for within in (0.5, 2.0)] == [2, 1]
