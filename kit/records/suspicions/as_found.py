"""Adjustments of a valve in service of which nobody wrote down what it was like before."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.records.suspicions.sightings import Seen, lines, problem_at

STAGED: Final = tuple(name for name in MEASUREMENTS if TABLES[name].is_test and "stage" in TABLES[name].columns)
"""Tables of tests of which each row has a stage."""
_TEXT: Final = (
    "Adjusted, and nothing of this visit is recorded as found, though the valve has an earlier visit. Is it written "
    "down elsewhere?"
)


def find_lost_as_found(seen: Seen) -> list[Problem]:
    """One problem a visit that adjusted a valve with an earlier visit, and holds no row as found."""
    done = seen.tables["adjustments"]
    frame = pd.DataFrame({name: done[name] for name in ("tag", "visit", "what", "file", "row")})
    frame = frame.drop_duplicates(["tag", "visit"])
    if frame.empty:
        return []
    visits = seen.tables["visits"]
    dates = {
        (tag, visit): date for tag, visit, date in zip(visits["tag"], visits["visit"], visits["date"], strict=True)
    }
    first: dict[str, str] = {}
    for (tag, _), date in dates.items():
        if date:
            first[tag] = min(date, first.get(tag, date))
    found = _as_found(seen)
    return [
        problem_at(row, "what", str(row.what), _TEXT, "adjustments")
        for row in lines(frame)
        if (row.tag, row.visit) not in found and first.get(str(row.tag), "") < dates.get((row.tag, row.visit), "")
    ]


def _as_found(seen: Seen) -> set[tuple[str, str]]:
    known: set[tuple[str, str]] = set()
    for name in STAGED:
        rows = seen.tables[name]
        found = np.flatnonzero(rows["stage"] == "as_found")
        known.update(zip(rows["tag"][found], rows["visit"][found], strict=True))
    return known
