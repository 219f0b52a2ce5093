"""Typed columns that hold to their schema: the quick answer is the schema's own."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandera.errors
import pytest
from hypothesis import given, settings
from hypothesis.strategies import DataObject, data, lists, sampled_from
from numpy.typing import NDArray

from kit.basis.rows import empty_rows
from kit.basis.tables import TABLES
from kit.records.drafts.schemas import framed, schema_of, unsound

_NUMBERS = (np.nan, 0.0, 1.0, -0.001, 50.0, 100.0, 100.001, -1e6, 1e9)


def _by_the_schema(table: str, values: dict[str, NDArray[Any]]) -> tuple[str, ...]:
    try:
        schema_of(TABLES[table]).validate(framed(values), lazy=True)
    except pandera.errors.SchemaErrors as errors:
        return tuple(dict.fromkeys(errors.failure_cases["column"].tolist()))
    return ()


@settings(max_examples=25)
@given(drawn=data())
@pytest.mark.parametrize("table", TABLES)
def test_rows_are_sound_where_the_schema_says_so(table: str, drawn: DataObject) -> None:
    """One column drawn freely, cells within and beyond what is allowed and blank ones, the others sound."""
    declared = TABLES[table].declared
    values: dict[str, NDArray[Any]] = {}
    for name, one in declared.items():
        sound = one.low if one.low is not None else one.high or 0.0
        cell = sound if one.kind == "number" else (*one.words, "a")[0]
        values[name] = np.array([cell, cell], dtype=float if one.kind == "number" else object)
    assert unsound(TABLES[table], values) == _by_the_schema(table, values) == ()
    name = drawn.draw(sampled_from(list(declared)))
    one = declared[name]
    cells = (*_NUMBERS, one.low or 0.0, one.high or 0.0) if one.kind == "number" else ("", "x", *one.words)
    values[name] = np.array(drawn.draw(lists(sampled_from(cells), min_size=2, max_size=2)), dtype=values[name].dtype)
    assert unsound(TABLES[table], values) == _by_the_schema(table, values)


@pytest.mark.parametrize("table", TABLES)
def test_no_rows_are_sound(table: str) -> None:
    empty = empty_rows(TABLES[table])
    assert unsound(TABLES[table], {name: empty[name] for name in TABLES[table].columns}) == ()
