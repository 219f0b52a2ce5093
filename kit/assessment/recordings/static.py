"""Holds of recordings as rows of readings, so that every check of typed readings holds for them as well."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kit.assessment.budgets import Day
from kit.assessment.finding import Finding
from kit.assessment.readings import feedback_findings, feedback_runs, position_findings, position_runs
from kit.assessment.recordings.stage_recordings import StageLogs
from kit.assessment.results import Role
from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.basis.tables.measurements import READINGS
from kit.basis.verdicts import Stage
from kit.calculations.position import Runs
from kit.calculations.recordings.holds import StaticReading


def log_readings(logs: StageLogs, tag: Tag, visit: str, stage: Stage) -> Rows:
    """One row of the table readings for each hold, in order of the recordings; ``row`` counts the holds from 1."""
    found = [
        (result.file, number, first, reading)
        for first, result in enumerate(logs.results)
        if result.reduction is not None
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


def log_position_runs(rows: Rows, tag: Tag) -> Runs | None:
    """Position errors of the holds, brought to test points."""
    return position_runs(rows, tag)


def log_feedback_runs(rows: Rows, tag: Tag) -> Runs | None:
    """Feedback errors of the holds, brought to test points; None where there was no position column."""
    return feedback_runs(rows, tag)


def static_findings(logs: StageLogs, rows: Rows, day: Day) -> list[Finding]:
    """Every position and feedback check of the holds."""
    readings = _all_readings(logs)
    noise = _numbers([each.travel_deviation_pct for each in readings])
    role: Role = "feedback" if travel_is_feedback(logs) else "position"
    return [
        *position_findings(rows, log_position_runs(rows, day.tag), day, noise, role),
        *feedback_findings(rows, log_feedback_runs(rows, day.tag), day, noise * 2.0**0.5),
    ]


def travel_is_feedback(logs: StageLogs) -> bool:
    """Whether some recording has no position column, so that its feedback stands for the travel."""
    return any(each.recording.travel_is_feedback for each in logs.reductions)


def _all_readings(logs: StageLogs) -> Sequence[StaticReading]:
    return [reading for each in logs.reductions for reading in each.readings]


def _texts(values: Sequence[str]) -> NDArray[Any]:
    column = np.empty(len(values), dtype=object)
    column[:] = values
    return column


def _numbers(values: Sequence[float]) -> FloatArray:
    return np.array(values, dtype=float)
