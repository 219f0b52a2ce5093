"""Quick answers about groups of readings, against the slow ones of pandas."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers, lists, sampled_from, tuples

from kit.records.suspicions.by_run import all_in, numbered, ranges

_ROWS = lists(tuples(integers(0, 4), floats(-5, 5) | sampled_from([np.nan])), max_size=12)


@pytest.mark.second_opinion
@given(rows=_ROWS)
def test_ranges_are_those_of_pandas(rows: list[tuple[int, float]]) -> None:
    groups = np.array([group for group, _ in rows], dtype=np.int64)
    values = np.array([value for _, value in rows], dtype=float)
    by_group = pd.Series(values).groupby(groups)
    wanted = (by_group.transform("max") - by_group.transform("min")).to_numpy()
    np.testing.assert_array_equal(ranges(values, groups), np.where(np.isnan(values), np.nan, wanted))


@given(rows=lists(tuples(integers(0, 4), sampled_from([True, True, False])), max_size=12))
def test_a_group_holds_where_each_of_its_rows_does(rows: list[tuple[int, bool]]) -> None:
    found = all_in(
        np.array([holds for _, holds in rows], dtype=bool), np.array([group for group, _ in rows], dtype=int)
    )
    assert found.tolist() == sorted({group for group, _ in rows} - {group for group, holds in rows if not holds})


@given(rows=lists(tuples(integers(0, 3), sampled_from([0.0, -2.5, 40.0])), min_size=1, max_size=12))
def test_rows_have_one_number_where_they_are_alike(rows: list[tuple[int, float]]) -> None:
    number = numbered(np.array([one for one, _ in rows]), np.array([other for _, other in rows]))
    for first, one in zip(number, rows, strict=True):
        for second, other in zip(number, rows, strict=True):
            assert (first == second) == (one == other)


def test_of_nothing_there_is_nothing() -> None:
    none = np.empty(0, dtype=np.int64)
    assert ranges(np.empty(0), none).size == all_in(np.empty(0, dtype=bool), none).size == numbered(none).size == 0
