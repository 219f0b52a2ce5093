"""Putting the files of one table together: duplicates aside, then in order of tag, visit and stage."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.rows import BOUNDS, Rows, empty_rows
from kit.basis.tables.columns import STAGES, Table
from kit.basis.visits import visit_key
from kit.records.drafts.draft import Draft
from kit.records.drafts.repeats import Used, without_repeats


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
    keep = without_repeats(Used(table, drafts, columns, owner, place))
    files = np.array([draft.file for draft in drafts], dtype=object)[owner]
    rows = np.concatenate([draft.rows for draft in drafts])[used]
    kept = {name: values[keep] for name, values in {**columns, "file": files, "row": rows}.items()}
    order = _order(kept)
    return Rows({name: values[order] for name, values in kept.items()})


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
