"""One more cycle: means and scatter stay, only the number of readings grows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from kit.calculations.one_more import one_more_of_each
from kit.calculations.scatter import pooled_deviation


def grown(error: np.ndarray, group: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    moved, further, like = one_more_of_each(error, group)
    return np.concatenate([moved, further]), np.concatenate([group, group[like]])


@given(error=arrays(float, 9, elements=st.floats(-5, 5)), group=arrays(int, 9, elements=st.integers(0, 5)))
def test_each_mean_and_the_pooled_scatter_stay_what_they_were(error: np.ndarray, group: np.ndarray) -> None:
    errors, groups = grown(error, group)
    for each in np.unique(group):
        assert errors[groups == each].mean() == pytest.approx(error[group == each].mean(), abs=1e-9)
        assert np.count_nonzero(groups == each) == np.count_nonzero(group == each) + 1
    before, after = pooled_deviation(error, group), pooled_deviation(errors, groups)
    assert after is not None
    if before is not None:
        assert after[0] == pytest.approx(before[0], abs=1e-7)
        assert after[1] == before[1] + np.unique(group).size


def test_a_reading_that_was_never_repeated_gets_a_pair_that_scatters_as_the_others() -> None:
    """Group 0 scatters by sqrt(2) (readings 1 and 3); group 1 is one reading at 7, so 7 ± sqrt(2)/sqrt(2)."""
    errors, groups = grown(np.array([1.0, 3.0, 7.0]), np.array([0, 0, 1]))
    assert sorted(errors[groups == 1]) == pytest.approx([6.0, 8.0])


def test_without_any_repeat_the_further_reading_is_the_same_again() -> None:
    errors, _ = grown(np.array([1.0, 2.0]), np.array([0, 1]))
    assert errors.tolist() == [1.0, 2.0, 1.0, 2.0]
