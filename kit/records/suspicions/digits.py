"""The last digits of readings: finer than the instrument reads, or of a kind that estimates have."""

from __future__ import annotations

from typing import Final

import numpy as np
import pandas as pd

from kit.basis.arrays import FloatArray
from kit.basis.records import Problem
from kit.records.suspicions.by_run import SLACK
from kit.records.suspicions.resolutions import Resolutions
from kit.records.suspicions.sightings import Seen, lines, problem_at

# House definitions, but for the number of readings, the 30 % and the 1 % (practice of checks of clinical records).
_FEWEST: Final = 30
_ZERO_OR_FIVE: Final = 0.30
_SIGNIFICANCE: Final = 0.01
_NEARLY_ALL: Final = 0.9
_FEWEST_DIFFERENT: Final = 12  # where nearly all end in 0 or 5
_ROUND_SHARE: Final = 0.05  # readings on such a share of the range are nominal points, and count for nothing
_SPREAD_DIGITS: Final = 3.0  # repeats of a visit must spread over so many last digits before they say anything
_SAME: Final = 1e-4  # of the last digit
_TOO_FINE: Final = (
    "It has more digits than the instrument of the visit shows (steps of {step:g} {unit}). Was another instrument "
    "used, or was it worked out?"
)
_LAST_DIGITS: Final = (
    "Of {count} readings {share:.0%} end in 0 or 5. It happens where a scale is read by eye, or the instrument counts "
    "in fives. How was it read?"
)


def find_odd_digits(seen: Seen) -> list[Problem]:
    """Suspect columns of a visit, each told once."""
    frame = seen.readings
    if frame.empty:
        return []
    known = Resolutions(seen.tables["visits"], seen.instruments)
    found: list[Problem] = []
    for signal in ("command", "position", "feedback"):
        step = pd.Series(known.of_readings(frame, signal), index=frame.index)
        found += _too_fine(frame, signal, step)
        if signal == "position":
            found += _last_digits(frame, signal, step)
    return found


def _too_fine(frame: pd.DataFrame, signal: str, step: pd.Series[float]) -> list[Problem]:
    counts = (frame[signal] / step).to_numpy()
    finer = np.abs(counts - np.round(counts)) > _SAME * np.maximum(np.abs(counts), 1.0)
    if not finer.any():
        return []
    odd = frame.assign(step=step)[finer].drop_duplicates("run")
    found = []
    for row in lines(odd):
        column = str(getattr(row, f"{signal}_column"))
        text = _TOO_FINE.format(step=row.step, unit=column.rpartition("_")[2])
        found.append(problem_at(row, column, float(np.float64(getattr(row, signal))), text))
    return found


def _last_digits(frame: pd.DataFrame, signal: str, step: pd.Series[float]) -> list[Problem]:
    """By chi-squared on the ten last digits (Pearson), of what is no round share of the range."""
    share = frame[f"{signal}_share"]
    nominal = (share / _ROUND_SHARE - (share / _ROUND_SHARE).round()).abs() < 1e-9
    counted = step.notna() & frame[signal].notna() & ~nominal
    if counted.sum() < _FEWEST:
        return []
    rows = frame.assign(step=step)[counted]
    counts = (rows[signal] / rows["step"]).round()
    rows = rows.assign(digit=counts.abs() % 10)
    keys = ["tag", "visit"]
    ends_so = rows["digit"].isin([0, 5]).groupby([rows[key] for key in keys], sort=False)
    rows = rows[(ends_so.transform("size") >= _FEWEST) & (ends_so.transform("mean") > _ZERO_OR_FIVE - SLACK)]
    found = []
    for _, own in rows.groupby(keys, sort=False):
        number = np.bincount(own["digit"].astype(int), minlength=10).astype(float)
        ends = float((number[0] + number[5]) / number.sum())
        if ends > _ZERO_OR_FIVE and _chance(number) < _SIGNIFICANCE and _says(own, signal, ends):
            text = _LAST_DIGITS.format(count=int(number.sum()), share=ends)
            row = lines(own)[0]
            found.append(problem_at(row, str(getattr(row, f"{signal}_column")), float(getattr(row, signal)), text))
    return found


def _chance(number: FloatArray) -> float:
    """Of last digits at least so uneven, were they all as likely."""
    from scipy.stats import chi2  # dear to a driver that finds nothing to ask about

    expected = number.sum() / 10.0
    return float(chi2.sf(float(((number - expected) ** 2 / expected).sum()), 9))


def _says(own: pd.DataFrame, signal: str, ends: float) -> bool:
    """Whether the digits are those of many readings, not of a few that repeat."""
    if ends >= _NEARLY_ALL:
        return bool(own[signal].nunique() >= _FEWEST_DIFFERENT)
    return _spread(own, signal) >= _SPREAD_DIGITS


def _spread(own: pd.DataFrame, signal: str) -> float:
    """How many last digits apart the readings of one test point lie, in the middle of the points' ranges."""
    place = (own["command_share"] / 0.025).round()
    by_place = own[signal].groupby([own["run"], own["direction"], place])
    spread = (by_place.max() - by_place.min())[by_place.size() > 1] / float(own["step"].iloc[0])
    return float(spread.median()) if len(spread) else 0.0
