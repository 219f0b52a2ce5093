"""The pandera schema of a table, and what to say of values beyond it. Only reading a unit's folder needs it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pandera.pandas as pa
from numpy.typing import NDArray

from kit.basis.tables.columns import Column, Table


def schema_of(table: Table, names: Iterable[str] | None = None) -> pa.DataFrameSchema:
    """The schema that a table's columns, once typed, are held against; of these columns alone, where some are named."""
    return _schema(table, tuple(table.declared if names is None else names))


@cache
def _schema(table: Table, names: tuple[str, ...]) -> pa.DataFrameSchema:
    columns = {name: _column(table.declared[name]) for name in names}
    return pa.DataFrameSchema(columns, name=table.name, description=table.description)


def _column(declared: Column) -> pa.Column:
    about = declared.description
    if declared.kind == "number":
        return pa.Column(float, _bounds(declared), nullable=not declared.bold, description=about)
    if declared.kind == "word":
        allowed = declared.words if declared.filled else (*declared.words, "")
        return pa.Column(object, pa.Check.isin(allowed), description=about)
    return pa.Column(object, [pa.Check.ne("")] if declared.bold else [], description=about)


def _bounds(declared: Column) -> list[pa.Check]:
    checks = []
    if declared.low is not None:
        checks.append(pa.Check.ge(declared.low))
    if declared.high is not None:
        checks.append(pa.Check.le(declared.high))
    return checks


def unsound(table: Table, values: Mapping[str, NDArray[Any]]) -> tuple[str, ...]:
    """The typed columns that do not hold to the schema: asked first, for the schema is dear to ask of sound ones."""
    return tuple(name for name, declared in table.declared.items() if not _is_sound(declared, values[name]))


def _is_sound(declared: Column, values: NDArray[Any]) -> bool:
    if declared.kind == "number":
        blank = np.isnan(values)
        beyond = np.zeros(len(values), dtype=bool)
        if declared.low is not None:
            beyond |= values < declared.low
        if declared.high is not None:
            beyond |= values > declared.high
        return not (beyond.any() or (declared.bold and blank.any()))
    written = set(values.tolist())
    if declared.kind == "word":
        return written <= {*declared.words, *(() if declared.filled else ("",))}
    return not (declared.bold and "" in written)


def framed(values: Mapping[str, NDArray[Any]]) -> pd.DataFrame:
    """Typed columns as the frame that a schema is asked about, each of its own type."""
    return pd.DataFrame({name: pd.Series(cells, dtype=cells.dtype) for name, cells in values.items()})


def impossible_text(table: Table, name: str) -> str:
    """What to say about a value outside the bounds of its column."""
    low, high = table.bounds(name)
    unit = "" if table.unit(name) in ("travel_unit", "measures", "1") else f" {table.unit(name)}"
    if high is None:
        return f"Impossible: {name} is at least {low:g}{unit}. Correct it."
    if low is None:
        return f"Impossible: {name} is at most {high:g}{unit}. Correct it."
    return f"Impossible: {name} lies between {low:g} and {high:g}{unit}. Correct it."
