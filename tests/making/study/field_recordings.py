"""Random valves, recorded as the field does it: every class of logger, routine and valve, through the real reader."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.assessment.recordings.stage_recordings import ideal_of
from kit.basis.checks import CheckName
from kit.basis.recording import Recording
from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.settings import DecisionRule, Limit, LimitSet, UnitSettings
from kit.basis.tables import MEASUREMENTS
from kit.records.recordings.read import RecordingReading, read_recording
from tests.making.study.field_classes import Classes, drawn_classes, drawn_logger
from tests.making.study.field_valves import field_valve
from tests.making.study.measured_valves import rows_of
from tests.making.valves import (
    TWO_FILES,
    Logger,
    Motion,
    Recorded,
    Routine,
    Truth,
    VirtualValve,
    field_routine,
    file_ends_s,
    parquet_bytes,
    simulate_seen,
    truth_of,
)

_LONGEST_STEP_S: Final = 0.004
_STEPS_A_SAMPLE: Final = 10.0  # at least, so that what is true is known better than what was recorded
_EXACT: Final = 1e-6  # instruments that add nothing: what is stated is of sampling, noise and scatter
INSTRUMENTS: Final = (
    Instrument("C", "pct", accuracy_fixed=_EXACT),
    Instrument("P", "pct", accuracy_fixed=_EXACT),
    Instrument("F", "pct", accuracy_fixed=_EXACT),
    Instrument("S", "s", accuracy_fixed=_EXACT),
    Instrument("V", "V", accuracy_fixed=_EXACT),
)
VISIT: Final = Visit("1", "2026-03-10", "Technician 1", "", "", "C", "P", "F", "S", "", "V")


@dataclass(frozen=True)
class FieldRecording:
    """One valve, what it was told, what is true, what was written and what was read of it."""

    start_number: int
    classes: Classes
    valve: VirtualValve
    routine: Routine
    logger: Logger
    motion: Motion  # as the sensors see it, free of noise
    truth: Truth
    recorded: Recorded
    tag: Tag
    readings: tuple[RecordingReading, ...]  # one a file

    @property
    def rate_hz(self) -> float:
        return self.logger.rate_hz

    @property
    def recording(self) -> Recording | None:
        """Of the first file."""
        return self.readings[0].recording


def field_recording(start_number: int, only: Mapping[str, Sequence[str]] | None = None) -> FieldRecording:
    """The recording of a number; ``only`` restricts the classes that it is drawn from."""
    classes = drawn_classes(start_number, only)
    generator = np.random.default_rng((start_number, 2))
    valve = field_valve(classes, generator)
    routine = field_routine(classes.routine, valve, generator)
    logger = drawn_logger(classes, generator, duration_s=routine.duration_s)
    step_s = min(_LONGEST_STEP_S, 1.0 / (_STEPS_A_SAMPLE * logger.rate_hz))
    motion, recorded, truth = simulate_seen(valve, routine, logger, generator=generator, step_s=step_s)
    if classes.channels == "no position":  # what can be known of the travel is what the feedback shows
        motion = replace(motion, stem_pct=motion.feedback_pct)
        truth = truth_of(motion, valve, routine)
    tag = tag_of(valve)
    readings = tuple(
        _read(number, part, tag) for number, part in enumerate(_files(recorded, classes, routine), start=1)
    )
    return FieldRecording(start_number, classes, valve, routine, logger, motion, truth, recorded, tag, readings)


def _files(recorded: Recorded, classes: Classes, routine: Routine) -> list[Recorded]:
    """All in one file; of cycles in two files, the second from the middle one of its holds at 0 % on."""
    if classes.routine != TWO_FILES:
        return [recorded]
    cut_s = file_ends_s(routine)
    first = recorded.time_s < cut_s
    parts = ({name: values[own] for name, values in recorded.columns.items()} for own in (first, ~first))
    return [replace(recorded, columns=columns) for columns in parts]


def _read(number: int, recorded: Recorded, tag: Tag) -> RecordingReading:
    source = RecordingFile(f"logs/T/1.as_left.{number}.parquet", tag.tag, "1", "as_left", str(number), "")
    return read_recording(source, parquet_bytes(recorded), tag)


def tag_of(valve: VirtualValve) -> Tag:
    """The register's row of a valve."""
    controller = valve.controller
    low, high = controller.closed_cut_off_pct, controller.open_cut_off_pct
    is_equal = controller.rangeability is not None
    return Tag(
        "T",
        service="Invented",
        motion="rotary",
        travel=valve.travel,
        travel_unit="deg",
        duty="modulating",
        command_range=valve.command_range,
        feedback_range=valve.feedback_range,
        action="reverse" if controller.reverse else "direct",
        characteristic="equal_percentage" if is_equal else "linear",
        rangeability=controller.rangeability or 50.0,
        fail_action=valve.signal_loss.action,
        fail_action_supply="hold",
        stroke_time_open_s=100.0 / valve.motor.open_speed_pct_s,
        stroke_time_close_s=100.0 / valve.motor.close_speed_pct_s,
        starts_per_hour_max=1200.0,
        shut_below_pct=None if controller.reverse or is_equal else low,
        open_above_pct=None if controller.reverse or is_equal else high,
        limits="study",
    )


def records_of(
    field: FieldRecording, limits: Mapping[CheckName, Limit] | None = None, *, rule: DecisionRule = "by_ratio"
) -> TagRecords:
    """The recording as all that was recorded of its tag."""
    limit_set = LimitSet("study", limits or {}, ())
    settings = UnitSettings("study", "Study", decision_rule=rule, limit_sets={"study": limit_set})
    tables = {name: rows_of(name, []) for name in MEASUREMENTS}
    return TagRecords(
        settings,
        field.tag,
        INSTRUMENTS,
        (VISIT,),
        tables,
        tuple(problem for reading in field.readings for problem in reading.problems),
        {},
        tuple(reading.source for reading in field.readings),
    )


def ideal_pct(field: FieldRecording, command_pct: float) -> float:
    """Where a command asks the valve to be [% of travel]."""
    return ideal_of(field.tag)(command_pct)
