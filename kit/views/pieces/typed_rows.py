"""Rows of the records as they were typed: which belong to a stage, and their cells in print."""

from __future__ import annotations

from collections.abc import Mapping
from math import isnan
from typing import Final

import numpy as np

from kit.assessment.results import StageResult
from kit.assessment.subjects import table_of
from kit.basis.records import TagRecords
from kit.basis.rows import Bound, Rows
from kit.basis.tables.columns import Table
from kit.views.pieces.numbers import number, plain, unit_of, with_unit

_BOUND_WORDS: Final[Mapping[Bound, str]] = {"above": ">", "below": "<", "over": "over range", "never": "never"}


def stage_rows(records: TagRecords, name: str, stage: StageResult) -> Rows:
    """One table's rows of one stage, of the visits that its checks are made of; one without stages is of as left."""
    visits = stage.visits_of(each.check for each in stage.checks if table_of(each.check) == name)
    rows = records.tables[name]
    rows = rows.where(np.isin(rows["visit"].astype(str), visits))
    if "stage" in rows.columns:
        return rows.only("stage", stage.stage)
    return rows if stage.stage == "as_left" else rows.where(slice(0, 0))


def typed(rows: Rows, table: Table, column: str, index: int, decimals: int | None = None) -> str:
    """One number as it was typed, or to so many decimals, with the column's unit; a blank cell is a dash.

    A bound has its sign before it, and what has no number its word.
    """
    bound = next((each for each in _BOUND_WORDS if rows.bounded(column, each)[index]), None)
    if bound in ("over", "never"):
        return _BOUND_WORDS[bound]
    value = float(rows[column][index])
    text = with_unit(plain(value) if decimals is None else number(value, decimals), _unit(table, column))
    return text if bound is None else f"{_BOUND_WORDS[bound]} {text}"


def first_typed(rows: Rows, table: Table, columns: tuple[str, ...], index: int) -> str:
    """The first of several columns that has a number, in the unit that it was typed in."""
    held = (column for column in columns if not isnan(float(rows[column][index])))
    return typed(rows, table, next(held, columns[0]), index)


def is_typed(rows: Rows, column: str) -> bool:
    """Whether some row has a number in a column."""
    return not all(isnan(each) for each in rows[column].astype(float).tolist())


def _unit(table: Table, column: str) -> str:
    unit = table.unit(column)
    return "%" if unit.startswith("%") else unit_of(unit)
