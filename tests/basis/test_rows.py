"""A few rows of one table."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.rows import Rows, empty_rows
from kit.basis.tables import TABLES


def three() -> Rows:
    return Rows({"stage": np.array(["a", "b", "a"], dtype=object), "row": np.array([2, 3, 4])})


def test_rows_are_kept_by_mask_index_or_slice_in_their_order():
    assert three().where(np.array([True, False, True]))["row"].tolist() == [2, 4]
    assert three().where(np.array([2, 0]))["row"].tolist() == [4, 2]
    assert three().where(slice(1, 3))["row"].tolist() == [3, 4]
    assert three().only("stage", "a")["row"].tolist() == [2, 4]
    assert (len(three()), len(three().only("stage", "c"))) == (3, 0)


@pytest.mark.parametrize("name", TABLES)
def test_an_empty_table_has_every_column(name):
    empty = empty_rows(TABLES[name])
    assert set(empty.columns) == {*TABLES[name].columns, "file", "row"}
    assert {column.size for column in empty.columns.values()} == {0}
    for column in TABLES[name].columns:
        assert empty[column].dtype == (float if TABLES[name].kind(column) == "number" else object)


def bounded() -> Rows:
    return Rows(
        {
            "time_s": np.array([60.0, 0.1, np.inf, np.inf, 20.0, np.nan]),
            "bounds": np.array(["time_s:above", "time_s:below", "time_s:over", "time_s:never", "", ""], dtype=object),
            "row": np.arange(6),
        }
    )


def test_a_cell_lies_between_its_bounds_and_a_reading_at_itself():
    low, high = bounded().interval("time_s", over=99.0)
    np.testing.assert_equal(low, [60.0, -np.inf, 99.0, np.nan, 20.0, np.nan])
    np.testing.assert_equal(high, [np.inf, 0.1, np.inf, np.nan, 20.0, np.nan])


def test_over_a_range_that_is_not_known_nothing_is_known():
    low, high = bounded().interval("time_s")
    assert (low[2], high[2]) == (-np.inf, np.inf)


def test_rows_keep_their_bounds_and_rows_without_any_have_none():
    assert bounded().where(slice(3, None)).bounded("time_s", "never").tolist() == [True, False, False]
    assert bounded().bounded("from_pct", "above").tolist() == [False] * 6
    assert three().bounded("row", "above").tolist() == [False] * 3
