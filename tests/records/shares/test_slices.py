"""Slices: a tag's records as bytes and back."""

from __future__ import annotations

import numpy as np
import pytest

from kit.records import UnitError, from_slice, read_unit, tag_records, to_slice
from tests.records.conftest import FILES


def test_a_slice_gives_back_what_it_was_made_of(make_unit) -> None:
    share = tag_records(read_unit(make_unit(FILES)), "FV-101")
    back = from_slice(to_slice(share))
    assert to_slice(back) == to_slice(share)
    assert (back.settings, back.tag, back.visits, back.problems) == (
        share.settings,
        share.tag,
        share.visits,
        share.problems,
    )
    for name, rows in share.tables.items():
        assert list(back.tables[name].columns) == list(rows.columns)
        for column, values in rows.columns.items():
            np.testing.assert_array_equal(back.tables[name][column], values)
            assert back.tables[name][column].dtype == values.dtype
    assert back.tables["potentiometer"]["wiper_ohm"].tolist() == [np.inf]


def test_bytes_that_are_no_slice_are_an_error() -> None:
    with pytest.raises(UnitError, match="holds no tag's records"):
        from_slice(b"{}")
