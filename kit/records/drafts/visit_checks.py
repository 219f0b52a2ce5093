"""What the visits must agree with: the instrument register, and the tables that name a visit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.basis.registers import Instrument
from kit.basis.rows import Rows
from kit.basis.tables import MEASUREMENTS
from kit.records.cells.nearest import NameFinder
from kit.records.drafts.draft import Draft


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


def find_missing_visits(tables: Mapping[str, Rows]) -> list[Problem]:
    """One problem a tag and visit whose readings have no row in visits."""
    known = set(zip(tables["visits"]["tag"], tables["visits"]["visit"], strict=True))
    found: dict[tuple[str, str], Problem] = {}
    text = "visits has no row for this tag and visit: its date and its instruments are unknown. Add one."
    for name in MEASUREMENTS:
        rows = tables[name]
        keys = pd.DataFrame({column: rows[column] for column in ("tag", "visit")}).drop_duplicates()
        for place, tag, visit in keys.itertuples():
            if (tag, visit) not in known:
                file, row = rows["file"][place], int(rows["row"][place])
                found.setdefault((tag, visit), Problem(file, row, "visit", visit, text, tag))
    return list(found.values())


def _unknown(name: str, finder: NameFinder) -> str:
    close = finder.find(name)
    hint = f" Was {close} meant?" if close else ""
    return f"{name!r} is not in the instrument register: what it measured has no uncertainty.{hint}"
