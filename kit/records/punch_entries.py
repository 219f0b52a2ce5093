"""The table punch as it was filled in: a row in which nothing was entered is passed over."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.punch import PunchEntry
from kit.basis.records import Problem, RowCount
from kit.basis.tables import TABLES
from kit.records.answers.claims import bare
from kit.records.answers.keys import RowKeys
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.gather import Source
from kit.records.files.raw import Cells, RawTable, header_key

_ENTERED: Final = ("owner", "closed_on", "closed_by", "remark")
_TOLD_ALREADY: Final = frozenset({"evidence", "suggested_action", "category", "state"})  # columns of punch_list.csv


@dataclass(frozen=True, slots=True)
class PunchEntries:
    """Every entry of a unit, what is wrong with the rows that are none, and how many there are."""

    entries: tuple[PunchEntry, ...] = ()
    problems: tuple[Problem, ...] = ()
    counts: tuple[RowCount, ...] = ()


def read_punch(sources: Sequence[Source], own_columns: Sequence[str]) -> PunchEntries:
    """The entries of all files; one with a cell that cannot be read is an open record, and enters nothing."""
    drafts = [draft_table(each.file, TABLES["punch"], _entered(each.raw), own_columns) for each in sources]
    for draft, source in zip(drafts, sources, strict=True):
        draft.sheet = source.sheet
    keys = RowKeys(drafts)
    problems = [each for draft in drafts for each in keys.with_keys(draft, draft.problems())]
    counts = [
        replace(draft.count(), read=len(source.raw), used=len(source.raw) - int(draft.bad.sum()))
        for draft, source in zip(drafts, sources, strict=True)
    ]
    return PunchEntries(tuple(each for draft in drafts for each in _entries(draft)), tuple(problems), tuple(counts))


def _entered(raw: RawTable) -> RawTable:
    """The rows in which something was entered, without the columns that only repeat the item."""
    headings = [header_key(each) for each in raw.header]
    kept = [number for number, heading in enumerate(headings) if heading not in _TOLD_ALREADY]
    own = [raw.columns[number] for number, heading in enumerate(headings) if heading in _ENTERED]
    kept_rows = [place for place in range(len(raw)) if place in raw.row_faults or _is_filled(own, place)]
    return raw.cut_down(kept_rows, kept)


def _is_filled(columns: Iterable[Cells], place: int) -> bool:
    return any(str(cells[place]).strip() not in ("", "nan") for cells in columns)


def _entries(draft: Draft) -> Iterable[PunchEntry]:
    for place in np.flatnonzero(~draft.bad):
        cells = {name: bare(str(draft.values[name][place])) for name in draft.table.columns}
        yield PunchEntry(**cells, file=draft.file, row=int(draft.rows[place]))
