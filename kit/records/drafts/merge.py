"""Putting the files of one table together: duplicates aside, then in order of tag, visit and stage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.rows import BOUNDS, Rows, empty_rows
from kit.basis.tables.columns import STAGES, Table
from kit.basis.visits import visit_key
from kit.records.drafts.draft import Draft

_HONEST_REPEAT: Final = "Identical to {where}, and neither cycle nor at tells them apart. Used as a repeat; check it."
_DUPLICATE: Final = "The same row as {where}, which is used. Remove one of the two."
_SECOND_VISIT: Final = "This row and {where} are of one tag and visit and differ. Keep the one that is right."


def merge_drafts(table: Table, drafts: Sequence[Draft]) -> Rows:
    """The used rows of one table, sorted; rows said twice are set aside in their drafts."""
    if not drafts:
        return empty_rows(table)
    owner = np.repeat(np.arange(len(drafts)), [len(draft) for draft in drafts])
    place = np.concatenate([np.arange(len(draft)) for draft in drafts])
    used = ~np.concatenate([draft.bad for draft in drafts])
    names = [*table.columns, BOUNDS] if any(draft.values[BOUNDS].any() for draft in drafts) else list(table.columns)
    columns = {name: np.concatenate([draft.values[name] for draft in drafts])[used] for name in names}
    owner, place = owner[used], place[used]
    keep = _without_repeats(table, drafts, columns, owner, place)
    files = np.array([draft.file for draft in drafts], dtype=object)[owner]
    rows = np.concatenate([draft.rows for draft in drafts])[used]
    kept = {name: values[keep] for name, values in {**columns, "file": files, "row": rows}.items()}
    order = _order(kept)
    return Rows({name: values[order] for name, values in kept.items()})


def _without_repeats(
    table: Table,
    drafts: Sequence[Draft],
    columns: dict[str, NDArray[Any]],
    owner: NDArray[np.int64],
    place: NDArray[np.int64],
) -> NDArray[np.bool_]:
    keep = np.ones(len(owner), dtype=bool)
    codes = pd.DataFrame({name: pd.factorize(columns[name])[0] for name in columns})
    for index, earlier in _repeats(codes, list(columns)):
        draft, first = drafts[owner[index]], drafts[owner[earlier]]
        where = _where(first, int(place[earlier]), draft)
        if table.name == "readings" and not columns["cycle"][index] and not columns["at"][index]:
            draft.flag([place[index]], "", _HONEST_REPEAT.format(where=where))
            continue
        draft.read_once([place[index]], "", _DUPLICATE.format(where=where))
        keep[index] = False
    if table.name == "visits":
        _tell_second_visits(codes, drafts, owner, place, keep)
    return keep


def _repeats(codes: pd.DataFrame, names: list[str]) -> Iterator[tuple[int, int]]:
    """Each row that equals an earlier one in ``names``, and the first such."""
    repeated = codes.duplicated(names).to_numpy()
    if not repeated.any():
        return
    groups = codes.groupby(names, sort=False).ngroup().to_numpy()
    _, first = np.unique(groups, return_index=True)
    for index in np.flatnonzero(repeated).tolist():
        yield index, int(first[groups[index]])


def _tell_second_visits(
    codes: pd.DataFrame,
    drafts: Sequence[Draft],
    owner: NDArray[np.int64],
    place: NDArray[np.int64],
    keep: NDArray[np.bool_],
) -> None:
    """Nobody can say which of two rows of one visit holds: the first is used, and both are open."""
    left = np.flatnonzero(keep)
    for index, earlier in _repeats(codes.iloc[left].reset_index(drop=True), ["tag", "visit"]):
        second, first = int(left[index]), int(left[earlier])
        one, other = drafts[owner[first]], drafts[owner[second]]
        other.set_aside([place[second]], "visit", _SECOND_VISIT.format(where=_where(one, int(place[first]), other)))
        one.leave_open([place[first]], "visit", _SECOND_VISIT.format(where=_where(other, int(place[second]), one)))
        keep[second] = False


def _where(earlier: Draft, place: int, draft: Draft) -> str:
    row = f"row {earlier.rows[place]}"
    return row if earlier is draft else f"{row} of {earlier.file}"


def _order(columns: dict[str, NDArray[Any]]) -> NDArray[np.intp]:
    tags = pd.factorize(columns["tag"], sort=True)[0]
    codes, visits = pd.factorize(columns["visit"])
    rank = np.empty(len(visits), dtype=int)
    rank[sorted(range(len(visits)), key=lambda code: visit_key(str(visits[code])))] = np.arange(len(visits))
    keys = [rank[codes] if len(visits) else codes, tags]
    if "date" in columns:  # visits stand in order of time, whatever they are called
        keys.insert(1, pd.factorize(columns["date"], sort=True)[0])
    if "stage" in columns:
        keys.insert(0, np.asarray(columns["stage"] == STAGES[1], dtype=int))
    return np.lexsort(keys)
