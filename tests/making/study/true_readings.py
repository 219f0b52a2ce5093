"""The holds that were found in a recording, as they truly were: rows of readings free of noise."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.finding import Finding
from kit.assessment.recordings.holds_as_readings import holds_as_readings
from kit.assessment.recordings.stage_recordings import NO_RECORDINGS, StageRecordings
from kit.assessment.results import StageResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.feedback import FEEDBACK
from kit.assessment.subjects.position import POSITION
from kit.basis.rows import Rows
from kit.basis.settings import UnitSettings
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.calculations.recordings.holds import StaticReading
from tests.making.study.field_recordings import INSTRUMENTS, VISIT, FieldRecording
from tests.making.study.measured_valves import rows_of
from tests.making.valves.closed_forms import limit_cycle

_MEAN_S: Final = 2.0  # of a valve at rest
_ARRIVED_SHARE: Final = 0.6  # of a hold, by when a valve that hunts has arrived
_APPROACH_PCT: Final = 1.0  # of command: a lesser change does not count as a way to a hold
_EARLIER_S: Final = 0.5  # a hold ends before the command changes


def true_static_findings(field: FieldRecording, stage: StageResult) -> list[Finding]:
    """The checks of readings, drawn from what the valve truly did at the holds that were found.

    Notes
    -----
    **House definition**: the same calculations as for typed readings, from noise-free positions; which way a hold was
    come to is how the stem truly came since the command last changed.
    """
    tables = {name: rows_of(name, []) for name in MEASUREMENTS}
    tables["readings"] = _true_rows(field, stage)
    day = Day(UnitSettings("study", "Study"), field.tag, VISIT, INSTRUMENTS)
    records = StageRecords(day, "1", "as_left", tables, NO_RECORDINGS)
    return [*POSITION.typed(records), *FEEDBACK.typed(records)]


def _true_rows(field: FieldRecording, stage: StageResult) -> Rows:
    recordings = StageRecordings(stage.recordings)
    found = holds_as_readings(recordings, field.tag, "1", "as_left")
    true = [_true_reading(field, each) for each in recordings.holds]
    columns: dict[str, Any] = {name: found[name] for name in (*TABLES["readings"].columns, "file", "row")}
    for place, name in enumerate(("command_pct", "position_pct", "feedback_pct", "direction")):
        kind = object if name == "direction" else float
        columns[name] = np.array([each[place] for each in true], dtype=kind)
    return Rows(columns)


def _true_reading(field: FieldRecording, reading: StaticReading) -> tuple[float, float, float, str]:
    motion = field.motion
    step_s = float(motion.time_s[1] - motion.time_s[0])
    end_s = min(reading.at_s - max(_EARLIER_S, 1.0 / field.rate_hz), float(motion.time_s[-1]))
    end = max(1, int(end_s / step_s))
    span = slice(max(0, end - round(_mean_s(field, end_s) / step_s)), end)
    rising = _rising(field, end_s)
    return (
        float(motion.command_pct[end - 1]),
        float(motion.stem_pct[span].mean()),
        float(motion.feedback_pct[span].mean()),
        "up" if rising != field.valve.controller.reverse else "down",
    )


def _mean_s(field: FieldRecording, end_s: float) -> float:
    """What a true reading is the mean over: of a valve that hunts, the whole swings since it arrived."""
    cycle = limit_cycle(field.valve)
    if cycle is None:
        return _MEAN_S
    begun_s = next((each.from_s for each in reversed(field.routine.pieces) if each.from_s < end_s), 0.0)
    return max(1, int((1.0 - _ARRIVED_SHARE) * (end_s - begun_s) / cycle.period_s)) * cycle.period_s


def _rising(field: FieldRecording, end_s: float) -> bool:
    """Whether the stem came to where it is from below, since the command last changed."""
    motion, before = field.motion, [field.routine.start_pct, *(each.end_pct for each in field.routine.pieces)]
    pieces = [each for each in field.routine.pieces if each.from_s < end_s]
    begun_s = next(
        (
            piece.from_s
            for piece, was_pct in zip(reversed(pieces), reversed(before[: len(pieces)]), strict=True)
            if abs(piece.end_pct - was_pct) >= _APPROACH_PCT
        ),
        0.0,
    )
    start_pct, end_pct = np.interp([begun_s, end_s], motion.time_s, motion.stem_pct)
    return bool(end_pct > start_pct)
