"""Values that crowd just inside a limit over a unit."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binomtest

from kit.assessment.pile_up import PileUp, is_just_inside, near_limits
from kit.assessment.ranking import share_pct
from tests.views import made


def told(shares: list[float | None], stage: str = "as_found") -> list[str]:
    pile = PileUp()
    for share in shares:
        pile.add(near_limits([{"check": "inaccuracy", "stage": stage, "share_pct": share}]))
    return [each.problem for each in pile.problems()]


def test_a_crowd_inside_the_limit_is_told_with_what_usually_explains_it() -> None:
    (as_found,) = told([98.0] * 10 + [-97.0] * 4 + [50.0] * 20)
    assert as_found.startswith("Inaccuracy, as found: of 14 values that use more than 80 % of their tolerance 14 use")
    assert "before they were read" in as_found
    (as_left,) = told([98.0] * 14, "as_left")
    assert "adjusted until they pass" in as_left


@pytest.mark.parametrize("shares", [[98.0] * 11, [98.0, 84.0, 90.0, 86.0] * 6, [None, 130.0, 40.0] * 9, []])
def test_few_values_even_ones_and_those_beyond_or_far_inside_tell_nothing(shares) -> None:
    assert told(shares) == []


def test_by_chance_it_is_told_of_hardly_a_unit() -> None:
    """Shares of a normal error of a standard deviation of half the limit, 60 tags a unit, 400 units."""
    draw = np.random.default_rng(1)
    alarms = sum(bool(told((200 * draw.normal(0, 0.5, 60)).tolist())) for _ in range(400))
    assert alarms <= 3


def test_the_flag_has_a_key_and_no_tag() -> None:
    pile = PileUp()
    pile.add(near_limits([{"check": "inaccuracy", "stage": "as_left", "share_pct": 99.0}] * 20))
    (problem,) = pile.problems()
    assert (problem.file, problem.tag, problem.status, problem.set_aside) == ("results.csv", "", "flag", False)
    assert problem.record.startswith("r")


@pytest.mark.second_opinion
@pytest.mark.parametrize("near", [12, 13, 20, 40, 100])
def test_it_is_told_from_where_a_binomial_test_gives_a_chance_below_one_in_a_thousand(near: int) -> None:
    """scipy.stats.binomtest, one-sided, for a quarter beyond 95 % of what lies beyond 80 %."""
    for crowd in range(near + 1):
        chance = binomtest(crowd, near, 0.25, alternative="greater").pvalue
        assert bool(told([97.0] * crowd + [85.0] * (near - crowd))) == (chance < 0.001), crowd


def test_twelve_of_twelve_tell_and_eight_of_twelve_do_not() -> None:
    """By hand: 9 of 12 or more: (220*27 + 66*9 + 12*3 + 1)/4^12 = 6571/16777216 = 0.00039; 8 or more: 0.0028."""
    assert told([97.0] * 9 + [85.0] * 3)
    assert told([97.0] * 8 + [85.0] * 4) == []


@pytest.mark.parametrize(
    ("share", "tells"), [(95.0, False), (95.1, True), (100.0, True), (-100.0, True), (100.1, False)]
)
def test_the_crowd_is_beyond_95_and_up_to_the_limit_itself(share: float, tells: bool) -> None:
    assert bool(told([share] * 12)) == tells


@pytest.mark.parametrize(("share", "tells"), [(80.0, True), (80.1, False), (79.0, True)])
def test_what_the_crowd_is_held_against_begins_beyond_80(share: float, tells: bool) -> None:
    """12 of 12 tell; of 40 that lie beyond 80 %, 12 are about the quarter to be expected."""
    assert bool(told([97.0] * 12 + [share] * 28)) == tells


@pytest.mark.parametrize("value", [0.0, 0.94, 0.95, 0.951, -0.96, 1.0, -1.0, 1.001])
def test_a_value_just_inside_is_one_that_a_crowd_is_made_of(value: float) -> None:
    """Twelve of the same tell over a unit where each of them is named on its page, and nowhere else."""
    check = made.result("inaccuracy", value, lower=-1.0, upper=1.0)
    assert is_just_inside(share_pct(check)) == bool(told([share_pct(check)] * 12))


def test_a_value_without_a_limit_is_just_inside_none() -> None:
    for check in (made.result("inaccuracy", 0.99), made.result("inaccuracy", None, lower=-1.0, upper=1.0)):
        assert not is_just_inside(share_pct(check))
