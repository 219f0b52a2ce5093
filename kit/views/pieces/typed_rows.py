"""Rows of the records as they were typed: which belong to a stage, and their cells in print."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from math import isnan
from typing import Final

import numpy as np

from kit.assessment.flagged import place_of
from kit.assessment.results import StageResult
from kit.assessment.subjects import table_of
from kit.basis.records import TagRecords
from kit.basis.rows import Bound, Rows
from kit.basis.tables.columns import Table
from kit.views.pieces import text_tables
from kit.views.pieces.check_texts import FLAGGED
from kit.views.pieces.numbers import NONE, number, plain, unit_of, with_unit
from kit.views.pieces.slugs import row_anchor
from kit.views.pieces.text_tables import Cell

_BOUND_WORDS: Final[Mapping[Bound, str]] = {"above": ">", "below": "<", "over": "over range", "never": "never"}

_FLAGGED_NOTE: Final = f"{FLAGGED}: see Problems in the records. Used as it was typed."

AS_RECORDED: Final = "As recorded"


def stage_rows(records: TagRecords, name: str, stage: StageResult) -> Rows:
    """One table's rows of one stage, of the visits that its checks are made of; one without stages is of as left."""
    visits = stage.visits_of(each.check for each in stage.checks if table_of(each.check) == name)
    rows = records.tables[name]
    rows = rows.where(np.isin(rows["visit"].astype(str), visits))
    if "stage" in rows.columns:
        return rows.only("stage", stage.stage)
    return rows if stage.stage == "as_left" else rows.where(slice(0, 0))


def flagged_rows(records: TagRecords, name: str, stage: StageResult) -> frozenset[tuple[str, int]]:
    """File and number of one table's rows of which a used value is in question: by the records, or in judging them."""
    judged = {place for each in stage.checks if table_of(each.check) == name for place in each.flagged}
    rows = records.tables[name]
    named = zip(rows["file"].tolist(), map(int, rows["row"]), strict=True)
    doubted = {
        (each.file, each.row)
        for each in records.problems
        if each.status == "flag" and each.scope is not None and each.table == name and each.row is not None
    }
    return frozenset(each for each in named if each in doubted or place_of(*each) in judged)


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
    rows: Rows,
    columns: Sequence[str],
    lines: Sequence[Sequence[str]],
    *,
    flagged: Collection[tuple[str, int]],
    caption: str = AS_RECORDED,
    kind: str = "",
) -> text_tables.Table:
    """A table of rows, a line each; its last column says where the row stands in the records, and if it is flagged."""
    file, places = places_of(rows, flagged)
    anchors = [row_anchor(str(at), int(row)) for at, row in zip(rows["file"], rows["row"], strict=True)]
    told: list[list[str | Cell]] = [
        [Cell(line[0] or NONE, anchor=anchor), *line[1:], place]
        for line, place, anchor in zip(lines, places, anchors, strict=True)
    ]
    note = _FLAGGED_NOTE if any(FLAGGED in each for each in places) else ""
    return text_tables.table(f"{caption}{file}", [*columns, "Row:" if file else "Record"], told, note, kind=kind)


def places_of(rows: Rows, flagged: Collection[tuple[str, int]]) -> tuple[str, list[str]]:
    """Where rows stand in the records: the file that holds them all, for a caption, and each row's number in it.

    Where several files hold them: "", and each row's file and number. Behind each that is ``flagged`` it says so.
    """
    files = set(map(str, rows["file"]))
    named = named_places(rows, flagged)
    if len(files) == 1:
        (file,) = files
        return f", from {file}", [each.removeprefix(f"{file} row ") for each in named]
    return "", named


def named_places(rows: Rows, flagged: Collection[tuple[str, int]]) -> list[str]:
    """File and number of each row, and whether it is flagged."""
    places = zip(map(str, rows["file"]), map(int, rows["row"]), strict=True)
    return [f"{file} row {row}{f' {FLAGGED}' if (file, row) in flagged else ''}" for file, row in places]


def is_typed(rows: Rows, column: str) -> bool:
    """Whether some row has a number in a column."""
    return not all(isnan(each) for each in rows[column].astype(float).tolist())


def _unit(table: Table, column: str) -> str:
    unit = table.unit(column)
    return "%" if unit.startswith("%") else unit_of(unit)
