"""The key of a record: the same as long as its cells are, wherever its row moves in the file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.answers import record_key
from kit.basis.records import Problem
from kit.records.drafts.draft import Draft
from kit.records.files.raw import RawTable


def sheet_key(table: str, file: str, raw: RawTable) -> str:
    """The key of a sheet that is not read: the same while its own cells are, whatever becomes of the other sheets."""
    rows = _hash_rows(raw.columns).tolist() if raw.columns else []
    return record_key(table, file, raw.sheet, *raw.header, *map(str, rows))


class RowKeys:
    """The keys of rows, worked out for the rows that are asked for alone."""

    def __init__(self, drafts: Iterable[Draft]) -> None:
        self._groups: dict[tuple[str, str], list[Draft]] = {}
        self._numbers: dict[tuple[str, str], list[NDArray[np.int64]]] = {}
        for draft in drafts:
            self._groups.setdefault((draft.file, draft.table.name), []).append(draft)

    def with_keys(self, draft: Draft, problems: Iterable[Problem]) -> list[Problem]:
        """A draft's problems, with the keys of the records that they are about."""
        return [replace(each, record=self._key(each, draft), sheet=draft.sheet) for each in problems]

    def found_later(self, problems: Iterable[Problem]) -> list[Problem]:
        """Problems found once everything was read, likewise: each names file, table and row."""
        return [replace(each, record=self._key(each, self._draft_of(each))) for each in problems]

    def _draft_of(self, problem: Problem) -> Draft | None:
        """The draft that a row stands in; of sheets that count rows alike the one that uses it for that tag."""
        drafts = self._groups.get((problem.file, problem.table), [])
        holding = [draft for draft in drafts if problem.row is not None and _holds(draft, problem.row)]
        own = [draft for draft in holding if draft.values["tag"][draft.place_of(problem.row or 0)] == problem.tag]
        return next(iter(own or holding), None)

    def _key(self, problem: Problem, draft: Draft | None) -> str:
        if draft is None or problem.row is None:
            sheet = "" if draft is None else draft.sheet
            return record_key(problem.table, problem.file, sheet, problem.column)
        return self.of_row(draft, draft.place_of(problem.row))

    def of_row(self, draft: Draft, place: int) -> str:
        """The key of the row at ``place``: of table, file, its cells as first read, its number among equal ones."""
        group = draft.file, draft.table.name
        drafts = self._groups[group]
        if group not in self._numbers:
            self._numbers[group] = _numbers_among_equals([each.raw for each in drafts])
        own = next(number for number, each in enumerate(drafts) if each.sheet == draft.sheet)
        number = self._numbers[group][own][place]
        return record_key(draft.table.name, draft.file, *drafts[own].texts_of(place), str(number))


def _holds(draft: Draft, row: int) -> bool:
    place = draft.place_of(row)
    return place < len(draft) and int(draft.rows[place]) == row


def _numbers_among_equals(tables: Sequence[tuple[Any, ...]]) -> list[NDArray[np.int64]]:
    """For each row of each table, how many equal ones stand before it."""
    hashes = [_hash_rows(columns) for columns in tables]
    numbers = pd.Series(np.concatenate(hashes)).groupby(np.concatenate(hashes)).cumcount().to_numpy(dtype=np.int64)
    return np.split(numbers, np.cumsum([len(each) for each in hashes])[:-1])


def _hash_rows(columns: tuple[Any, ...]) -> NDArray[np.uint64]:
    frame = pd.DataFrame(dict(enumerate(columns)))
    return np.asarray(pd.util.hash_pandas_object(frame, index=False), dtype=np.uint64)
