"""Readings freed from an instrument's error."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists
from scipy.interpolate import interp1d

from kit.basis.arrays import CalculationInputError
from kit.calculations.instrument_error import InstrumentError


def test_a_constant_error_is_taken_from_every_reading_and_from_a_bound() -> None:
    """Indicated 4.02 with an error of +0.02 was 4.00 in truth; what is infinite stays so."""
    found = InstrumentError("mA", (), (0.02,)).corrected([4.02, 20.0, np.nan, np.inf])
    assert found == pytest.approx([4.00, 19.98, np.nan, np.inf], nan_ok=True)


def test_a_table_is_read_on_a_line_between_its_points_and_says_nothing_beyond_them() -> None:
    """By hand: at 30 of (0, 0.0) and (90, 0.6) the error is 0.6 * 30 / 90 = 0.2."""
    error = InstrumentError("deg", (0.0, 90.0), (0.0, 0.6))
    assert error.corrected([30.0, 0.0, 90.0]) == pytest.approx([29.8, 0.0, 89.4])
    assert np.isnan(error.corrected([-0.001, 90.001, np.inf])).all()
    assert error.outside([-0.001, 90.001, np.nan, 45.0]).tolist() == [True, True, False, False]


def test_nothing_in_is_nothing_out() -> None:
    assert InstrumentError("s", (), (0.1,)).corrected([]).size == 0
    assert InstrumentError("s", (5.0,), (0.1,)).corrected([5.0, 6.0]) == pytest.approx([4.9, np.nan], nan_ok=True)


@pytest.mark.parametrize(
    ("indicated", "error", "why"),
    [
        ((), (np.nan,), "number for every"),
        ((0.0, 1.0), (0.1,), "number for every"),
        ((0.0, np.inf), (0.1, 0.1), "number for every"),
        ((0.0, 0.0), (0.1, 0.1), "must rise"),
        ((0.0, 1.0), (0.0, 1.0), "one true value"),
    ],
)
def test_what_is_no_error_is_refused(indicated: tuple[float, ...], error: tuple[float, ...], why: str) -> None:
    with pytest.raises(CalculationInputError, match=why):
        InstrumentError("mA", indicated, error)


@pytest.mark.second_opinion
@given(lists(floats(0.0, 24.0), min_size=1, max_size=9))
def test_the_line_between_points_is_that_of_scipy(readings: list[float]) -> None:
    points, errors = (0.0, 4.0, 12.0, 24.0), (0.0, 0.02, -0.05, 0.1)
    ours = InstrumentError("mA", points, errors).at(readings)
    assert ours == pytest.approx(interp1d(points, errors)(readings), abs=1e-12)


@given(floats(-50.0, 150.0), floats(-0.5, 0.5), floats(-0.9, 0.9))
def test_what_an_instrument_shows_of_a_truth_is_corrected_to_it(true: float, offset: float, gain: float) -> None:
    """It shows x with x - error(x) = true, and the error is offset + gain x over its whole range."""
    shown = (true + offset) / (1.0 - gain)
    span = (-2000.0, 2000.0)
    error = InstrumentError("deg", span, (offset + gain * span[0], offset + gain * span[1]))
    assert error.corrected([shown])[0] == pytest.approx(true, abs=1e-9)


@pytest.mark.parametrize(("errors", "greatest"), [((0.1, -0.6), -0.6), ((-0.1, 0.6), 0.6), ((-0.2, -0.1), -0.2)])
def test_the_greatest_error_is_the_one_farthest_from_zero_with_its_sign(errors, greatest) -> None:
    assert InstrumentError("deg", (0.0, 90.0), errors).greatest == greatest
