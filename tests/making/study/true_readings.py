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
from tests.making.valves import Piece
from tests.making.valves.closed_forms import limit_cycle

_MEAN_S: Final = 0.3  # of a valve at rest
_SWINGS: Final = 1.5  # farther from where it ends a valve that hunts is on its way
_APPROACH_PCT: Final = 1.0  # of command: a lesser change does not count as a way to a hold
_LATE_S: Final = 2.0  # so long after a change of the command a hold may seem to last


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
    motion, (number, piece) = field.motion, _piece_of(field, reading.at_s)
    step_s = float(motion.time_s[1] - motion.time_s[0])
    end = max(1, min(int(piece.to_s / step_s), motion.time_s.size - 1))
    wanted_s = min(_mean_s(field, piece), piece.to_s - piece.from_s)
    span = slice(max(0, end - max(1, round(wanted_s / step_s))), end)
    return (
        float(motion.command_pct[end - 1]),
        float(motion.stem_pct[span].mean()),
        float(motion.feedback_pct[span].mean()),
        "up" if _rising(field, number) else "down",
    )


def _piece_of(field: FieldRecording, at_s: float) -> tuple[int, Piece]:
    """The piece at the end of which a valve stood that a hold ending at a time is of, and its number.

    A hold that seems to end on a ramp, or shortly after a change of the command, is of the piece before.
    """
    pieces = field.routine.pieces
    number = max(0, sum(each.from_s < at_s for each in pieces) - 1)
    before = pieces[number - 1]
    if number and at_s - pieces[number].from_s < _LATE_S < before.to_s - before.from_s:
        number -= 1
    while number and pieces[number].kind == "ramp":
        number -= 1
    return number, pieces[number]


def _mean_s(field: FieldRecording, piece: Piece) -> float:
    """What a true reading is the mean over: of a valve that hunts, the whole swings since it arrived."""
    cycle, motion = limit_cycle(field.valve), field.motion
    if cycle is None:
        return _MEAN_S
    own = (motion.time_s >= piece.from_s) & (motion.time_s <= piece.to_s)
    time, stem = motion.time_s[own], motion.stem_pct[own]
    away = np.flatnonzero(np.abs(stem - stem[-1]) > _SWINGS * cycle.takeoff_amplitude_pct)
    arrived_s = float(time[away[-1]]) if away.size else piece.from_s
    return max(1, int((piece.to_s - arrived_s) / cycle.period_s)) * cycle.period_s


def _rising(field: FieldRecording, number: int) -> bool:
    """Whether the stem came to where it is at the end of a piece as for a rising command, since that last changed."""
    pieces = field.routine.pieces
    before = [field.routine.start_pct, *(each.end_pct for each in pieces)]
    if number == 0:
        return True  # nothing before it was recorded: the start of the way up, as usual
    here = pieces[number].end_pct
    away = [each for each in range(number + 1) if abs(here - before[each]) >= _APPROACH_PCT]  # jogs add up to a way
    begun_s = pieces[away[-1]].from_s if away else 0.0
    start_pct, end_pct = np.interp([begun_s, pieces[number].to_s], field.motion.time_s, field.motion.stem_pct)
    return bool((end_pct > start_pct) != field.valve.controller.reverse)
