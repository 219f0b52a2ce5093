"""How finely the instruments of the visits read, beside each reading: from the register alone."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd

from kit.basis.arrays import FloatArray
from kit.basis.registers import Instrument
from kit.basis.rows import Rows

_UNITS: Final[Mapping[str, str]] = {
    **{f"{signal}_{unit}": unit for signal in ("command", "feedback") for unit in ("mA", "V", "pct")},
    **{f"position_{unit}": unit for unit in ("deg", "mm", "pct")},
}


class Resolutions:
    """The resolution that the register gives the instrument of a visit for a column."""

    def __init__(self, visits: Rows, instruments: Sequence[Instrument]) -> None:
        self._visits = {
            (tag, visit): place for place, (tag, visit) in enumerate(zip(visits["tag"], visits["visit"], strict=True))
        }
        self._rows = visits
        self._finest: dict[tuple[str, str], float] = {}
        for each in instruments:
            key = each.instrument, each.measures
            if each.resolution:
                self._finest[key] = min(each.resolution, self._finest.get(key, np.inf))

    def of(self, tag: str, visit: str, role: str, unit: str) -> float:
        """In ``unit``; nan where the visit names no instrument that measures it, or its resolution is blank."""
        place = self._visits.get((tag, visit))
        if place is None:
            return float("nan")
        name = str(self._rows[f"{role}_instrument"][place])
        return self._finest.get((name, unit), float("nan"))

    def of_readings(self, frame: pd.DataFrame, signal: str) -> FloatArray:
        """Of each reading of a signal, in the unit that it was typed in, shape (n,)."""
        keys = list(
            zip(frame["tag"].tolist(), frame["visit"].tolist(), frame[f"{signal}_column"].tolist(), strict=True)
        )
        known = {key: self.of(key[0], key[1], signal, _UNITS.get(key[2], "")) for key in dict.fromkeys(keys)}
        return np.array([known[key] for key in keys], dtype=float)
