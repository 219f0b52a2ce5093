"""Holds of recordings as rows of readings, so that every check of typed readings holds for them as well."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.basis.tables.measurements import READINGS
from kit.basis.verdicts import Stage


def holds_as_readings(recordings: StageRecordings, tag: Tag, visit: str, stage: Stage) -> Rows:
    """One row of the table readings for each hold, in order of the recordings; ``row`` counts the holds from 1.

    Recordings without a measured position have none.
    """
    found = [
        (result.file, number, first, reading)
        for first, result in enumerate(recordings.results)
        if result.reduction is not None and not result.reduction.recording.travel_is_feedback
        for number, reading in enumerate(result.reduction.readings, start=1)
    ]
    columns: dict[str, NDArray[Any]] = {
        name: np.full(len(found), np.nan) if READINGS.kind(name) == "number" else _texts([""] * len(found))
        for name in READINGS.columns
    }
    columns["tag"] = _texts([tag.tag] * len(found))
    columns["visit"] = _texts([visit] * len(found))
    columns["stage"] = _texts([stage] * len(found))
    columns["cycle"] = _texts([f"{first + 1}.{reading.cycle}" for _, _, first, reading in found])
    columns["direction"] = _texts(["up" if reading.rising else "down" for *_, reading in found])
    columns["command_pct"] = _numbers([reading.command_pct for *_, reading in found])
    columns["position_pct"] = _numbers([reading.travel_pct for *_, reading in found])
    columns["feedback_pct"] = _numbers(
        [np.nan if np.isnan(reading.position_pct) else reading.feedback_pct for *_, reading in found]
    )
    columns["file"] = _texts([file for file, *_ in found])
    columns["row"] = np.array([number for _, number, _, _ in found], dtype=np.int64)
    return Rows(columns)


def _texts(values: Sequence[str]) -> NDArray[Any]:
    column = np.empty(len(values), dtype=object)
    column[:] = values
    return column


def _numbers(values: Sequence[float]) -> FloatArray:
    return np.array(values, dtype=float)
