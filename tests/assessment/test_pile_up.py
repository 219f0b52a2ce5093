"""Values that crowd just inside a limit over a unit."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.pile_up import PileUp


def told(shares: list[float | None], stage: str = "as_found") -> list[str]:
    pile = PileUp()
    for share in shares:
        pile.add([{"check": "inaccuracy", "stage": stage, "share_pct": share}])
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
    pile.add([{"check": "inaccuracy", "stage": "as_left", "share_pct": 99.0}] * 20)
    (problem,) = pile.problems()
    assert (problem.file, problem.tag, problem.status, problem.set_aside) == ("results.csv", "", "flag", False)
    assert problem.record.startswith("r")
