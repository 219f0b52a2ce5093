"""Conversions that every calculation shares."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import integers

from kit.basis.arrays import CalculationInputError, difference, floats, series, single


def test_a_series_is_one_value_a_reading():
    assert series(3, "x").tolist() == [3.0]
    assert series([1, 2], "x", length=2).dtype == np.float64
    with pytest.raises(CalculationInputError, match=r"^x has 2 values beside 3 readings; give one value a reading\.$"):
        series([1, 2], "x", length=3)
    with pytest.raises(CalculationInputError, match=r"^x has 2 dimensions; give one value a reading\.$"):
        series([[1.0]], "x")
    assert floats([[1, 2]]).shape == (1, 2)


def test_a_difference_is_unknown_where_one_side_is():
    left = difference(np.array([3.0, np.nan, 1.0, np.inf]), np.array([1.0, 1.0, np.inf, np.inf]))
    assert left == pytest.approx([2.0, np.nan, np.nan, np.nan], nan_ok=True)


@given(length=integers(1, 9), place=integers(0, 8))
def test_a_figure_of_one_reading_weighs_that_reading_alone(length, place):
    weights = single(place % length, length, -0.5)
    assert (weights.size, weights[place % length], weights.sum()) == (length, -0.5, -0.5)
    assert single(0, 2).tolist() == [1.0, 0.0]
