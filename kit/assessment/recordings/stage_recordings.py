"""The recordings of one stage, reduced, with what a person set for them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

import numpy as np

from kit.assessment.recordings.kept import REDUCTIONS
from kit.assessment.recordings.one_after_another import in_order, read_once
from kit.assessment.results import RecordingResult
from kit.assessment.scaling import ideal_pct, slope
from kit.basis.arrays import FloatArray
from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import Tag
from kit.basis.verdicts import Stage
from kit.calculations.recordings.holds import StaticReading
from kit.calculations.recordings.hunting import Stillness
from kit.calculations.recordings.left_out import UNSETTLED
from kit.calculations.recordings.loss import Loss
from kit.calculations.recordings.reduce import Reduction, reduce_recording
from kit.calculations.recordings.segments import REST_S
from kit.calculations.recordings.steps import StepResponse
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.trials import Trial


@dataclass(frozen=True, slots=True)
class StageRecordings:
    """A stage's recordings.

    Notes
    -----
    House definition: the feedback is no position. A recording without a position column tells when the valve moved
    and stood, and not where: its holds, its switches and the positions of its losses are judged nowhere.
    """

    results: tuple[RecordingResult, ...]

    @property
    def reductions(self) -> list[Reduction]:
        return [each.reduction for each in self.results if each.reduction is not None]

    @property
    def measured(self) -> list[Reduction]:
        """Those in which the position was measured."""
        return [each for each in self.reductions if not each.recording.travel_is_feedback]

    @property
    def unmeasured(self) -> list[Reduction]:
        """Those in which the feedback stands for the travel."""
        return [each for each in self.reductions if each.recording.travel_is_feedback]

    @property
    def holds(self) -> list[StaticReading]:
        """Of recordings with a measured position."""
        return [reading for each in self.measured for reading in each.readings]

    def hold_noise_pct(self, tag: Tag) -> FloatArray:
        """What noise, steps and drift leave open in the position error of each hold, shape (holds,) [% of travel].

        Notes
        -----
        JCGM 100:2008, 5.1.2: the error is position less ideal position, so that the command's part comes by the slope
        of the characteristic at its own place.
        """
        command = np.array([each.command_pct for each in self.holds], dtype=float)
        of_command = np.array([each.command_deviation_pct for each in self.holds], dtype=float)
        of_travel = np.array([each.travel_deviation_pct for each in self.holds], dtype=float)
        return np.asarray(np.hypot(of_travel, slope(command, tag) * of_command), dtype=float)

    @property
    def hold_feedback_noise_pct(self) -> FloatArray:
        """The same of feedback less position, shape (holds,) [% of travel]; nan without a feedback."""
        of_feedback = np.array([each.feedback_deviation_pct for each in self.holds], dtype=float)
        of_travel = np.array([each.travel_deviation_pct for each in self.holds], dtype=float)
        return np.asarray(np.hypot(of_travel, of_feedback), dtype=float)

    @property
    def never_at_rest(self) -> str:
        """Why the static checks rest on too little although points were held: a hold of a minute never came to rest.

        Notes
        -----
        House definition. A shorter hold was left early; a valve that hunts is read over its swings, and hunting tells.
        """
        swings = {rest.segment for each in self.measured for rest in each.rests if rest.kind == "hunting"}
        found = [
            held
            for each in self.measured
            for held in each.left_out
            if held.why == UNSETTLED
            and held.to_s - held.from_s >= REST_S
            and not any(each.from_s < held.to_s and held.from_s < each.to_s for each in swings)
        ]
        if not found:
            return ""
        first = found[0]
        count = "1 hold" if len(found) == 1 else f"{len(found)} holds"
        when = f"from {first.from_s:.0f} to {first.to_s:.0f} s"
        return f"{count} of a minute and more never came to rest, the first {when}: find out why, and hold it longer"

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

    def by_feedback(self, *parts: object) -> bool:
        """Whether some of these strokes, steps, trials, rests or losses are of a recording without a position."""
        own = {
            id(part)
            for each in self.unmeasured
            for part in (*each.strokes, *each.steps, *each.trials, *each.rests, *each.losses)
        }
        return any(id(part) in own for part in parts)


NO_RECORDINGS: Final = StageRecordings(())
NO_POSITION: Final = "the recording has no measured position"


def stage_recordings(records: TagRecords, visit: str, stage: Stage) -> StageRecordings:
    """Cut and reduce every recording of one stage, in order of their start, what two files share once."""
    own = [each for each in records.recordings if (each.visit, each.stage) == (visit, stage)]
    once = read_once(in_order(own))
    return StageRecordings(tuple(replace(_result(each, records.tag), note=note) for each, note in once))


def ideal_of(tag: Tag) -> Callable[[float], float]:
    """The tag's ideal position [% of travel] for one command [% of command range]."""
    return lambda command_pct: float(ideal_pct(command_pct, tag))


def slope_of(tag: Tag) -> Callable[[float], float]:
    """The slope of the tag's ideal position [% of travel per % of command range] at one command."""
    return lambda command_pct: float(slope(command_pct, tag))


def feedback_is_raw(tag: Tag) -> bool:
    """Whether a feedback in % stands for the wiper on its track.

    Notes
    -----
    House definition: the register gives no feedback range and a track resistance.
    """
    return tag.feedback_range is None and tag.track_ohm is not None


def _result(source: RecordingFile, tag: Tag) -> RecordingResult:
    if source.recording is None:
        return RecordingResult(
            source.file, source.name, source.start, None, why_not=source.why_not, read_by=source.read_by
        )
    reduce = partial(
        reduce_recording,
        source.recording,
        ideal_of(tag),
        slope=slope_of(tag),
        segments=source.segments,
        feedback_is_raw=feedback_is_raw(tag),
    )
    reduction = REDUCTIONS.recall((source.recording, source.segments, tag), reduce)
    by_hand = source.segments is not None
    return RecordingResult(
        source.file, source.name, source.start, reduction, segments_set=by_hand, read_by=source.read_by
    )
