"""Samples whose two columns of position contradict each other."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording import extents
from kit.basis.records import Problem
from kit.basis.registers import Tag
from kit.records.recordings.channels import RecordingColumns, extent_problem

_ROUNDING_PCT: Final = 1e-6
_TEXT: Final = "position_pct and {own} contradict each other. Keep the column that was measured."


def contradictions(file: str, columns: RecordingColumns, tag: Tag, problems: list[Problem]) -> NDArray[np.bool_]:
    """The samples, shape (n,), whose position in % and in the travel's own unit are not one; each extent is told.

    Notes
    -----
    House definition: the two agree within half the sum of their resolutions, each the smallest step between two
    different values of its column. A command in % beside the measured signal is what was asked for, and stays at its
    value when the signal is lost; a feedback in % is what a station shows, late: neither is held against the signal.
    """
    own = f"position_{tag.travel_unit}"
    if not tag.travel or "position_pct" not in columns.numbers or own not in columns.numbers:
        return np.zeros(len(columns), dtype=bool)
    given, in_pct = columns.numbers["position_pct"], columns.numbers[own] / tag.travel * 100.0
    apart = np.abs(given - in_pct) > (_step(given) + _step(in_pct)) / 2 + _ROUNDING_PCT
    apart &= ~columns.bad
    for place in extents(apart):
        value = f"{given[place[0]]:.4g} % and {in_pct[place[0]]:.4g} %"
        text = _TEXT.format(own=own)
        problems.append(extent_problem(file, columns.rows, place, "position_pct", value, text, set_aside=True))
    return apart


def _step(values: NDArray[np.float64]) -> float:
    """The smallest step between two different values; 0 where there is one value alone."""
    steps = np.diff(np.unique(values[np.isfinite(values)]))
    return float(steps.min()) if steps.size else 0.0
