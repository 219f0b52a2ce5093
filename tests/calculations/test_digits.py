"""What the last digit of typed numbers stands for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import integers, lists

from kit.calculations.digits import last_digit


@pytest.mark.parametrize(
    ("typed", "step"),
    [
        ([50.0, 100.0], 1.0),
        ([49.8, 50.0], 0.1),
        ([4.123, 20.0], 0.001),
        ([0.1 + 0.2], 0.1),
        ([1 / 3], 1e-6),
        ([-12.25], 0.01),
        ([1e8, 0.5], 0.1),
        ([np.nan, 5.0, np.inf], 1.0),
        ([0.0], 1.0),
        ([], 0.0),
        ([np.nan], 0.0),
    ],
)
def test_the_finest_number_stands_for_all(typed, step):
    assert last_digit(typed) == pytest.approx(step)


@given(lists(integers(-99999, 99999), min_size=1, max_size=9), integers(0, 5))
def test_numbers_are_multiples_of_what_their_last_digit_stands_for(whole, decimals):
    typed = np.array(whole) / 10**decimals
    step = last_digit(typed)
    assert 10.0**-decimals <= step * (1 + 1e-9)
    assert typed / step == pytest.approx(np.rint(typed / step), abs=1e-6)
