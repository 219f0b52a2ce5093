"""Readings as the search for typing errors sees them, made directly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd

from kit.basis.registers import Instrument, Tag
from kit.basis.rows import Rows, empty_rows
from kit.basis.signals import SignalRange
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.records.suspicions.sightings import Seen, sightings
from kit.records.suspicions.suspicions import see

LOOP = SignalRange(4.0, 20.0, "mA", "4-20 mA")
TAG = Tag("T", travel=90.0, travel_unit="deg", command_range=LOOP, feedback_range=LOOP)


def rows(table: str, given: Sequence[dict[str, Any]]) -> Rows:
    """Rows of a table of the records, from row 2 of one file on."""
    found: dict[str, Any] = {}
    for name, blank in empty_rows(TABLES[table]).columns.items():
        if name in ("file", "row"):
            continue
        usual: Any = np.nan if blank.dtype == float else {"tag": "T", "visit": "1", "stage": "as_left"}.get(name, "")
        values = [each.get(name, usual) for each in given]
        found[name] = np.array(values, dtype=blank.dtype)
    found["file"] = np.array([f"records/{table}.csv"] * len(given), dtype=object)
    found["row"] = np.arange(2, 2 + len(given))
    return Rows(found)


def frame(given: Sequence[dict[str, Any]], *tags: Tag) -> pd.DataFrame:
    """The frame of these readings; of the usual tag, unless others are given."""
    return sightings(rows("readings", given), {tag.tag: tag for tag in tags or (TAG,)})


def run(commands: Sequence[float], positions: Sequence[float], **more: Any) -> list[dict[str, Any]]:
    """Readings of one run in %."""
    return [
        {"direction": "up", "command_pct": command, "position_pct": position, **more}
        for command, position in zip(commands, positions, strict=True)
    ]


def seen(instruments: Sequence[Instrument] = (), **tables: Sequence[dict[str, Any]]) -> Seen:
    """A unit of the usual tag and its twin, with these rows."""
    every = {name: rows(name, tables.get(name, ())) for name in (*MEASUREMENTS, "visits")}
    return see(every, {"T": TAG, "U": replace(TAG, tag="U")}, instruments)
