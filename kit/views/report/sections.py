"""The sections of a tag's report, each under its heading and a sentence that says what the reader sees."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, wraps

import numpy as np

from kit.assessment.results import StageResult, TagAssessment
from kit.basis.records import TagRecords
from kit.basis.registers import Tag
from kit.calculations.position import Runs
from kit.views.figures.devices import potentiometer_figure, switch_figure
from kit.views.figures.travel import calibration_figure, error_figure, feedback_figure, hysteresis_figure
from kit.views.pieces.parts import Part, Section, render
from kit.views.pieces.text_tables import Column, Sheet, Table, stage_rows
from kit.views.recordings import recording_sections as recorded
from kit.views.report import evidence, measured
from kit.views.report.proof_tables import fail_table

Shown = Callable[[TagRecords, TagAssessment], list[Part]]


@dataclass(frozen=True, slots=True)
class Heading:
    """What the heading's template takes."""

    title: str
    words: str


@dataclass(frozen=True, slots=True)
class Budgets:
    """What the budgets' template takes."""

    lines: tuple[str, ...]
    missing: str
    columns: tuple[Column, ...]
    budgets: tuple[evidence.BudgetPart, ...]


def _headed(title: str, words: str) -> Callable[[Shown], Shown]:
    """Put a section's heading and its sentence before its parts."""

    def placed(section: Shown) -> Shown:
        @wraps(section)
        def shown(records: TagRecords, assessment: TagAssessment) -> list[Part]:
            return [_heading(title, words), *section(records, assessment)]

        return shown

    return placed


@cache
def _heading(title: str, words: str) -> Section:
    return render("heading.html.j2", Heading(title, words))


def error_plot(assessment: TagAssessment, tag: Tag) -> list[Part]:
    """The position error over the command, where a stroke reading was recorded."""
    return _with_runs(assessment.deciding, lambda stage, runs: error_figure(stage, runs, tag))


@_headed("Every check", "Value, place, limit, uncertainty and method of each check, those without a limit too.")
def checks(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Every check with its method, value, uncertainty and probability of conformity."""
    return [_sheet(measured.checks_sheet(assessment))]


@_headed("Punch list", "What is left to do on this tag, and what the readings resemble.")
def punch_list(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """What is left to do on this tag, and what the readings resemble."""
    stage = assessment.deciding
    causes = [_sheet(evidence.causes_sheet(stage))] if stage is not None and stage.causes else []
    return [_sheet(evidence.punch_sheet(assessment)), *causes]


@_headed("Recordings", "What a logger recorded, with the tests that were found in it and what came of them.")
def recordings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """What a logger recorded: the trace with its tests, and what came of them beside strokes, switches and losses."""
    return recorded.recordings(records, assessment)


@_headed("Calibration", "Where the valve stood for each command, on its ideal characteristic.")
def calibration(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Calibration curve and test points, and the error as found where there was one."""
    stage, found = assessment.deciding, assessment.as_found
    curve = _with_runs(stage, lambda each, runs: calibration_figure(each, runs, records.tag))
    points = _with_runs(
        stage, lambda _, runs: _sheet(Sheet("points", tables=(measured.points_table(runs, records.tag),)))
    )
    before = [] if found is stage else _with_runs(found, lambda each, runs: error_figure(each, runs, records.tag))
    return [*curve, *points, *before] or [_missing("No stroke reading was recorded.")]


@_headed("Hysteresis", "How far up and down runs lie apart.")
def hysteresis(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The loop between the up means and the down means."""

    def drawn(stage: StageResult, runs: Runs) -> Part:
        if np.any(~np.isnan(runs.up_mean_pct) & ~np.isnan(runs.down_mean_pct)):
            return hysteresis_figure(stage, runs, records.tag)
        return _missing("No test point was read both up and down, so there is no hysteretic error.")

    return _with_runs(assessment.deciding, drawn) or [_missing("No stroke reading was recorded.")]


@_headed("Feedback", "What the feedback signal said, against the measured position.")
def feedback(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Feedback against measured position."""
    stage = assessment.deciding
    if stage is None or stage.feedback_runs is None:
        return [_missing("No feedback was recorded beside the position.")]
    return [feedback_figure(stage, stage.feedback_runs, records.tag)]


@_headed("Potentiometer", "The feedback potentiometer over the travel, and the track left at both ends.")
def potentiometer(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The feedback potentiometer over the travel."""
    stage = assessment.deciding
    swept = [] if stage is None or stage.sweep is None else [potentiometer_figure(stage, stage.sweep, records.tag)]
    parts: list[Part] = [*swept, *recorded.track(stage, records.tag)]
    if stage is None or not parts:
        return [_missing("No sweep of the potentiometer was recorded.")]
    return [*parts, *_checks_of(stage, "potentiometer")]


@_headed("Limit switches", "Where the switches make and break, and where the travel stops are.")
def switches(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Limit switches and travel stops."""
    stage = assessment.deciding
    rows = None if stage is None else stage_rows(records, "switches", stage)
    found = recorded.switches(stage, records.tag)
    if stage is None or rows is None or not (len(rows) or found):
        return [_missing("No limit switch was tested.")]
    typed: list[Part] = [switch_figure(stage, rows, records.tag)] if len(rows) else []
    tables = [measured.switches_table(rows) if len(rows) else None, measured.check_lines(stage, "switches")]
    return [*found, *typed, _tables("switches", tables)]


@_headed("Stroke times", "Full strokes each way, against the nominal times of the register.")
def strokes(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Stroke times."""
    stage = assessment.deciding
    if stage is None:
        return [_missing("No stroke was timed.")]
    found = recorded.strokes(stage, records.tag)
    typed = measured.strokes_sheet(records, stage)
    return [*found, *([] if found and typed.missing else [_sheet(typed)]), *_checks_of(stage, "strokes")]


@_headed(
    "Fail action",
    "Where the valve came to rest when signal or supply was taken away, beside what the register expects.",
)
def fail_actions(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Fail action: expected against proven, every test."""
    stage = assessment.deciding
    tests = None if stage is None else fail_table(records, stage)
    if stage is None or tests is None:
        return [_missing("No fail test was recorded: the fail action is not proven.")]
    found = recorded.losses(stage, records.tag)
    return [_tables("fail", [tests, measured.check_lines(stage, "fail_tests")]), *found]


@_headed("Supply, loop and insulation", "Electrical readings of the visit.")
def electrical(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Supply, loop and insulation."""
    return _of_stage(records, assessment, measured.electrical_sheet, "No electrical reading was recorded.")


@_headed("Loop checks", "From the operator station to the valve and back.")
def loop_checks(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """From the operator station to the valve and back."""
    return _of_stage(records, assessment, measured.loop_sheet, "No loop check was recorded.")


@_headed("Prechecks", "What was looked at before the tests.")
def prechecks(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Items answered before the tests."""
    return _of_stage(records, assessment, measured.prechecks_sheet, "No precheck was recorded.")


@_headed("Settings and adjustments", "What was set, and what was changed in between.")
def settings_and_adjustments(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Settings as found and as left, and what was adjusted."""
    return [_sheet(measured.settings_sheet(records, assessment.visit))]


@_headed("Readings", "Every stroke reading, as it was typed and as it was scaled.")
def readings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Every reading of the newest visit, as left and as found."""
    newest = [stage for stage in assessment.stages if stage.visit == assessment.visit]
    sheet = evidence.readings_sheet(records, newest)
    if sheet.missing and any(stage.recordings for stage in newest):
        return [_missing("No stroke reading was typed; those of the holds stand under Recordings.")]
    return [_sheet(sheet)]


@_headed("Uncertainty budgets", "How the expanded uncertainty of each judged check comes about.")
def uncertainty_budgets(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The uncertainty budget of each check that is held against a limit."""
    stage = assessment.deciding
    budgets = () if stage is None else evidence.budget_parts(stage)
    lines = () if stage is None else evidence.no_uncertainty_lines(stage)
    missing = "" if budgets else "There is no check with a limit and an uncertainty."
    columns = budgets[0].components.columns if budgets else ()
    return [render("budgets.html.j2", Budgets(lines, missing, columns, budgets))]


@_headed("History", "Earlier visits and stages.")
def history(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Earlier visits and stages."""
    return [_sheet(evidence.history_sheet(assessment))]


@_headed("Problems in the records", "Rows that were set aside and rows that were flagged, each with its place.")
def problems(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Rows set aside and flags."""
    return [_sheet(evidence.problems_sheet((*records.problems, *assessment.problems)))]


@_headed("Cautions", "They hold for everybody who acts on this page.")
def cautions(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The usual cautions for this work."""
    return [render("cautions.html.j2", None)]


@_headed("Provenance", "From which files and by which versions this page was made.")
def provenance(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Where the page comes from: files, hashes, versions."""
    return [_sheet(evidence.provenance_sheet(records, assessment))]


def _with_runs(stage: StageResult | None, made: Callable[[StageResult, Runs], Part]) -> list[Part]:
    if stage is None or stage.position_runs is None:
        return []
    return [made(stage, stage.position_runs)]


def _of_stage(
    records: TagRecords, assessment: TagAssessment, sheet: Callable[[TagRecords, StageResult], Sheet], missing: str
) -> list[Part]:
    stage = assessment.deciding
    return [_missing(missing)] if stage is None else [_sheet(sheet(records, stage))]


def _checks_of(stage: StageResult, source: str) -> list[Part]:
    found = measured.check_lines(stage, source)
    return [] if found is None else [_tables(source, [found])]


def _tables(name: str, tables: Sequence[Table | None]) -> Part:
    return _sheet(Sheet(name, tables=tuple(each for each in tables if each is not None)))


def _sheet(sheet: Sheet) -> Part:
    return render("sheet.html.j2", sheet)


def _missing(reason: str) -> Part:
    return _sheet(Sheet("missing", missing=reason))
