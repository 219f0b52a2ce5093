"""Rows and cycles told twice: which are honest repeats, which are copies, and which contradict each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.tables.columns import Table
from kit.records.drafts.draft import Draft

_HONEST_REPEAT: Final = "Identical to {where}, and no at tells them apart. Used as a repeat; check it."
_DUPLICATE: Final = "The same row as {where}, which is used. It is read once. Remove one of the two."
_SECOND_VISIT: Final = "This row and {where} are of one tag and visit and differ. Keep the one that is right."
_SAME_CYCLE: Final = "Cycle {cycle} equals cycle {earlier} in every value: it is read once. Was it copied?"
_TOLD_ONCE: Final = frozenset({"visits", "settings", "adjustments", "prechecks", "segments", "dispositions"})
_CYCLE_KEY: Final = ["tag", "visit", "stage", "cycle"]


@dataclass(frozen=True, slots=True)
class Used:
    """The rows of one table that are used so far, over all of its files."""

    table: Table
    drafts: Sequence[Draft]
    columns: Mapping[str, NDArray[Any]]
    owner: NDArray[np.int64]  # which draft a row stands in
    place: NDArray[np.int64]  # where in it

    def __len__(self) -> int:
        return len(self.owner)

    def draft(self, index: int) -> Draft:
        return self.drafts[int(self.owner[index])]

    def where(self, index: int, seen_from: int) -> str:
        """How a row is named in what is said of another."""
        own, other = self.draft(index), self.draft(seen_from)
        row = f"row {own.rows[self.place[index]]}"
        if own is other:
            return row
        return f"{row} of sheet {own.sheet}" if own.file == other.file else f"{row} of {own.file}"


def without_repeats(used: Used) -> NDArray[np.bool_]:
    """Which rows to keep; what is told twice is set aside in its draft, or flagged where it may be an honest repeat.

    Notes
    -----
    House definition: measurements that are equal in every cell are repeats where they stand in one file without
    ``at``, and one measurement else. Cycles that are equal in every value are one cycle.
    """
    keep = np.ones(len(used), dtype=bool)
    codes = pd.DataFrame({name: pd.factorize(values)[0] for name, values in used.columns.items()})
    for index, earlier in _repeats(codes, list(codes.columns)):
        draft, place = used.draft(index), [int(used.place[index])]
        where = used.where(earlier, index)
        if used.table.name not in _TOLD_ONCE and draft is used.draft(earlier) and not _at(used, index):
            draft.doubt(place, "", _HONEST_REPEAT.format(where=where))
            continue
        draft.read_once(place, "", _DUPLICATE.format(where=where))
        keep[index] = False
    if used.table.name == "visits":
        _tell_second_visits(used, codes, keep)
    if used.table.name == "readings":
        _read_cycles_once(used, codes, keep)
    return keep


def _at(used: Used, index: int) -> str:
    return str(used.columns["at"][index]) if "at" in used.columns else ""


def _repeats(codes: pd.DataFrame, names: list[str]) -> Iterator[tuple[int, int]]:
    """Each row that equals an earlier one in ``names``, and the first such."""
    repeated = codes.duplicated(names).to_numpy()
    if not repeated.any():
        return
    groups = codes.groupby(names, sort=False).ngroup().to_numpy()
    _, first = np.unique(groups, return_index=True)
    for index in np.flatnonzero(repeated).tolist():
        yield index, int(first[groups[index]])


def _tell_second_visits(used: Used, codes: pd.DataFrame, keep: NDArray[np.bool_]) -> None:
    """Nobody can say which of two rows of one visit holds: the first is used, and both are open."""
    left = np.flatnonzero(keep)
    for index, earlier in _repeats(codes.iloc[left].reset_index(drop=True), ["tag", "visit"]):
        second, first = int(left[index]), int(left[earlier])
        places = [int(used.place[second])], [int(used.place[first])]
        used.draft(second).set_aside(places[0], "visit", _SECOND_VISIT.format(where=used.where(first, second)))
        used.draft(first).leave_open(places[1], "visit", _SECOND_VISIT.format(where=used.where(second, first)))
        keep[second] = False


def _read_cycles_once(used: Used, codes: pd.DataFrame, keep: NDArray[np.bool_]) -> None:
    """Set the rows of a cycle aside that says word for word what an earlier one of its stage says."""
    values = [name for name in codes.columns if name not in (*_CYCLE_KEY, "at")]
    left = codes.iloc[np.flatnonzero(keep)]
    if left["cycle"].nunique() < 2:
        return
    rows = left[_CYCLE_KEY].assign(hash=pd.util.hash_pandas_object(left[values], index=False), start=left.index)
    grouped = rows.sort_values("hash").groupby(_CYCLE_KEY, sort=False)
    said = grouped.agg({"hash": tuple, "start": "min"}).reset_index().sort_values("start")
    first = said.groupby(["tag", "visit", "stage", "hash"], sort=False)["start"].transform("first")
    copied = [pair for pair in zip(said["start"].tolist(), first.tolist(), strict=True) if pair[0] != pair[1]]
    members = left.groupby(_CYCLE_KEY, sort=False).indices if copied else {}
    for start, earlier in copied:
        cycle, before = (str(used.columns["cycle"][each]) or "without a name" for each in (start, earlier))
        text = _SAME_CYCLE.format(cycle=cycle, earlier=before)
        for index in left.index[members[tuple(left.loc[start, _CYCLE_KEY])]].tolist():
            used.draft(index).read_once([int(used.place[index])], "cycle", text)
            keep[index] = False
