"""The greatest of several errors, and the mean of repeats."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists, sampled_from

from kit.calculations.repeats import greatest, mean, mean_within

errors = lists(floats(-20, 20), min_size=1, max_size=12)


def test_the_greatest_by_hand() -> None:
    """Of 0.3, -0.8, 0.5 and 0.8: -0.8, the first of the two equals; beside it the greatest of either sign."""
    found = greatest([0.3, np.nan, -0.8, 0.5, 0.8, np.inf])
    assert (found.value, found.reading) == (-0.8, 2)
    assert found.beside == {"greatest_positive": 0.8, "greatest_negative": -0.8}
    assert found.weights.tolist() == [0.0, 0.0, 1.0, 0.0, 0.0, 0.0]
    assert not found.averaged


@pytest.mark.parametrize(
    ("error", "beside"),
    [([0.5, 0.2], {"greatest_positive": 0.5}), ([-0.5, -0.2], {"greatest_negative": -0.5}), ([0.0, 0.0], {})],
)
def test_a_sign_that_no_error_has_is_not_told(error: list[float], beside: dict[str, float]) -> None:
    assert greatest(error).beside == beside


@given(error=errors)
def test_the_greatest_is_one_of_the_errors_and_turns_with_their_sign(error: list[float]) -> None:
    found, turned = greatest(error), greatest([-each for each in error])
    assert abs(found.value) == max(abs(each) for each in error)
    assert found.value == error[found.reading]
    assert (turned.value, turned.reading) == (-found.value, found.reading)


@given(values=errors, shift=floats(-50, 50), times=floats(0.1, 10))
def test_the_mean_moves_and_scales_with_its_values(values: list[float], shift: float, times: float) -> None:
    found = mean(values, "none")
    assert found.value == pytest.approx(np.mean(values), abs=1e-9)
    moved = mean([times * each + shift for each in values], "none")
    assert moved.value == pytest.approx(times * found.value + shift, abs=1e-9)
    assert found.weights == pytest.approx(np.full(len(values), 1.0 / len(values)))
    assert found.averaged


def test_lost_readings_weigh_nothing_and_none_left_has_a_reason() -> None:
    found = mean([1.0, np.nan, 3.0, np.inf], "no runs")
    assert found.value == 2.0
    assert found.weights.tolist() == [0.5, 0.0, 0.5, 0.0]
    assert (mean([np.nan], "no runs").value, mean([], "no runs").why_not) == (None, "no runs")
    assert greatest([np.nan, np.inf]).why_not == "no readings"


@given(
    values=lists(floats(-1e3, 1e3), min_size=1, max_size=6),
    sides=lists(sampled_from(["read", "above", "below"]), min_size=6, max_size=6),
    beyond=lists(floats(0, 1e3), min_size=6, max_size=6),
)
def test_a_bounded_mean_holds_the_mean_of_whatever_was_there(values, sides, beyond):
    """Wherever each reading lies within its bound, their mean lies within the bound of the mean."""
    sides, beyond = sides[: len(values)], beyond[: len(values)]
    low = [-inf if side == "below" else value for value, side in zip(values, sides, strict=True)]
    high = [inf if side == "above" else value for value, side in zip(values, sides, strict=True)]
    found = mean_within(low, high, "none")
    sign = {"read": 0.0, "above": 1.0, "below": -1.0}
    true = np.mean([value + sign[side] * by for value, side, by in zip(values, sides, beyond, strict=True)])
    if found.value is None:
        assert {"above", "below"} <= set(sides)
        return
    least, most = found.within or (found.value, found.value)
    assert least - 1e-9 <= true <= most + 1e-9


def test_readings_alone_have_their_mean_and_blanks_none():
    assert mean_within([29.0, np.nan, 30.0], [29.0, np.nan, 30.0], "none").value == 29.5
    assert mean_within([29.0], [29.0], "none").within is None
    assert mean_within([np.nan], [np.nan], "no runs").why_not == "no runs"
