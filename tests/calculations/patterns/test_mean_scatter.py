"""How well means are known, against arithmetic by hand and a general-purpose library."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given
from hypothesis import strategies as st

from kit.calculations.both_ways import compare_ways
from kit.calculations.patterns import mean_scatter
from kit.calculations.position import Runs, reduce_runs

COMMANDS = (0.0, 25.0, 50.0, 75.0, 100.0)
USUAL = 4 * 0.3**2  # sum of squares that the usual scatter stands for, with 4 degrees of freedom
NO_IDEAL = 0.15**2


def both_ways(up, down, commands=COMMANDS) -> Runs:
    """Errors up and down, each a list of readings for each command; an empty list: not read that way."""
    rows = [
        (at, error, way)
        for way, side in ((True, up), (False, down))
        for at, errors in zip(commands, side, strict=True)
        for error in errors
    ]
    at, errors, rising = (np.array(each) for each in zip(*rows, strict=True))
    return reduce_runs(at, errors, rising.astype(bool), np.ones(at.size))


def test_without_repeats_and_without_both_ways_the_usual_scatter_stands_alone():
    """0.3 % with 4 degrees of freedom; each mean is one reading: 0.09 + 0.0225 = 0.1125, its root 0.3354."""
    found = mean_scatter(both_ways([[0.0]] * 5, [[]] * 5))
    assert (found.reading_pct, found.freedom) == (pytest.approx(0.3), 4.0)
    assert found.point_pct == pytest.approx([sqrt(0.1125)] * 5)
    assert (found.lost_pct, found.lost_deviation_pct) == (None, 0.0)


def test_up_and_down_give_two_readings_a_mean_and_the_ends_a_rectangle_more():
    """Down 1 % above up between the ends alike: (0.09 + 0.09)/4 + 0.0225 within, 0.09 + 0.0225 + 1/12 at the ends."""
    found = mean_scatter(both_ways([[0.0], [-0.5], [-0.5], [-0.5], [0.0]], [[], [0.5], [0.5], [0.5], []]))
    reading = USUAL / (4 + 2)  # three differences about their mean of 1, all alike: 2 degrees of freedom more
    inner, ends = reading * 2 / 4 + NO_IDEAL, reading + NO_IDEAL + 1 / 12
    assert found.lost_pct == pytest.approx(1.0)
    assert found.reading_pct == pytest.approx(sqrt(reading))
    assert found.point_pct == pytest.approx([sqrt(each) for each in (ends, inner, inner, inner, ends)])
    assert found.lost_deviation_pct == pytest.approx(sqrt(reading * 2 / 3))


def test_down_below_up_is_a_lost_motion_below_zero():
    found = mean_scatter(both_ways([[0.0], [0.5], [0.5], [0.5], [0.0]], [[], [-0.5], [-0.5], [-0.5], []]))
    assert found.lost_pct == pytest.approx(-1.0)
    assert found.point_pct[0] > found.point_pct[1]


def test_differences_that_differ_widen_the_scatter_of_one_reading():
    """Differences 1, 2, 3 of two single readings each: (1 + 0 + 1)/2 = 1 with 2; (0.36 + 1)/6 = 0.22667."""
    found = mean_scatter(both_ways([[0.0]] * 5, [[], [1.0], [2.0], [3.0], []]))
    assert (found.lost_pct, found.freedom) == (pytest.approx(2.0), 6.0)
    assert found.reading_pct == pytest.approx(sqrt(1.36 / 6))
    assert found.lost_deviation_pct == pytest.approx(sqrt(1.36 / 6) * sqrt(2 / 3))


def test_a_difference_of_more_readings_counts_for_more():
    """0 of two readings each way (1/2 + 1/2 = 1), 3 of one each way (2): (0/1 + 3/2)/(1 + 1/2) = 1."""
    found = mean_scatter(
        both_ways(
            [[0.0], [0.0, 0.0], [0.0], [], [0.0]], [[], [0.0, 0.0], [3.0], [], []], (0.0, 25.0, 50.0, 75.0, 100.0)
        )
    )
    assert found.lost_pct == pytest.approx(1.0)
    # 1/1 + 4/2 = 3 with 1; 0 with 2 of the repeats: (0.36 + 3)/(4 + 1 + 2), at most 8 degrees of freedom
    assert (found.reading_pct, found.freedom) == (pytest.approx(sqrt(3.36 / 7)), 7.0)


def test_repeats_are_pooled_with_the_usual():
    """Each of 5 points read twice, 0.4 apart: 5 * 0.08 = 0.4 with 5; (0.36 + 0.4)/9; at most 8 degrees of freedom."""
    found = mean_scatter(both_ways([[-0.2, 0.2]] * 5, [[]] * 5))
    assert (found.reading_pct, found.freedom) == (pytest.approx(sqrt(0.76 / 9)), 8.0)
    assert found.point_pct == pytest.approx([sqrt(0.76 / 9 / 2 + NO_IDEAL)] * 5)


@pytest.mark.parametrize(("command", "inner"), [(15.0, False), (15.1, True), (84.9, True), (85.0, False)])
def test_what_a_stop_may_hide_is_outside_15_to_85_percent(command, inner):
    found = mean_scatter(both_ways([[0.0]] * 3, [[], [1.0], []], (0.0, command, 100.0)))
    assert (found.lost_pct is not None) == inner


DIFFERENCES = st.lists(st.tuples(st.integers(1, 3), st.integers(1, 3), st.floats(-3, 3)), min_size=2, max_size=6)


@pytest.mark.second_opinion
@given(DIFFERENCES)
def test_the_lost_motion_is_the_weighted_mean_of_statsmodels(points):
    """Weighted least squares of the differences on a constant; their sum of squares is what they add to the scatter."""
    commands = np.linspace(20.0, 80.0, len(points))
    runs = both_ways([[0.0] * up for up, _, _ in points], [[by] * down for _, down, by in points], commands)
    found = mean_scatter(runs)
    weight = [1.0 / (1.0 / up + 1.0 / down) for up, down, _ in points]
    fit = sm.WLS([by for _, _, by in points], np.ones(len(points)), weights=weight).fit()
    freedom = 4 + fit.df_resid + sum(up + down - 2 for up, down, _ in points)
    assert found.lost_pct == pytest.approx(float(fit.params[0]), abs=1e-9)
    assert found.reading_pct == pytest.approx(sqrt((USUAL + fit.ssr) / freedom), rel=1e-6)
    own = sqrt(float(fit.normalized_cov_params[0, 0]))
    assert found.lost_deviation_pct == pytest.approx(found.reading_pct * own, rel=1e-9)
    assert compare_ways(runs).difference_pct.size == len(points)
