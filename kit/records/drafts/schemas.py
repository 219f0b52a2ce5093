"""The pandera schema of a table, and what to say of values beyond it. Only reading a unit's folder needs it."""

from __future__ import annotations

from functools import cache

import pandera.pandas as pa

from kit.basis.tables.columns import Column, Table


@cache
def schema_of(table: Table) -> pa.DataFrameSchema:
    """The schema that a table's columns, once typed, are held against."""
    columns = {name: _column(one) for name, one in table.declared.items()}
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


def impossible_text(table: Table, name: str) -> str:
    """What to say about a value outside the bounds of its column."""
    low, high = table.bounds(name)
    unit = "" if table.unit(name) in ("travel_unit", "measures", "1") else f" {table.unit(name)}"
    if high is None:
        return f"Impossible: {name} is at least {low:g}{unit}. Correct it."
    if low is None:
        return f"Impossible: {name} is at most {high:g}{unit}. Correct it."
    return f"Impossible: {name} lies between {low:g} and {high:g}{unit}. Correct it."
