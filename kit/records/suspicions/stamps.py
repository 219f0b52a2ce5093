"""Times of rows as numbers, and every row of a unit that has one."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.moments import moment_of
from kit.basis.rows import Rows
from kit.basis.tables import MEASUREMENTS, TABLES

_EPOCH: Final = datetime(1970, 1, 1)
_DATE_LENGTH: Final = 10
TIMED: Final = tuple(name for name in MEASUREMENTS if TABLES[name].is_test and "at" in TABLES[name].columns)
"""Tables of which each row may say when it was made."""


def seconds_of(stamps: pd.Series[str]) -> pd.Series[float]:
    """Seconds since 1970 of times of day; nan for a blank, and for a date alone, which tells no order."""
    codes, unique = pd.factorize(stamps)
    known = [_seconds(str(text)) for text in unique]
    return pd.Series(np.array([*known, np.nan])[codes], index=stamps.index, dtype=float)


def days_of(stamps: pd.Series[str]) -> pd.Series[float]:
    """Days since 1970 of the dates as they are written, in their own zone; nan for a blank."""
    codes, unique = pd.factorize(stamps)
    known = [_day(str(text)) for text in unique]
    return pd.Series(np.array([*known, np.nan])[codes], index=stamps.index, dtype=float)


def timed_rows(tables: Mapping[str, Rows]) -> pd.DataFrame:
    """One line a row of a test that says when it was made: tag, visit, stage, at, file, row, table."""
    frames = []
    for name in TIMED:
        rows = tables[name]
        stages = rows["stage"] if "stage" in TABLES[name].columns else np.full(len(rows), "as_left", dtype=object)
        columns = {each: rows[each] for each in ("tag", "visit", "at", "file", "row")}
        frames.append(pd.DataFrame({**columns, "stage": stages, "table": name}))
    every = pd.concat(frames, ignore_index=True)
    return every[every["at"] != ""]


def _seconds(text: str) -> float:
    moment = moment_of(text) if len(text) > _DATE_LENGTH else None
    return float("nan") if moment is None else (moment.first - _EPOCH).total_seconds()


def _day(text: str) -> float:
    return float(date.fromisoformat(text[:_DATE_LENGTH]).toordinal()) if text else float("nan")
