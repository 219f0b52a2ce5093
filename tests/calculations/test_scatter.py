"""Groups of repeats, and which of them scatter too much to be pooled."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers

from kit.calculations.scatter import cochran_limit, groups_of, outlying_groups, within_groups


@pytest.mark.published
@pytest.mark.parametrize(
    ("groups", "printed"),
    [
        (2, (0.998, 0.975, 0.939, 0.906)),
        (3, (0.967, 0.871, 0.798, 0.746)),
        (5, (0.841, 0.684, 0.598, 0.544)),
        (10, (0.602, 0.445, 0.373, 0.331)),
        (20, (0.389, 0.270, 0.221, 0.192)),
    ],
)
def test_cochrans_limits_are_those_of_the_printed_table(groups, printed):
    """National Measurement System (UK), Chemical and Biological Metrology, Cochran test, 95 %; n = 2, 3, 4, 5.

    Tolerance: the last printed digit, since the formula by the F distribution is an approximation.
    """
    assert [cochran_limit(groups, size, level=0.05) for size in (2, 3, 4, 5)] == pytest.approx(printed, abs=0.0012)


@pytest.mark.from_memory
def test_cochrans_limits_at_one_percent_are_those_of_iso_5725():
    """ISO 5725-2:1994, Table 4, 1 %, from memory: p = 3, 5, 10 of n = 2; p = 3, 5 of n = 3."""
    assert [cochran_limit(groups, 2) for groups in (3, 5, 10)] == pytest.approx([0.993, 0.928, 0.718], abs=0.0015)
    assert [cochran_limit(groups, 3) for groups in (3, 5)] == pytest.approx([0.942, 0.788], abs=0.0015)


def test_one_point_and_direction_is_one_group():
    assert groups_of([0, 0, 1, 1], [True, False, True, True]).tolist() == [1, 0, 3, 3]


def test_sums_of_squares_and_degrees_of_freedom_of_each_group():
    squares, freedom = within_groups(np.array([1.0, 3.0, 5.0, 0.0, 0.0, 3.0]), np.array([0, 0, 1, 2, 2, 2]))
    assert squares.tolist() == pytest.approx([2.0, 0.0, 6.0])
    assert freedom.tolist() == [1.0, 0.0, 2.0]


PAIRS = np.repeat(np.arange(8), 2)
CALM = np.tile([0.0, 0.1], 8)


def test_one_group_that_stands_out_is_set_apart_and_no_other():
    loud = CALM.copy()
    loud[5] = 5.0
    assert np.flatnonzero(outlying_groups(loud, PAIRS)).tolist() == [4, 5]
    assert not outlying_groups(CALM, PAIRS).any()


def test_of_two_that_stand_out_both_are_set_apart():
    loud = CALM.copy()
    loud[[5, 11]] = 3.0, 50.0
    assert np.flatnonzero(outlying_groups(loud, PAIRS)).tolist() == [4, 5, 10, 11]


def test_the_limit_itself_is_where_a_group_begins_to_stand_out():
    """Eight pairs: the share of one in the sum of all may come to 0.794."""
    limit = cochran_limit(8, 2)
    for share, apart in ((limit - 0.001, False), (limit + 0.001, True)):
        error = np.tile([0.0, 1.0], 8)
        error[1] = np.sqrt(7 * share / (1 - share))
        assert outlying_groups(error, PAIRS).any() == apart


def test_two_groups_of_two_can_hardly_be_told_apart_and_one_never():
    assert not outlying_groups([0.0, 0.1, 0.0, 5.0], [0, 0, 1, 1]).any()
    assert not outlying_groups([0.0, 5.0], [0, 0]).any()
    assert not outlying_groups([1.0, 2.0, 3.0], [0, 1, 2]).any()
    assert not outlying_groups([], []).any()


def test_what_the_resolution_hides_makes_no_other_group_stand_out():
    """Two equal readings beside two a step of 0.1 apart: without a least scatter the second has all of the sum."""
    error, group = [2.4, 2.4, 97.4, 97.5], [0, 0, 1, 1]
    assert outlying_groups(error, group).tolist() == [False, False, True, True]
    assert not outlying_groups(error, group, least=0.1 / np.sqrt(12)).any()


def test_equal_readings_everywhere_leave_nothing_to_test():
    assert not outlying_groups(np.ones(16), PAIRS).any()


@given(integers(0, 2**32 - 1), floats(0.001, 1000), floats(-100, 100))
def test_it_does_not_depend_on_unit_or_level(number, scale, shift):
    error = np.random.default_rng(number).normal(0, 1, 24) * np.where(np.arange(24) < 3, 9.0, 1.0)
    group = np.repeat(np.arange(8), 3)
    moved = scale * (error + shift * group)
    assert outlying_groups(moved, group).tolist() == outlying_groups(error, group).tolist()


def test_groups_of_one_scatter_are_seldom_set_apart():
    """1 % of 1,000 sets of unequal groups; 24 is 4.5 standard deviations above 10."""
    generator = np.random.default_rng(5)
    group = np.repeat(np.arange(9), [2, 2, 2, 2, 3, 3, 3, 4, 4])
    wrong = sum(outlying_groups(generator.normal(0, 1, group.size), group).any() for _ in range(1000))
    assert 2 <= wrong <= 24


def test_repeats_that_are_equal_to_the_last_digit_do_not_make_the_others_stand_out():
    """Two makings of each switch, read to 0.1: 1.8 and 1.8, 98.0 and 98.2. By hand: floor 0.1 / sqrt(12), squared
    0.00083; share 0.02 / 0.0208 = 0.96; Table 4 of ISO 5725-2 has 0.9999 for two groups of two at 1 %."""
    error, group = [0.0, 0.0, -0.1, 0.1], [0, 0, 1, 1]
    assert outlying_groups(error, group).any()
    assert not outlying_groups(error, group, least=0.1 / 12**0.5).any()
