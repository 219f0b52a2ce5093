"""A row with other cells than it was typed with."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np

from kit.records.drafts.gather import Gathered
from kit.records.files.raw import Cells, RawTable, as_texts, header_key
from kit.records.files.workbooks import cell_text


@dataclass(frozen=True, slots=True)
class Amendment:
    """What stands in some cells of one row, by a person's answer."""

    source: int  # which of the sources
    place: int  # which of its rows
    cells: Mapping[str, str]  # by column


def amended(gathered: Gathered, amendments: Iterable[Amendment]) -> dict[int, RawTable]:
    """The sources that are amended, by number, as if their rows had been typed so."""
    changed: dict[int, RawTable] = {}
    for each in amendments:
        raw = changed.get(each.source, gathered.sources[each.source].raw)
        for column, cell in each.cells.items():
            raw = _with_cell(raw, column, each.place, cell)
        changed[each.source] = raw
    return changed


def _with_cell(raw: RawTable, column: str, place: int, cell: str) -> RawTable:
    headings = [header_key(each) for each in raw.header]
    key = header_key(column)
    if key not in headings:
        blank = as_texts([""] * len(raw))
        raw = replace(raw, header=(*raw.header, column), columns=(*raw.columns, blank))
        headings.append(key)
    number = headings.index(key)
    cells = _as_written(raw.columns[number])
    cells[place] = cell
    return replace(raw, columns=tuple(cells if n == number else each for n, each in enumerate(raw.columns)))


def _as_written(cells: Cells) -> Cells:
    """A column's cells as texts of their own, to be changed."""
    if cells.dtype != float:
        return cells.copy()
    return as_texts(["" if np.isnan(cell) else cell_text(float(cell)) for cell in cells])
