"""Rows of the records as they were typed: which belong to a stage, and their cells in print."""

from __future__ import annotations

from math import isnan

import numpy as np

from kit.assessment.results import StageResult
from kit.assessment.subjects import table_of
from kit.basis.records import TagRecords
from kit.basis.rows import Rows
from kit.basis.tables.columns import Table
from kit.views.pieces.numbers import number, plain, unit_of, with_unit


def stage_rows(records: TagRecords, name: str, stage: StageResult) -> Rows:
    """One table's rows of one stage, of the visits that its checks are made of; one without stages is of as left."""
    visits = stage.visits_of(each.check for each in stage.checks if table_of(each.check) == name)
    rows = records.tables[name]
    rows = rows.where(np.isin(rows["visit"].astype(str), visits))
    if "stage" in rows.columns:
        return rows.only("stage", stage.stage)
    return rows if stage.stage == "as_left" else rows.where(slice(0, 0))


def typed(rows: Rows, table: Table, column: str, index: int, decimals: int | None = None) -> str:
    """One number as it was typed, or to so many decimals, with the column's unit; a blank cell is a dash."""
    value = float(rows[column][index])
    return with_unit(plain(value) if decimals is None else number(value, decimals), _unit(table, column))


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
