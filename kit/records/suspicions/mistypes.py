"""Readings that one slip of the keyboard would explain: digits exchanged, the point slipped, a digit more or less."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.records.suspicions.by_run import numbered, ranges
from kit.records.suspicions.sightings import problem_at
from kit.records.suspicions.slips import meant_by

# House definitions: readings within one such share of the range are siblings, a reading must be off its
# siblings by more than the second to be looked at, and a slip must bring it back within the third.
_SIBLINGS: Final = 0.025
_OFF: Final = 0.055
_BACK: Final = 0.005
_TIMES_USUAL: Final = 4.0


@dataclass(frozen=True, slots=True)
class _Test:
    """A signal that is doubted, and the one that says which readings ought to agree."""

    doubted: str
    against: str


_TESTS: Final = (_Test("position", "command"), _Test("feedback", "command"), _Test("command", "position"))


def find_mistypes(frame: pd.DataFrame) -> list[Problem]:
    """Suspect readings whose siblings (same tag, visit, stage and place) say what was meant."""
    found: dict[tuple[str, int], Problem] = {}
    for test in _TESTS:
        for problem in _find(frame, test):
            found.setdefault((problem.file, problem.row or 0), problem)
    return list(found.values())


def _find(frame: pd.DataFrame, test: _Test) -> Iterator[Problem]:
    share, against = f"{test.doubted}_share", f"{test.against}_share"
    shares, runs = frame[share].to_numpy(), frame["run"].to_numpy()
    places = np.round(frame[against].to_numpy() / _SIBLINGS)
    is_known = ~np.isnan(shares) & ~np.isnan(places)
    wide = ranges(shares[is_known], numbered(runs[is_known], places[is_known])) > _OFF
    if not wide.any():
        return
    suspects = is_known & np.isin(runs, runs[is_known][wide])
    known = frame[suspects].assign(place=places[suspects].astype(int))
    for _, stage in known.groupby("run", sort=False):
        yield from _find_in_stage(stage, test)


def _find_in_stage(stage: pd.DataFrame, test: _Test) -> Iterator[Problem]:
    """Doubt the readings of one stage; the usual spread is that of most of its places."""
    share = f"{test.doubted}_share"
    by_place = stage.groupby("place")[share]
    spread = by_place.max() - by_place.min()
    usual = float(spread[by_place.size() > 1].median())
    limit, tolerance = max(_OFF, _TIMES_USUAL * usual), max(_BACK, usual)
    middle = by_place.median()
    for place in spread.index[spread > limit]:
        readings = stage[stage["place"] == place]
        for row in readings.itertuples():
            others = readings[share].drop(row.Index)
            expected = float(others.median())
            if abs(getattr(row, share) - expected) <= limit or not _is_odd_one(row, others, middle, share, tolerance):
                continue
            problem = _explain(row, test, expected, tolerance)
            if problem is not None:
                yield problem


def _is_odd_one(row: object, others: pd.Series[float], middle: pd.Series[float], share: str, tolerance: float) -> bool:
    """Whether this reading is the odd one: its siblings agree, or its neighbours' places leave it out."""
    if len(others) > 1:
        return bool((others.max() - others.min()) <= 2 * tolerance)
    place = row.place  # type: ignore[attr-defined]  # a row of itertuples
    below, above = middle[middle.index < place], middle[middle.index > place]
    if below.empty or above.empty:
        return False
    low, high = sorted((float(below.iloc[-1]), float(above.iloc[0])))
    inside = low - tolerance <= float(others.iloc[0]) <= high + tolerance
    return inside and not low - tolerance <= getattr(row, share) <= high + tolerance


def _explain(row: object, test: _Test, expected: float, tolerance: float) -> Problem | None:
    value = float(getattr(row, test.doubted))
    low, span = float(getattr(row, f"{test.doubted}_low")), float(getattr(row, f"{test.doubted}_span"))
    found = meant_by(value, low + span * (expected - tolerance), low + span * (expected + tolerance))
    if found is None:
        return None
    meant, slip = found
    about = f"The other readings at this {test.against} say about {low + span * expected:.4g}."
    text = f"Was {meant:g} meant ({slip})? {about}"
    return problem_at(row, str(getattr(row, f"{test.doubted}_column")), value, text)
