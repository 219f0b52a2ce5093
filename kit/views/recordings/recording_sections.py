"""What a recording shows, part by part: the trace with its tests, and what came of each kind of test."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from kit.assessment.results import RecordingResult, StageResult, TagAssessment
from kit.assessment.shown.calculated import Reduction
from kit.assessment.shown.comparisons import comparisons
from kit.assessment.shown.loss_timeline import loss_timeline
from kit.assessment.shown.recording_curves import drawable, restless
from kit.assessment.shown.recording_values import running_share_pct
from kit.basis.records import TagRecords
from kit.basis.registers import Tag
from kit.views.figures.loss_figure import loss_figure
from kit.views.figures.rest_figure import rest_figure
from kit.views.figures.speed_figure import speed_figure
from kit.views.figures.step_figure import steps_figure
from kit.views.figures.switch_event_figure import events_figure
from kit.views.figures.trace_figure import trace_figure
from kit.views.figures.track_figure import track_figure
from kit.views.figures.trial_figure import trials_figure
from kit.views.pieces.numbers import number, plain
from kit.views.pieces.parts import Part
from kit.views.pieces.sheets import Sheet, missing, placed, placed_tables
from kit.views.pieces.text_tables import stage_word
from kit.views.recordings import recording_tables as tables
from kit.views.recordings.compared_table import compared_table
from kit.views.recordings.segments_table import segments_table

_NO_LIVE_ZERO = (
    "The command range has no live zero: in the recording, an open or shorted signal cannot be told from a command "
    "of 0 %; only samples without a command count as a loss of signal."
)


_IN_SERVICE = (
    "The valve was in service{}: the command moved all the time, and no test was made. Who made one in it names it in "
    "the table segments."
)


def recordings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The section on recordings; one line where there is none."""
    parts = (trace, service, readings, step_responses, smallest_commands, rests, typed_and_recorded)
    return [part for made in parts for part in made(records, assessment)]


def trace(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Every recording of the newest visit as a whole, with what was found on it and what came of it."""
    stages = [stage for stage in (assessment.deciding, assessment.as_found) if stage is not None]
    shown = stages[:1] if assessment.as_found is assessment.deciding else stages
    parts = [part for stage in shown for result in stage.recordings for part in _whole(result, stage, records.tag)]
    return parts or [missing("No recording was made on this visit.")]


def service(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """What recordings of ordinary service show."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.service is not None:
            share = running_share_pct(reduction)
            lines = (_IN_SERVICE.format(name), _starts_line(reduction))
            yield placed_tables("service", [tables.service_table(reduction.service, share)], *lines)

    return _of_each(assessment.deciding, made)


def readings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The static readings that the holds of the recordings give."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.service is not None:
            return
        if reduction.readings:
            yield placed_tables("readings", [tables.readings_table(reduction, records.tag)])
        else:
            yield missing(
                f"No static reading{name}: the valve did not come to rest at a command reached by 3 % or more."
            )

    return _of_each(assessment.deciding, made)


def step_responses(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Step responses laid over each other, and the figures of each."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.service is not None:
            return
        if not reduction.steps:
            yield missing(f"No step response{name}: no step of 2 % or more that is not a full stroke was recorded.")
            return
        if drawable(reduction.steps):
            yield steps_figure(reduction.steps, records.tag, f"Step responses{name}")
        yield placed_tables("steps", [tables.steps_table(reduction.steps)])

    return _of_each(assessment.deciding, made)


def smallest_commands(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The trials of dead band and resolution."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.service is not None:
            return
        if reduction.trials:
            yield trials_figure(reduction.trials, records.tag, f"Dead band and resolution{name}")
        else:
            yield missing(
                f"No trial of dead band or resolution{name}: neither small steps nor ramps that the valve answered."
            )

    return _of_each(assessment.deciding, made)


def rests(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """What the travel does with the command at rest."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.service is not None:
            return
        if not reduction.rests:
            yield missing(f"No rest{name}: the command was not at rest for a minute.")
            return
        worst = restless(reduction.rests)
        if worst is not None:
            yield rest_figure(worst, reduction.recording, records.tag, f"Travel with the command at rest{name}")
        yield placed_tables("rests", [tables.rests_table(reduction.rests)], _starts_line(reduction))

    return _of_each(assessment.deciding, made)


def typed_and_recorded(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Checks that have a typed and a recorded value, side by side."""
    found = [] if assessment.deciding is None else comparisons(assessment.deciding)
    return [placed_tables("compared", [compared_table(found)])] if found else []


def strokes(stage: StageResult | None, tag: Tag) -> list[Part]:
    """Full strokes of the recordings: time, speed over the travel, pulses."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.strokes:
            yield speed_figure(reduction.strokes, tag, f"Speed over the travel{name}")
            yield placed_tables("strokes", [tables.strokes_table(reduction.strokes)])

    return _of_each(stage, made)


def losses(stage: StageResult | None, tag: Tag) -> list[Part]:
    """Losses of signal and supply in the recordings, each as a timeline."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        for count, loss in enumerate(reduction.losses, start=1):
            which = f" {count}" if len(reduction.losses) > 1 else ""
            yield loss_figure(loss_timeline(loss, reduction, tag), tag, f"{which}{name}")
        if reduction.losses:
            yield placed_tables("losses", [tables.losses_table(reduction.losses, reduction)])

    parts = _of_each(stage, made)
    if stage is None or not stage.recordings or tag.command_range is None or tag.command_range.has_live_zero:
        return parts
    return [*parts, placed(Sheet("losses", lines=(_NO_LIVE_ZERO,)))]


def switches(stage: StageResult | None, tag: Tag) -> list[Part]:
    """Makes and breaks of the limit switches in the recordings."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.switch_events:
            yield events_figure(reduction.switch_events, tag, f"Limit switches in the recording{name}")
            yield placed_tables("switches", [tables.events_table(reduction.switch_events)])

    return _of_each(stage, made)


def track(stage: StageResult | None, tag: Tag) -> list[Part]:
    """Feedback over the measured position in the recordings."""

    def made(reduction: Reduction, name: str) -> Iterable[Part]:
        if reduction.track is not None:
            yield track_figure(reduction.track, tag, f"Feedback over the position{name}")

    return _of_each(stage, made)


def _whole(result: RecordingResult, stage: StageResult, tag: Tag) -> list[Part]:
    """One recording: what it is, its trace, its parts."""
    if result.reduction is None:
        return [missing(f"{result.file}: nothing of it can be used. {result.why_not}".strip())]
    which = f", {result.name}" if result.name else ""
    title = f"Recording, {stage_word(stage.stage)}{which}"
    by = "set by a person in the table segments" if result.segments_set else "found in it"
    caption = f"Parts of the recording, {by}"
    tables = (segments_table(result.reduction, caption=caption),) if result.reduction.segments else ()
    return [
        trace_figure(result.reduction, tag, title, _owner_line(result)),
        placed(Sheet("recording", lines=_about(result, result.reduction), tables=tables)),
    ]


def _owner_line(result: RecordingResult) -> str:
    if not result.segments_set:
        return "Who does not agree with a part sets it right in the table segments."
    return "These parts were set by a person in the table segments and replace what was found."


def _about(result: RecordingResult, reduction: Reduction) -> tuple[str, ...]:
    """The recording in sentences: file, length, rate, what stands for the travel."""
    recording = reduction.recording
    start = f", from {result.start}" if result.start else ""
    gaps = "" if not recording.gaps else f" and {_gaps(len(recording.gaps))}"
    lines = [
        f"{result.file}: {number(recording.duration_s, 0)} s recorded{gaps}, {len(recording)} samples, one each "
        f"{plain(float(f'{recording.interval_s:.3g}'))} s{start}."
    ]
    if recording.travel_is_feedback:
        lines.append(
            "No position was recorded: the feedback stands for the travel, so that the feedback itself is not verified."
        )
    return tuple(lines)


def _gaps(count: int) -> str:
    return "a gap" if count == 1 else f"{count} gaps"


def _starts_line(reduction: Reduction) -> str:
    starts = reduction.starts
    if starts.value is None:
        return f"Starts per hour: not determined, {starts.why_not}."
    count, share = starts.beside.get("starts", 0.0), starts.beside.get("running_share_pct", 0.0)
    return (
        f"Over the whole recording: {number(count, 0)} starts, {number(starts.value, 0)} an hour; the valve moved for "
        f"{number(share, 1)} % of the time."
    )


def _of_each(stage: StageResult | None, made: Callable[[Reduction, str], Iterable[Part]]) -> list[Part]:
    """Parts of every recording of a stage; where there are several, each says which it is."""
    usable = [] if stage is None else [(result, result.reduction) for result in stage.recordings]
    parts: list[Part] = []
    for result, reduction in usable:
        if reduction is not None:
            name = f", {result.name or result.file}" if len(usable) > 1 else ""
            parts += made(reduction, name)
    return parts
