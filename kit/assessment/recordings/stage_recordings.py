"""The recordings of one stage, reduced, with what a person set for them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from kit.assessment.results import LogResult
from kit.assessment.scaling import ideal_pct
from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import Tag
from kit.basis.verdicts import Stage
from kit.calculations.recordings.reduce import Reduction, reduce_recording


@dataclass(frozen=True, slots=True)
class StageLogs:
    """A stage's recordings."""

    results: tuple[LogResult, ...]

    @property
    def reductions(self) -> list[Reduction]:
        return [each.reduction for each in self.results if each.reduction is not None]


def stage_logs(records: TagRecords, visit: str, stage: Stage) -> StageLogs:
    """Cut and reduce every recording of one stage."""
    own = (each for each in records.recordings if (each.visit, each.stage) == (visit, stage))
    return StageLogs(tuple(_result(each, records.tag) for each in own))


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


def _result(source: RecordingFile, tag: Tag) -> LogResult:
    if source.recording is None:
        return LogResult(source.file, source.name, source.start, None, why_not=source.why_not)
    reduction = reduce_recording(
        source.recording, ideal_of(tag), segments=source.segments, feedback_is_raw=feedback_is_raw(tag)
    )
    return LogResult(source.file, source.name, source.start, reduction, segments_set=source.segments is not None)
