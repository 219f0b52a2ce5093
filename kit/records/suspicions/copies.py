"""Records that agree with another record in every reading, or are shifted by one number: told on both."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.records import Problem
from kit.records.suspicions.sightings import SIGNALS, Seen, lines, problem_at

_Key = tuple[str, str, str]  # tag, visit, stage

_FEWEST_COPIED: Final = 8  # house definition: so many identical readings that are no round numbers
_ROUND: Final = 5  # a multiple of it is a round number
_DIGITS: Final = 6  # what binary rounding leaves of a difference
_FEWEST_DIFFERENT: Final = 7  # house definition: a shifted vector tells by so many different steps
_NAMED_AFTER: Final = {"dead_band": "dead band", "speed": "speed", "command_range": "range"}
_USUAL: Final = "It happens where one valve was recorded twice, or a form was filled in beforehand."


def find_copies(seen: Seen) -> list[Problem]:
    """Whole runs that equal another one, or lie beside it at one distance throughout."""
    frame = seen.readings
    positions, runs = frame["position"].to_numpy(), frame["run"].to_numpy()
    telling = ~np.isnan(positions) & (positions % _ROUND != 0)
    enough = np.bincount(runs[telling], minlength=len(frame))[runs] >= _FEWEST_COPIED
    rows = frame[enough]
    if rows.empty:
        return []
    equal = list(_alike(rows, _values(rows)))
    told = {run for pair in equal for run in pair}
    shifted = [pair for pair in _alike(rows, _steps(rows)) if not told & set(pair)]
    if not equal and not shifted:
        return []
    keys = {row.run: (row.tag, row.visit, row.stage) for row in lines(rows.drop_duplicates("run"))}
    counts = rows.groupby("run").size()
    texts: dict[int, str] = {}
    for one, other in equal:
        of_one_visit = keys[one][:2] == keys[other][:2]
        for run, twin in ((other, one),) if of_one_visit else ((other, one), (one, other)):
            texts.setdefault(run, _copy_text(keys[run], keys[twin], int(counts[run]), seen.adjusted))
    for one, other in shifted:
        for run, twin in ((other, one), (one, other)):
            texts.setdefault(run, _shift_text(keys[twin], int(counts[run])))
    first = rows[rows["run"].isin(list(texts))].drop_duplicates("run")
    return [problem_at(row, "", "", texts[row.run]) for row in lines(first)]


def find_unchanged_settings(seen: Seen) -> list[Problem]:
    """Settings as left that equal those as found, though what they are named after was adjusted."""
    settings, adjusted = seen.tables["settings"], seen.adjusted
    names = ["tag", "visit", "stage", "setting", "value", "file", "row"]
    frame = pd.DataFrame({name: settings[name] for name in names})
    before = frame[frame["stage"] == "as_found"][["tag", "visit", "setting", "value"]]
    same = frame[frame["stage"] == "as_left"].merge(before, on=["tag", "visit", "setting", "value"])
    found: list[Problem] = []
    for row in lines(same):
        name = str(row.setting).casefold().replace("_", " ").replace("-", " ")
        for change in sorted(adjusted.get((str(row.tag), str(row.visit)), ())):
            if change in _NAMED_AFTER and _NAMED_AFTER[change] in name:
                text = f"{row.setting} as left equals that as found, though {change} was adjusted. Was it read again?"
                found.append(problem_at(row, "value", str(row.value), text, "settings"))
    return found


def _values(rows: pd.DataFrame) -> np.ndarray:
    return np.ascontiguousarray(rows[list(SIGNALS)].to_numpy(dtype=float))


def _steps(rows: pd.DataFrame) -> np.ndarray:
    """Each run's positions and feedback from its own first ones."""
    values, runs = rows[["position", "feedback"]].to_numpy(dtype=float), rows["run"].to_numpy()
    steps = np.empty_like(values)
    for place in range(values.shape[1]):
        known = np.flatnonzero(~np.isnan(values[:, place]))
        with_one, first = np.unique(runs[known], return_index=True)
        from_first = np.full(int(runs.max()) + 1, np.nan)
        from_first[with_one] = values[known[first], place]
        steps[:, place] = values[:, place] - from_first[runs]
    return np.ascontiguousarray(np.round(steps, _DIGITS) + 0.0)


def _alike(rows: pd.DataFrame, values: np.ndarray) -> Iterator[tuple[int, int]]:
    """Each run that says what an earlier one says, and that one; a run of few different values says nothing."""
    up = (rows["direction"] == "up").to_numpy(dtype=bool)
    runs = rows["run"].to_numpy()
    starts = np.flatnonzero(np.diff(runs, prepend=-1))
    first: dict[bytes, int] = {}
    for start, end in zip(starts.tolist(), np.append(starts, len(rows))[1:].tolist(), strict=True):
        own = values[start:end]
        if len(np.unique(own[:, 0 if own.shape[1] == 2 else 1])) < _FEWEST_DIFFERENT:
            continue
        run = int(runs[start])
        earlier = first.setdefault(up[start:end].tobytes() + own.tobytes(), run)
        if earlier != run:
            yield earlier, run


def _copy_text(key: _Key, twin: _Key, count: int, adjusted: Mapping[tuple[str, str], set[str]]) -> str:
    tag, visit, stage = twin
    if key[:2] == twin[:2]:
        after = f" after an adjustment ({', '.join(sorted(adjusted[key[:2]]))})" if key[:2] in adjusted else ""
        return f"All {count} readings as left equal those as found{after}. Was it read again?"
    return f"All {count} readings equal those of {tag}, visit {visit}, {stage}. Was the record copied? {_USUAL}"


def _shift_text(twin: _Key, count: int) -> str:
    tag, visit, stage = twin
    return (
        f"All {count} readings lie at one distance from those of {tag}, visit {visit}, {stage}. Was the record made "
        f"from it? {_USUAL}"
    )
