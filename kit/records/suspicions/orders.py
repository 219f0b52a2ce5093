"""Rows that do not stand in the order that they say: down rows that rise, cycles of which one is missing."""

from __future__ import annotations

import re
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.arrays import FloatArray
from kit.basis.records import Problem
from kit.records.suspicions.sightings import Seen, lines, problem_at
from kit.records.suspicions.stamps import seconds_of

_NUMBER: Final = re.compile(r"\d{1,3}")
_FEWEST: Final = 3  # house definition: rows of one way of a cycle that tell an order
_ORDER: Final = "The rows called {direction} were made with the command {against}. Were up and down exchanged?"
_MISSING: Final = "Cycle {missing} is not there, and {before} and {after} are. Was it left out, and why?"


def find_wrong_order(seen: Seen) -> list[Problem]:
    """Suspect the direction of whole cycles, where the times of the rows say otherwise, and cycles left out."""
    return [*_against_the_times(seen.readings), *_missing_cycles(seen.readings)]


def _against_the_times(frame: pd.DataFrame) -> list[Problem]:
    """By the rows' own times; without them both ways must stand against their names in the file."""
    rows = frame[frame["command_share"].notna()]
    keys = ["run", "cycle", "direction"]
    told: dict[tuple[int, str, str], None] = {}
    for key, way in _ways(rows, np.asarray(seconds_of(rows["at"]), dtype=float)).items():
        if way == (-1 if key[2] == "up" else 1):
            told[key] = None
    untimed = rows[rows["at"] == ""]
    ways = _ways(untimed)
    for run, cycle, direction in [key for key in ways if key[2] == "up"]:
        if ways[run, cycle, direction] == -1 and ways.get((run, cycle, "down")) == 1:
            told[run, cycle, direction] = None
    if not told:
        return []
    first = rows.drop_duplicates(keys).set_index(keys, drop=False)
    found = []
    for run, cycle, direction in told:
        row = lines(first.loc[[(run, cycle, direction)]])[0]
        text = _ORDER.format(direction=direction, against="falling" if direction == "up" else "rising")
        found.append(problem_at(row, "direction", direction, text))
    return found


def _ways(rows: pd.DataFrame, second: FloatArray | None = None) -> dict[tuple[int, str, str], int]:
    """1 where the commands of a cycle's way rise from row to row throughout, -1 where they fall, 0 else.

    By the times ``second`` in the place of the rows' own order, where they are given: of ways with enough of them.
    """
    keys = list(zip(rows["run"].tolist(), rows["cycle"].tolist(), rows["direction"].tolist(), strict=True))
    places: dict[tuple[int, str, str], list[int]] = {}
    for place, key in enumerate(keys):
        places.setdefault(key, []).append(place)
    shares = rows["command_share"].to_numpy()
    told: dict[tuple[int, str, str], int] = {}
    for key in sorted(places) if second is not None else places:
        own = np.array(places[key])
        if second is not None:
            if len(set(second[own][~np.isnan(second[own])].tolist())) < _FEWEST:
                continue
            own = own[np.argsort(second[own], kind="stable")]
        if len(own) >= _FEWEST:
            steps = np.diff(shares[own])
            told[key] = 1 if (steps > 0).all() else -1 if (steps < 0).all() else 0
    return told


def _missing_cycles(frame: pd.DataFrame) -> list[Problem]:
    """Cycles that are numbered, of which one between two others is missing."""
    numbered = {each for each in frame["cycle"].unique().tolist() if _NUMBER.fullmatch(each)}
    if len(numbered) < 2:
        return []
    cycles = frame[frame["cycle"].isin(list(numbered))]
    firsts = cycles.drop_duplicates(["run", "cycle"])
    firsts = firsts.assign(number=firsts["cycle"].astype(int)).sort_values(["run", "number"], kind="stable")
    gap = firsts.groupby("run", sort=False)["number"].diff()
    found = []
    for row in lines(firsts[gap > 1]):
        before = int(row.number - gap[row.Index])
        text = _MISSING.format(missing=before + 1, before=before, after=row.number)
        found.append(problem_at(row, "cycle", str(row.cycle), text))
    return found
