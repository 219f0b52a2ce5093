"""Whether one level of a factor lies otherwise than the others."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from hypothesis import given, settings
from hypothesis.strategies import integers
from scipy.stats import norm

from kit.basis.arrays import CalculationInputError
from kit.calculations.bias import COVERAGE, leans


def made(seed: int, pairs: int = 12) -> pd.DataFrame:
    """Pairs of one block each, read by two of three instruments and by two of three persons."""
    draw = np.random.default_rng(seed)
    rows = []
    for block in range(pairs):
        level = draw.normal(0.0, 1.0)
        for place, (by, who) in enumerate(zip(draw.permutation(3), draw.integers(0, 3, 3), strict=True)):
            if place < 2:
                value = level + (0.6 if by == 0 else 0.0) + 0.1 * place + draw.normal(0.0, 0.1)
                rows.append((value, f"b{block}", float(place), f"i{by}", f"p{who}"))
    return pd.DataFrame(rows, columns=["value", "block", "place", "by", "who"])


@pytest.mark.second_opinion
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_leans_and_their_uncertainty_are_those_of_statsmodels(seed: int) -> None:
    """Least squares with a dummy for each block; the contrast of i0 against the mean of i1 and i2."""
    frame = made(seed)
    fit = smf.ols("value ~ C(block) + place + C(by) + C(who)", frame).fit()
    contrast = np.zeros(len(fit.params))
    names = list(fit.params.index)
    for name in ("C(by)[T.i1]", "C(by)[T.i2]"):
        contrast[names.index(name)] = -0.5
    expected = fit.t_test(contrast)
    found = leans(
        frame["value"], {"by": list(frame["by"]), "who": list(frame["who"])}, list(frame["block"]), frame["place"]
    )
    own = next(each for each in found if each.level == "i0")
    assert own.lean == pytest.approx(float(expected.effect[0]), abs=1e-9)
    assert own.probability == pytest.approx(float(expected.pvalue), rel=1e-6)
    low, high = expected.conf_int(alpha=1.0 - COVERAGE)[0]
    assert own.expanded_uncertainty == pytest.approx((high - low) / 2.0, rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(integers(0, 10_000))
def test_what_a_block_has_of_its_own_moves_nothing(seed: int) -> None:
    frame = made(seed)
    shifted = frame["value"] + frame["block"].map({name: 3.0 * n for n, name in enumerate(sorted(set(frame["block"])))})
    first, second = (
        leans(values, {"by": list(frame["by"])}, list(frame["block"]), frame["place"])
        for values in (frame["value"], shifted)
    )
    for one, other in zip(first, second, strict=True):
        assert one.lean == pytest.approx(other.lean, abs=1e-9)
        assert one.expanded_uncertainty == pytest.approx(other.expanded_uncertainty, abs=1e-9)


def test_a_difference_without_scatter_comes_back() -> None:
    """By hand: b reads 0.6 more in every block, and every second reading drifted by 0.2."""
    values = [0.0, 0.8, 5.6, 5.2, 1.0, 1.8, 2.6, 2.2]
    by = ["a", "b", "b", "a"] * 2
    found = leans(values, {"by": by}, list("11223344"), [0, 1] * 4)
    assert [(each.level, round(each.lean or 0.0, 9), each.count) for each in found] == [("a", -0.6, 4), ("b", 0.6, 4)]


def test_what_went_together_is_not_told_apart_and_says_from_what() -> None:
    blocks, order = list("112233"), [0, 1, 1, 0, 0, 1]
    by = ["a", "b"] * 3
    found = leans([0.1, 0.7, -0.2, 0.4, 0.3, 0.9], {"by": by, "who": [f"p{each}" for each in by]}, blocks, order)
    assert all(each.lean is None for each in found)
    assert found[0].why_not == "cannot be told apart from who pa"
    later = leans([0.1, 0.7, -0.2, 0.4], {"by": ["a", "b", "a", "b"]}, list("1122"), [0, 1, 0, 1])
    assert later[0].why_not == "cannot be told apart from drift"


def test_one_level_alone_one_value_and_nothing_say_so() -> None:
    (alone,) = leans([0.1, 0.2, np.nan], {"by": ["a", "a", "a"]}, list("111"), [0, 1, 2])
    assert (alone.lean, alone.count) == (None, 0)
    assert alone.mean == pytest.approx(0.15)
    assert "with another alike" in alone.why_not
    assert leans([], {"by": []}, [], []) == ()
    assert leans([1.0], {"by": [""]}, ["1"], [0.0]) == ()
    few = leans([0.0, 1.0], {"by": ["a", "b"]}, list("11"), [0.0, 0.0])
    assert few[0].why_not == "too few values to know their scatter"
    level = leans([1.0] * 6, {"by": ["a", "b"] * 3}, list("112233"), [0, 1, 1, 0, 0, 1])
    assert [(each.lean, each.probability) for each in level] == [
        (pytest.approx(0.0, abs=1e-12), pytest.approx(1.0))
    ] * 2


def test_blocks_that_share_no_level_are_not_held_against_each_other() -> None:
    found = leans([0.0, 1.0, 5.0, 5.5] * 2, {"by": list("abcd") * 2}, list("11223344"), [0, 1, 0, 1, 1, 0, 1, 0])
    assert [round(each.lean or math.nan, 9) for each in found] == [-1.0, 1.0, -0.5, 0.5]


def test_a_value_without_its_level_is_refused() -> None:
    with pytest.raises(CalculationInputError, match="needs a level"):
        leans([1.0, 2.0], {"by": ["a"]}, list("11"), [0, 1])


@pytest.mark.second_opinion
def test_an_expanded_uncertainty_covers_what_two_standard_deviations_do() -> None:
    """scipy.stats.norm between -2 and 2, as JCGM 100:2008, G.1, prints for k = 2."""
    assert round(float(norm.cdf(2) - norm.cdf(-2)), 4) == COVERAGE


def test_levels_are_linked_step_by_step_and_each_is_held_against_all_of_them() -> None:
    """By hand: blocks of a and b, b and c, c and d; levels 0, 1, 3, 6: a lies 10/3 below the mean of b, c, d."""
    level = {"a": 0.0, "b": 1.0, "c": 3.0, "d": 6.0}
    by = list("abbccd") * 2
    blocks = list("112233445566")
    found = leans(
        [level[each] + 10.0 * int(block) for each, block in zip(by, blocks, strict=True)],
        {"by": by},
        blocks,
        [0.0] * 12,
    )
    assert [round(each.lean or 0.0, 9) for each in found] == [
        round(each, 9) for each in (-10 / 3, -2.0, 3.0 - 7 / 3, 6.0 - 4 / 3)
    ]


def test_an_instrument_that_is_not_known_is_none_to_be_held_against() -> None:
    """By hand: b lies 1 above a; what was read with nobody knows what lies 100 above, and says nothing of either."""
    found = leans([0.0, 1.0, 100.0] * 3, {"by": ["a", "b", ""] * 3}, list("111222333"), [0.0] * 9)
    assert [(each.level, round(each.lean or 0.0, 9)) for each in found] == [("a", -1.0), ("b", 1.0)]


def test_what_went_together_with_several_names_the_factor_alone() -> None:
    by, who = ["a", "b"] * 4, ["p", "r", "q", "s"] * 2
    found = leans([0.1, 0.7, -0.2, 0.4, 0.3, 0.9, 0.0, 0.5], {"by": by, "who": who}, list("11223344"), [0.0] * 8)
    assert found[0].why_not == "cannot be told apart from who"


def test_a_lean_without_any_scatter_is_no_chance() -> None:
    found = leans([0.0, 1.0] * 3, {"by": ["a", "b"] * 3}, list("112233"), [0.0] * 6)
    assert [(each.lean, each.probability) for each in found] == [
        (pytest.approx(-1.0), pytest.approx(0.0, abs=1e-9)),
        (pytest.approx(1.0), pytest.approx(0.0, abs=1e-9)),
    ]


def test_values_that_are_all_blank_have_no_level() -> None:
    assert leans([np.nan, np.nan], {"by": ["a", "b"]}, list("11"), [0.0, 0.0]) == ()


@pytest.mark.parametrize("blank", [np.nan, np.inf])
def test_a_value_without_its_place_in_time_is_skipped_as_a_blank_is(blank: float) -> None:
    given = [0.1, 0.7, -0.2, 0.4, 0.3, 0.9], list("112233"), [0.0, 1.0, 1.0, 0.0, 0.0, 1.0]
    by = ["a", "b"] * 3
    without = leans(given[0], {"by": by}, given[1], given[2])
    values, blocks, order = [*given[0], 5.0], [*given[1], "3"], [*given[2], blank]
    assert leans(values, {"by": [*by, "a"]}, blocks, order) == without
