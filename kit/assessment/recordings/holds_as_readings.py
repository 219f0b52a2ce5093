"""Holds of recordings as rows of readings, so that every check of typed readings holds for them as well."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.basis.tables.measurements import READINGS
from kit.basis.verdicts import Stage
from kit.calculations.points import WITHIN_PCT
from kit.calculations.recordings.holds import StaticReading


def holds_as_readings(recordings: StageRecordings, tag: Tag, visit: str, stage: Stage) -> Rows:
    """One row of the table readings for each hold, in order of the recordings; ``row`` counts the holds from 1.

    Recordings without a measured position have none.

    Notes
    -----
    House definition: cycles are counted over all recordings of the stage, in their order. A cycle ends where the way
    turns to opening again, or where a hold lies before the one it would follow on that way, as in a file that
    begins anew; recordings that do not say when they started share no cycle.
    """
    found = [
        (result.file, number, result.start, reading)
        for result in recordings.results
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
    columns["cycle"] = _texts(_cycles([(file, start, reading) for file, _, start, reading in found]))
    columns["direction"] = _texts(["up" if reading.rising else "down" for *_, reading in found])
    columns["command_pct"] = _numbers([reading.command_pct for *_, reading in found])
    columns["position_pct"] = _numbers([reading.travel_pct for *_, reading in found])
    columns["feedback_pct"] = _numbers(
        [np.nan if np.isnan(reading.position_pct) else reading.feedback_pct for *_, reading in found]
    )
    columns["file"] = _texts([file for file, *_ in found])
    columns["row"] = np.array([number for _, number, _, _ in found], dtype=np.int64)
    return Rows(columns)


def _cycles(found: Sequence[tuple[str, str, StaticReading]]) -> list[str]:
    """The number of each hold's cycle."""
    names: list[str] = []
    cycle = 1
    for (file, start, before), (file_now, start_now, here) in pairwise(found):
        names.append(str(cycle))
        if file == file_now:
            cycle += here.cycle != before.cycle
            continue
        way = 1.0 if here.rising else -1.0
        begins_anew = way * (here.command_pct - before.command_pct) < -WITHIN_PCT
        turns = here.rising != before.rising
        cycle += not (start and start_now) or (here.rising if turns else begins_anew)
    return [*names, str(cycle)] if found else []


def _texts(values: Sequence[str]) -> NDArray[Any]:
    column = np.empty(len(values), dtype=object)
    column[:] = values
    return column


def _numbers(values: Sequence[float]) -> FloatArray:
    return np.array(values, dtype=float)
