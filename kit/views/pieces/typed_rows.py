"""Rows of the records as they were typed: which belong to a stage, and their cells in print."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import isnan
from typing import Final

import numpy as np

from kit.assessment.results import StageResult
from kit.assessment.subjects import table_of
from kit.basis.records import TagRecords
from kit.basis.rows import Bound, Rows
from kit.basis.tables.columns import Table
from kit.views.pieces import text_tables
from kit.views.pieces.numbers import NONE, number, plain, unit_of, with_unit
from kit.views.pieces.slugs import row_anchor
from kit.views.pieces.text_tables import Cell

_BOUND_WORDS: Final[Mapping[Bound, str]] = {"above": ">", "below": "<", "over": "over range", "never": "never"}

AS_RECORDED: Final = "As recorded"


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


def recorded_table(
    rows: Rows, columns: Sequence[str], lines: Sequence[Sequence[str]], *, caption: str = AS_RECORDED, kind: str = ""
) -> text_tables.Table:
    """A table of rows, a line each; its last column says where the row stands in the records."""
    file, places = places_of(rows)
    anchors = [row_anchor(str(at), int(row)) for at, row in zip(rows["file"], rows["row"], strict=True)]
    told: list[list[str | Cell]] = [
        [Cell(line[0] or NONE, anchor=anchor), *line[1:], place]
        for line, place, anchor in zip(lines, places, anchors, strict=True)
    ]
    return text_tables.table(f"{caption}{file}", [*columns, "Row:" if file else "Record"], told, kind=kind)


def places_of(rows: Rows) -> tuple[str, list[str]]:
    """Where rows stand in the records: the file that holds them all, for a caption, and each row's number in it.

    Where several files hold them: "", and each row's file and number.
    """
    files = set(map(str, rows["file"]))
    if len(files) == 1:
        return f", from {files.pop()}", [str(row) for row in rows["row"]]
    return "", [f"{file} row {row}" for file, row in zip(rows["file"], rows["row"], strict=True)]


def is_typed(rows: Rows, column: str) -> bool:
    """Whether some row has a number in a column."""
    return not all(isnan(each) for each in rows[column].astype(float).tolist())


def _unit(table: Table, column: str) -> str:
    unit = table.unit(column)
    return "%" if unit.startswith("%") else unit_of(unit)
