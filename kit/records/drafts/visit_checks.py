"""What the visits must agree with: the instrument register, and the tables that name a visit."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.registers import Instrument
from kit.basis.rows import Rows
from kit.records.cells.nearest import NameFinder
from kit.records.drafts.draft import Draft

_NO_VISIT: Final = "visits has no row for this tag and visit: its date and its instruments are unknown. Add one."


def match_instruments(visits: Draft, instruments: Iterable[Instrument]) -> None:
    """Give the visits the register's spelling of their instruments; flag those that it does not hold."""
    known = dict.fromkeys(one.instrument for one in instruments)
    folded = {name.casefold(): name for name in known}
    finder = NameFinder(known)
    for role in (column for column in visits.table.columns if column.endswith("_instrument")):
        written = visits.values[role]
        codes, unique = pd.factorize(written)
        spelt = [folded.get(name.casefold(), name) for name in unique]
        told = {code: _unknown(name, finder) for code, name in enumerate(spelt) if name and name not in known}
        places = np.flatnonzero(np.isin(codes, list(told))).tolist()
        visits.flag(places, role, {place: told[codes[place]] for place in places})
        if spelt:
            visits.values[role] = np.array(spelt, dtype=object)[codes]


Visited = frozenset[tuple[str, str]]


def visited(visits: Rows) -> Visited:
    """Tag and visit of every used row of visits."""
    return frozenset(zip(visits["tag"].tolist(), visits["visit"].tolist(), strict=True))


def leave_unvisited_open(draft: Draft, known: Visited) -> None:
    """Set aside the rows of visits that have no row in visits: nobody can say whether they are of the newest."""
    tag_codes, tags = pd.factorize(draft.values["tag"])
    visit_codes, visits = pd.factorize(draft.values["visit"])
    keys, groups = np.unique(tag_codes * len(visits) + visit_codes, return_inverse=True)
    told = [(tags[key // len(visits)], visits[key % len(visits)]) for key in keys.tolist()]
    lacking = np.array([all(key) and key not in known for key in told], dtype=np.bool_)
    if lacking.any():
        draft.set_aside(lacking[groups] & ~draft.bad, "visit", _NO_VISIT)


def _unknown(name: str, finder: NameFinder) -> str:
    close = finder.find(name)
    hint = f" Was {close} meant?" if close else ""
    return f"{name!r} is not in the instrument register: what it measured has no uncertainty.{hint}"
