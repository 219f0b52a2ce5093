"""Loop checks, and the greatest of several errors."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists

from kit.basis.arrays import CalculationInputError
from kit.calculations.loop import greatest, loop_command_error, loop_feedback_error


def test_command_error_is_position_minus_ideal():
    found = loop_command_error([0.5, 48.5, 100.0, np.inf], [0.0, 50.0, 100.0, np.inf])
    assert (found.value, found.reading, found.weights.tolist()) == (-1.5, 1, [0, 1, 0, 0])
    assert (found.beside.get("greatest_positive"), found.beside.get("greatest_negative")) == (0.5, -1.5)


def test_feedback_error_is_display_minus_position():
    found = loop_feedback_error([0.5, 48.5, np.nan, np.inf], [0.0, 48.25, 99.0, np.inf])
    assert (found.value, found.reading) == (0.5, 0)
    assert (found.beside.get("greatest_positive"), found.beside.get("greatest_negative")) == (0.5, None)


@given(lists(floats(-100, 100), min_size=1, max_size=12))
def test_greatest_is_no_smaller_than_any(errors):
    found = greatest(errors)
    assert abs(found.value) == max(abs(error) for error in errors)
    assert found.value == errors[found.reading]
    assert found.weights.tolist() == [float(place == found.reading) for place in range(len(errors))]
    assert found.beside.get("greatest_positive") == (max(errors) if max(errors) > 0 else None)
    assert found.beside.get("greatest_negative") == (min(errors) if min(errors) < 0 else None)


def test_of_equal_magnitudes_the_first_counts():
    assert greatest([0.5, -0.5]).value == 0.5
    assert greatest([-0.5, 0.5]).value == -0.5


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
def test_an_error_that_is_no_number_is_skipped(bad):
    assert greatest([bad, 0.25, -0.5]).value == -0.5
    assert greatest([bad, 0.25, -0.5]).reading == 2
    zero = greatest([bad, 0.0])
    assert (zero.value, zero.reading, zero.weights.tolist()) == (0.0, 1, [0, 1])
    assert (greatest([bad]).value, greatest([bad]).why_not) == (None, "no readings")


def test_no_error_gives_no_figure():
    assert (greatest([]).value, greatest([]).why_not, greatest([]).weights) == (None, "no readings", None)
    assert loop_command_error([], []).value is None
    assert loop_feedback_error([np.nan], [1.0]).value is None


def test_errors_of_zero_have_no_sign():
    found = greatest([0.0, 0.0])
    assert (
        found.value,
        found.reading,
        found.beside.get("greatest_positive"),
        found.beside.get("greatest_negative"),
    ) == (0.0, 0, None, None)


def test_columns_of_unequal_length_are_refused():
    with pytest.raises(CalculationInputError, match=r"^ideal_pct has 1 values beside 2 readings"):
        loop_command_error([1.0, 2.0], [1.0])
    with pytest.raises(CalculationInputError, match=r"^position_pct has 1 values beside 2 readings"):
        loop_feedback_error([1.0, 2.0], [1.0])
    with pytest.raises(CalculationInputError, match=r"^error_pct has 2 dimensions"):
        greatest([[1.0]])
