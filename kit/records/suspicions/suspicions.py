"""Suspicions: rows that are used, and that somebody should look at again. Nothing is ever corrected."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.records.suspicions.mistypes import find_mistypes
from kit.records.suspicions.same_person import find_same_person
from kit.records.suspicions.sightings import SIGNALS, problem_at, sightings
from kit.records.suspicions.wrong_columns import find_wrong_columns

_Key = tuple[str, str, str]  # tag, visit, stage

_FEWEST_COPIED: Final = 8  # house definition: so many identical readings that are no round numbers
_NAMED_AFTER: Final = {"dead_band": "dead band", "speed": "speed", "command_range": "range"}


def find_suspicions(tables: Mapping[str, Rows], tags: Mapping[str, Tag]) -> list[Problem]:
    """Everything that looks odd in rows that are used."""
    frame = sightings(tables["readings"], tags)
    adjusted = _adjusted(tables["adjustments"])
    return [
        *find_mistypes(frame),
        *find_wrong_columns(frame),
        *_copies(frame, adjusted),
        *_unchanged_settings(tables["settings"], adjusted),
        *find_same_person(tables),
    ]


def _adjusted(adjustments: Rows) -> dict[tuple[str, str], set[str]]:
    """What was adjusted, by tag and visit."""
    found: dict[tuple[str, str], set[str]] = {}
    for tag, visit, what in zip(adjustments["tag"], adjustments["visit"], adjustments["what"], strict=True):
        found.setdefault((tag, visit), set()).add(what)
    return found


def _copies(frame: pd.DataFrame, adjusted: Mapping[tuple[str, str], set[str]]) -> list[Problem]:
    """Whole runs that agree with another run in every reading."""
    telling = frame["position"].notna() & (frame["position"] % 5 != 0)
    enough = telling.groupby(frame["run"]).transform("sum") >= _FEWEST_COPIED
    rows = frame[enough]
    values = np.ascontiguousarray(rows[list(SIGNALS)].to_numpy(dtype=float))
    up = (rows["direction"] == "up").to_numpy(dtype=bool)
    starts = np.flatnonzero(np.diff(rows["run"].to_numpy(), prepend=-1))
    ends = np.append(starts, len(rows))[1:]
    keys = list(zip(rows["tag"].iloc[starts], rows["visit"].iloc[starts], rows["stage"].iloc[starts], strict=True))
    first: dict[bytes, _Key] = {}
    found: list[Problem] = []
    for key, start, end in zip(keys, starts.tolist(), ends.tolist(), strict=True):
        earlier = first.setdefault(up[start:end].tobytes() + values[start:end].tobytes(), key)
        if earlier != key:
            row = next(rows.iloc[start : start + 1].itertuples())
            found.append(problem_at(row, "", "", _copy_text(key, earlier, end - start, adjusted)))
    return found


def _copy_text(
    key: _Key,
    earlier: _Key,
    count: int,
    adjusted: Mapping[tuple[str, str], set[str]],
) -> str:
    tag, visit, stage = earlier
    if key[:2] == earlier[:2]:
        after = f" after an adjustment ({', '.join(sorted(adjusted[key[:2]]))})" if key[:2] in adjusted else ""
        return f"All {count} readings as left equal those as found{after}. Was it read again?"
    return f"All {count} readings equal those of {tag}, visit {visit}, {stage}. Was the record copied?"


def _unchanged_settings(settings: Rows, adjusted: Mapping[tuple[str, str], set[str]]) -> list[Problem]:
    """Settings as left that equal those as found, though what they are named after was adjusted."""
    names = ["tag", "visit", "stage", "setting", "value", "file", "row"]
    frame = pd.DataFrame({name: settings[name] for name in names})
    before = frame[frame["stage"] == "as_found"][["tag", "visit", "setting", "value"]]
    same = frame[frame["stage"] == "as_left"].merge(before, on=["tag", "visit", "setting", "value"])
    found: list[Problem] = []
    for row in same.itertuples():
        name = str(row.setting).casefold().replace("_", " ").replace("-", " ")
        for change in sorted(adjusted.get((str(row.tag), str(row.visit)), ())):
            if change in _NAMED_AFTER and _NAMED_AFTER[change] in name:
                text = f"{row.setting} as left equals that as found, though {change} was adjusted. Was it read again?"
                found.append(problem_at(row, "value", str(row.value), text, "settings"))
    return found
