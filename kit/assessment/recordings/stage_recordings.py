"""The recordings of one stage, read and reduced, with what a person set for them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, cast

import numpy as np

from kit.assessment.results import RecordingResult
from kit.assessment.scaling import ideal_pct
from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording, Segment, What
from kit.basis.records import Problem, RecordingFile, TagRecords
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.basis.verdicts import Stage
from kit.calculations.recordings.holds import StaticReading
from kit.calculations.recordings.hunting import Stillness
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction, reduce_recording
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.trials import Trial
from kit.records.recordings.read import read_recording


@dataclass(frozen=True, slots=True)
class StageRecordings:
    """A stage's recordings, and what was found wrong with the segments that a person set for them."""

    results: tuple[RecordingResult, ...]
    problems: tuple[Problem, ...] = ()

    @property
    def reductions(self) -> list[Reduction]:
        return [each.reduction for each in self.results if each.reduction is not None]

    @property
    def holds(self) -> list[StaticReading]:
        return [reading for each in self.reductions for reading in each.readings]

    @property
    def hold_noise_pct(self) -> FloatArray:
        """Standard deviation of the travel's noise in the mean of each hold, shape (holds,) [% of travel]."""
        return np.array([each.travel_deviation_pct for each in self.holds], dtype=float)

    @property
    def strokes(self) -> list[Stroke]:
        return [stroke for each in self.reductions for stroke in each.strokes]

    @property
    def steps(self) -> list[StepResponse]:
        return [step for each in self.reductions for step in each.steps]

    @property
    def trials(self) -> list[Trial]:
        return [trial for each in self.reductions for trial in each.trials]

    @property
    def rests(self) -> list[Stillness]:
        return [rest for each in self.reductions for rest in each.rests]

    @property
    def losses(self) -> list[Loss]:
        return [loss for each in self.reductions for loss in each.losses]

    @property
    def travel_is_feedback(self) -> bool:
        """Whether some recording has no position column, so that its feedback stands for the travel."""
        return any(each.recording.travel_is_feedback for each in self.reductions)


NO_RECORDINGS: Final = StageRecordings(())


def stage_recordings(records: TagRecords, visit: str, stage: Stage) -> StageRecordings:
    """Read, cut and reduce every recording of one stage."""
    logs = [log for log in records.recordings if log.visit == visit and log.stage == stage]
    if not logs:
        return NO_RECORDINGS
    rows = _segment_rows(records, visit, stage)
    problems: list[Problem] = []
    results = tuple(_result(log, records.tag, _own(rows, log, logs, problems), problems) for log in logs)
    return StageRecordings(results, tuple(problems))


def ideal_of(tag: Tag) -> Callable[[float], float]:
    """The tag's ideal position [% of travel] for one command [% of command range]."""
    return lambda command_pct: float(ideal_pct(command_pct, tag))


def feedback_is_raw(tag: Tag) -> bool:
    """Whether a feedback in % stands for the wiper on its track.

    Notes
    -----
    House definition: the register gives no feedback range and a track resistance.
    """
    return tag.feedback_range is None and tag.track_ohm is not None


def _segment_rows(records: TagRecords, visit: str, stage: Stage) -> Rows | None:
    table = records.tables.get("segments")
    if table is None or not len(table):
        return None
    return table.only("visit", visit).only("stage", stage)


def _own(rows: Rows | None, log: RecordingFile, logs: Sequence[RecordingFile], problems: list[Problem]) -> Rows | None:
    """The rows of segments that are for one recording."""
    if rows is None or not len(rows):
        return None
    named = np.array([name.casefold() == log.name.casefold() and bool(name) for name in rows["log"]], dtype=bool)
    blank = np.asarray(rows["log"] == "", dtype=bool)
    own = rows.where(named | blank) if len(logs) == 1 or not log.name else rows.where(named)
    if log is logs[0]:
        _tell_unmatched(rows, logs, problems)
    return own if len(own) else None


def _tell_unmatched(rows: Rows, logs: Sequence[RecordingFile], problems: list[Problem]) -> None:
    names = {log.name.casefold() for log in logs}
    for place, name in enumerate(rows["log"].tolist()):
        if (name and name.casefold() in names) or (not name and (len(logs) == 1 or "" in names)):
            continue
        known = ", ".join(log.name or "(no name)" for log in logs)
        text = f"No recording of this stage has that name, so that the segment is not used. There are: {known}."
        problems.append(_problem(rows, place, "log", name, text))


def _result(log: RecordingFile, tag: Tag, rows: Rows | None, problems: list[Problem]) -> RecordingResult:
    reading = read_recording(log, tag)
    if reading.recording is None:
        why_not = reading.problems[0].problem if reading.problems else "no sample of it could be used"
        return RecordingResult(log.file, log.name, reading.start, None, why_not=why_not)
    segments = None if rows is None else _segments(rows, reading.recording, log, problems)
    reduction = reduce_recording(
        reading.recording, ideal_of(tag), segments=segments, feedback_is_raw=feedback_is_raw(tag)
    )
    return RecordingResult(log.file, log.name, reading.start, reduction, segments_set=segments is not None)


def _segments(rows: Rows, recording: Recording, log: RecordingFile, problems: list[Problem]) -> list[Segment]:
    """What a person says is in a recording, as far as it lies in it."""
    first, last = float(recording.time_s[0]), float(recording.time_s[-1])
    slack = recording.interval_s
    found = []
    for place in range(len(rows)):
        start, end = float(rows["from_s"][place]), float(rows["to_s"][place])
        if end <= start:
            problems.append(_problem(rows, place, "to_s", f"{end:g}", "to_s is not after from_s: not used."))
        elif start < first - slack or end > last + slack:
            text = f"{log.file} goes from {first:g} to {last:g} s: the segment is not used."
            problems.append(_problem(rows, place, "from_s", f"{start:g}", text))
        else:
            found.append(Segment(cast(What, rows["what"][place]), start, end, log.visit, log.stage))
    return sorted(found, key=lambda each: (each.from_s, each.to_s))


def _problem(rows: Rows, place: int, column: str, value: str, text: str) -> Problem:
    return Problem(
        str(rows["file"][place]), int(rows["row"][place]), column, value, text, str(rows["tag"][place]), set_aside=False
    )
