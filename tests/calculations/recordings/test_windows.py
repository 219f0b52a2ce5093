"""Means on either side of every place of a series."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.extra.numpy import arrays
from hypothesis.strategies import floats, integers

from kit.calculations.recordings.windows import mean_change


@given(arrays(float, integers(2, 40), elements=floats(-100, 100)), integers(1, 50))
def test_each_change_is_that_of_the_two_means(values: np.ndarray, width: int) -> None:
    """Against numpy's mean of the samples themselves."""
    change, before, after = mean_change(values, width)
    for place in range(1, values.size):
        low, high = max(place - width, 0), min(place + width, values.size)
        assert change[place - 1] == pytest.approx(values[place:high].mean() - values[low:place].mean(), abs=1e-9)
        assert (before[place - 1], after[place - 1]) == (place - low, high - place)
