"""A row with other cells than it was typed with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from kit.records.drafts.gather import Gathered
from kit.records.files.raw import Cells, RawTable, as_texts, header_key
from kit.records.files.workbooks import cell_text
from kit.records.remembered import Remembered


@dataclass(frozen=True, slots=True)
class Amendment:
    """What stands in some cells of one row, by a person's answer."""

    source: int  # which of the sources
    row: int  # as a person counts rows in its file
    cells: Mapping[str, str]  # by column


def why_not_amended(raw: RawTable, row: int, columns: Iterable[str]) -> str:
    """Why a row cannot be given these cells where it stands; "": it can."""
    if row not in raw.rows:
        return "The row stands above the headings. Move it below them."
    headings = {header_key(each) for each in raw.header}
    missing = next((each for each in columns if header_key(each) not in headings), "")
    return f"The file has no column {missing}. Add it, and enter it there." if missing else ""


def amended(
    gathered: Gathered, amendments: Iterable[Amendment], remembered: Remembered | None = None
) -> dict[int, RawTable]:
    """The sources that are amended, by number, as if their rows had been typed so."""
    remembered = remembered or Remembered()
    changed: dict[int, RawTable] = {}
    for each in amendments:
        raw = changed.get(each.source, gathered.sources[each.source].raw)
        for column, cell in each.cells.items():
            key = raw, each.row, column, cell
            raw = remembered.recall(key, partial(_with_cell, raw, column, each.row, cell))
        changed[each.source] = raw
    return changed


def _with_cell(raw: RawTable, column: str, row: int, cell: str) -> RawTable:
    place = int(np.searchsorted(raw.rows, row))
    number = [header_key(each) for each in raw.header].index(header_key(column))
    cells = _as_written(raw.columns[number])
    cells[place] = cell
    return replace(raw, columns=tuple(cells if n == number else each for n, each in enumerate(raw.columns)))


def _as_written(cells: Cells) -> Cells:
    """A column's cells as texts of their own, to be changed."""
    if cells.dtype != float:
        return cells.copy()
    return as_texts(["" if np.isnan(cell) else cell_text(float(cell)) for cell in cells])
