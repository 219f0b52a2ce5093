"""The readings of a unit as shares of range and travel, for the search for typing errors.

These shares only say which readings belong together. No reported number is made from them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.records import Problem, Scope
from kit.basis.registers import Instrument, Tag
from kit.basis.rows import Rows
from kit.basis.signals import SignalRange
from kit.basis.tables import TABLES
from kit.records.drafts.lookup import spread

_KEY: Final = ["tag", "visit", "stage"]
_FURTHER: Final = ("cycle", "direction", "at", "command_set_pct", "file", "row")
SIGNALS: Final = ("command", "position", "feedback")
_COLUMNS: Final = {
    "command": ("command_mA", "command_V", "command_pct"),
    "position": ("position_deg", "position_mm", "position_pct"),
    "feedback": ("feedback_mA", "feedback_V", "feedback_pct"),
}


@dataclass(frozen=True)
class Seen:
    """A unit's used rows, as the search for what looks odd sees them."""

    tables: Mapping[str, Rows]
    tags: Mapping[str, Tag]
    instruments: Sequence[Instrument]

    @cached_property
    def readings(self) -> pd.DataFrame:
        """:func:`sightings` of the readings."""
        return sightings(self.tables["readings"], self.tags)

    @property
    def adjusted(self) -> dict[tuple[str, str], set[str]]:
        """What was adjusted, by tag and visit."""
        found: dict[tuple[str, str], set[str]] = {}
        rows = self.tables["adjustments"]
        for tag, visit, what in zip(rows["tag"], rows["visit"], rows["what"], strict=True):
            found.setdefault((tag, visit), set()).add(what)
        return found


def sightings(readings: Rows, tags: Mapping[str, Tag]) -> pd.DataFrame:
    """One row a reading: its value, column, low end and span for each signal, and what its tag is.

    ``run`` numbers the stages (one tag, visit and stage each).

    ``command_share`` and so on are 0 at the low end and 1 at the high end, nan where unknown.
    """
    frame = pd.DataFrame({name: readings[name] for name in [*_KEY, *_FURTHER]})
    frame["run"] = frame.groupby(_KEY, sort=False).ngroup()
    codes, unique = pd.factorize(readings["tag"])
    found = [tags[tag] for tag in unique]
    frame["linear"] = spread([tag.characteristic == "linear" for tag in found], codes, bool)
    frame["reverse"] = spread([tag.action == "reverse" for tag in found], codes, bool)
    for unit in ("deg", "mm"):
        travels = [tag.travel if tag.travel_unit == unit else np.nan for tag in found]
        frame[f"travel_{unit}"] = spread(travels, codes, float)
    for signal in SIGNALS:
        scales = [_scales(tag, signal) for tag in found]
        _add_signal(frame, signal, readings, scales, codes)
    return frame


def problem_at(
    row: Any, column: str, value: float | str, text: str, table: str = "readings", *, doubts_value: bool = True
) -> Problem:
    """A suspicion about one row of a frame; with ``doubts_value`` what is made of the row rests on it."""
    shown = value if isinstance(value, str) else f"{value:g}"
    columns = (column,) if column else ()
    scope = Scope((row.tag,), row.visit, row.stage, table, columns) if TABLES[table].is_test and doubts_value else None
    said = f"{text} Nothing was changed."
    return Problem(row.file, int(row.row), column, shown, said, row.tag, table=table, scope=scope)


def lines(frame: pd.DataFrame) -> list[Any]:
    """The rows of a frame, each with its columns as attributes, and its label as ``Index``."""
    return [] if frame.empty else list(frame.itertuples())  # dear even without a row, and most searches find none


def _scales(tag: Tag, signal: str) -> Mapping[str, tuple[float, float]]:
    """Low end and span by column, of the columns that the tag's readings may be in."""
    percent = {f"{signal}_pct": (0.0, 100.0)}
    if signal == "position":
        return {f"position_{tag.travel_unit}": (0.0, tag.travel), **percent} if tag.travel else percent
    own: SignalRange | None = tag.command_range if signal == "command" else tag.feedback_range
    return percent if own is None else {f"{signal}_{own.unit}": (own.low, own.span), **percent}


def _add_signal(
    frame: pd.DataFrame,
    signal: str,
    readings: Rows,
    scales: Sequence[Mapping[str, tuple[float, float]]],
    codes: NDArray[Any],
) -> None:
    count = len(frame)
    value, low, span = np.full(count, np.nan), np.full(count, np.nan), np.full(count, np.nan)
    name = np.full(count, "", dtype=object)
    for column in _COLUMNS[signal]:
        lows = spread([scale.get(column, (np.nan, np.nan))[0] for scale in scales], codes, float)
        spans = spread([scale.get(column, (np.nan, np.nan))[1] for scale in scales], codes, float)
        take = np.isnan(value) & ~np.isnan(readings[column]) & ~np.isnan(spans)
        value[take], low[take], span[take] = readings[column][take], lows[take], spans[take]
        name[take] = column
    frame[signal], frame[f"{signal}_low"], frame[f"{signal}_span"] = value, low, span
    frame[f"{signal}_column"] = name
    frame[f"{signal}_share"] = (value - low) / span
