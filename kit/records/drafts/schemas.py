"""The pandera schema of a table. Kept apart, because only reading a unit's folder needs it."""

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
