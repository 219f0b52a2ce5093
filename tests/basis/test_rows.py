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
