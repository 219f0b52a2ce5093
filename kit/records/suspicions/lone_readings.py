"""Readings that one slip of the keyboard would explain, held against the run's own curve: for places read once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import pandas as pd

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.records import Problem
from kit.records.suspicions.by_run import SLACK, ranges
from kit.records.suspicions.sightings import lines, problem_at
from kit.records.suspicions.slips import meant_by

# House definitions, in shares of the range: a reading must be off its run's curve by more than the first, and by more
# than so many times what the run usually is, to be looked at; a slip must bring it back within the third.
_OFF: Final = 0.03
_TIMES_USUAL: Final = 6.0
_BACK: Final = 0.004
_BACK_TIMES_USUAL: Final = 2.0
_LEAST_USUAL: Final = 0.0015
_SAME_PLACE: Final = 0.025
_FEWEST: Final = 5
_NEIGHBOURS_AGREE: Final = 0.03  # where only two neighbours tell of a reading


@dataclass(frozen=True, slots=True)
class _Curve:
    """What a doubted signal is off by, over what it is held against."""

    doubted: str
    against: str


_CURVES: Final = (_Curve("position", "command"), _Curve("feedback", "position"))


def find_lone_mistypes(frame: pd.DataFrame) -> list[Problem]:
    """Suspect readings, one a run and direction at most, that stick out of a smooth curve and that a slip explains."""
    found: dict[tuple[str, int], Problem] = {}
    for curve in _CURVES:
        for row in _sticking_out(frame, curve):
            problem = _explain(row, curve)
            if problem is not None:
                found.setdefault((problem.file, problem.row or 0), problem)
    return list(found.values())


def _sticking_out(frame: pd.DataFrame, curve: _Curve) -> Iterator[Any]:
    """The reading of each run and direction that is farthest off, where it is far off."""
    wanted = frame[f"{curve.doubted}_share"].notna() & frame[f"{curve.against}_share"].notna()
    known = frame[wanted & frame["linear"] if curve.doubted == "position" else wanted]
    if known.empty:
        return
    errors = _errors(known, curve)
    apart = ranges(np.asarray(errors, dtype=float), known["run"].to_numpy())
    wide = apart > _OFF - SLACK  # what a reading should be lies between others of its run
    if not wide.any():
        return
    known = known.assign(x=known[f"{curve.against}_share"], error=errors)[wide]
    known = known.sort_values(["run", "direction", "x"], kind="stable")
    expected = _expected(known)
    off = np.abs(known["error"].to_numpy() - expected)
    known = known.assign(expected=expected, off=off)
    by_run = known.groupby("run", sort=False)["off"]
    usual = np.maximum(by_run.transform("median") * 1.5, _LEAST_USUAL)
    enough = by_run.transform("count") >= _FEWEST
    known = known.assign(usual=usual)
    far = known[enough & (known["off"] > _OFF) & (known["off"] > _TIMES_USUAL * usual)]
    if far.empty:
        return
    worst = far.sort_values("off", ascending=False, kind="stable").drop_duplicates(["run", "direction"])
    yield from lines(worst.sort_index())


def _errors(known: pd.DataFrame, curve: _Curve) -> pd.Series[float]:
    against = known[f"{curve.against}_share"]
    if curve.doubted == "position":
        against = against.where(~known["reverse"], 1.0 - against)
    return known[f"{curve.doubted}_share"] - against


def _expected(known: pd.DataFrame) -> FloatArray:
    """What each error should be by its neighbours, nan where they do not tell; ``known`` is sorted along each way.

    Notes
    -----
    House definition: the median of the neighbours on either side and of the other way at the same place, so that one
    bad reading spoils no other; of two alone the mean, where they agree.
    """
    error = known["error"].to_numpy()
    way = known.groupby(["run", "direction"], sort=False).ngroup().to_numpy()
    before = np.where(np.r_[False, way[1:] == way[:-1]], np.r_[np.nan, error[:-1]], np.nan)
    after = np.where(np.r_[way[1:] == way[:-1], False], np.r_[error[1:], np.nan], np.nan)
    told = np.vstack([before, after, _other_way(known)])
    count = np.sum(~np.isnan(told), axis=0)
    low, high = _least_and_greatest(told, count > 0)
    middle = np.where(count == 3, np.nansum(told, axis=0) - low - high, (low + high) / 2.0)
    lost: BoolArray = (count < 2) | ((count == 2) & (high - low > _NEIGHBOURS_AGREE))
    return np.where(lost, np.nan, middle)


def _least_and_greatest(told: FloatArray, known: BoolArray) -> tuple[FloatArray, FloatArray]:
    low, high = np.full(told.shape[1], np.nan), np.full(told.shape[1], np.nan)
    low[known], high[known] = np.nanmin(told[:, known], axis=0), np.nanmax(told[:, known], axis=0)
    return low, high


def _other_way(known: pd.DataFrame) -> FloatArray:
    """The median error of the other way at the same place; nan where it was not read."""
    place = np.round(known["x"] / _SAME_PLACE).astype(int)
    up = known["direction"] == "up"
    keyed = pd.DataFrame({"run": known["run"], "place": place, "up": up, "error": known["error"]})
    middle = keyed.groupby(["run", "place", "up"], sort=False)["error"].median().rename("other").reset_index()
    middle["up"] = ~middle["up"]
    other: FloatArray = keyed.merge(middle, on=["run", "place", "up"], how="left")["other"].to_numpy(dtype=float)
    return other


def _explain(row: Any, curve: _Curve) -> Problem | None:
    """The slip of the doubted signal, else, for a position, of the command beside it."""
    told = _of_signal(row, curve.doubted, getattr(row, f"{curve.doubted}_share") + row.expected - row.error)
    if told is None and curve.doubted == "position":
        wanted = row.position_share - row.expected
        told = _of_signal(row, "command", 1.0 - wanted if row.reverse else wanted)
    return told


def _of_signal(row: Any, signal: str, share: float) -> Problem | None:
    low, span, value = (float(getattr(row, f"{signal}{part}")) for part in ("_low", "_span", ""))
    back = max(_BACK, _BACK_TIMES_USUAL * row.usual)
    ends = sorted((low + span * (share - back), low + span * (share + back)))
    found = meant_by(value, *ends)
    if found is None:
        return None
    meant, slip = found
    about = f"The run's other readings say about {low + span * share:.4g}."
    return problem_at(row, str(getattr(row, f"{signal}_column")), value, f"Was {meant:g} meant ({slip})? {about}")
