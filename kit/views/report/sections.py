"""The sections of a tag's page, each from the records and the assessment: what the notebook shows, one a cell."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from kit.assessment.history.history import history_of
from kit.assessment.history.shares import drift_shares
from kit.assessment.results import StageResult, TagAssessment
from kit.assessment.shown.curves import (
    calibration_curve,
    calibration_points,
    feedback_errors,
    hysteresis_loop,
    position_errors,
)
from kit.assessment.shown.rests_on import problems_of
from kit.basis.records import TagRecords
from kit.basis.registers import Tag
from kit.views.figures.device_figures import potentiometer_figure, switch_figure
from kit.views.figures.drift_figure import drift_figure
from kit.views.figures.travel_figures import calibration_figure, error_figure, feedback_figure, hysteresis_figure
from kit.views.pieces.parts import Figure, Page, Part, Result, attribute, render
from kit.views.pieces.sheets import Sheet, missing, placed, placed_tables
from kit.views.pieces.text_tables import Column
from kit.views.pieces.typed_rows import flagged_rows, stage_rows
from kit.views.recordings import recording_sections
from kit.views.report import front, typed_tables
from kit.views.report.budget_tables import BudgetPart, budget_parts, no_uncertainty_lines
from kit.views.report.drift_tables import drift_sheet
from kit.views.report.every_check import check_lines, checks_sheet
from kit.views.report.headings import headed, titles
from kit.views.report.history import history_sheet
from kit.views.report.open_items import causes_sheet, problems_sheet, punch_sheet
from kit.views.report.proof_tables import fail_table, instrument_table
from kit.views.report.provenance import provenance_sheet
from kit.views.report.reach_table import reach_sheet
from kit.views.report.reading_tables import points_table, readings_sheet
from kit.views.report.result_json import result_content
from kit.views.report.revisions import revisions_sheet

_ASSETS = "../../assets"
_UNIT_PAGE = "../../index.html"
_NO_READING = "No stroke reading was recorded."


@dataclass(frozen=True, slots=True)
class Budgets:
    """What the budgets' template takes."""

    lines: tuple[str, ...]
    missing: str
    columns: tuple[Column, ...]
    budgets: tuple[BudgetPart, ...]


def front_page(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Page one: identity, verdict, exceptions, test groups, error plot, losses, instruments, boxes to sign."""
    title = f"{records.tag.tag} {records.tag.service}".strip()
    signed_for = " \N{MIDDLE DOT} ".join(front.signed_for(records, assessment))
    page = Page(title, signed_for, _ASSETS, (_UNIT_PAGE, attribute(records.settings.title)), titles())
    plot = _error_plot(assessment.deciding, records.tag)
    below = front.foot(records, assessment)
    head = front.head(records, assessment, below, plot[0] if plot else None)
    return [page, render("front_head.html.j2", head), *plot, render("front_foot.html.j2", below)]


@headed(front.EVERY_CHECK, "Value, place, limit, uncertainty and method of each check, those without a limit too.")
def checks(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Every check against its limit, as found beside as left, with its method and its uncertainty."""
    return [placed(checks_sheet(assessment))]


@headed("Punch list", "What is left to do on this tag, and what the readings resemble.")
def punch_list(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """What is left to do on this tag, and what the readings resemble."""
    stage = assessment.deciding
    causes = [placed(causes_sheet(stage))] if stage is not None and stage.causes else []
    return [placed(punch_sheet(assessment)), *causes]


@headed("Recordings", "What a logger recorded, with the tests that were found in it and what came of them.")
def recordings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """What a logger recorded: the trace with its tests, and what came of them beside strokes, switches and losses."""
    return recording_sections.recordings(records, assessment)


@headed("Calibration", "Where the valve stood for each command, on its ideal characteristic.")
def calibration(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Calibration curve and test points, and the error as found where there was one."""
    stage, found, tag = assessment.deciding, assessment.as_found, records.tag
    runs = None if stage is None else stage.position_runs
    parts: list[Part] = []
    if runs is not None:
        points = points_table(calibration_points(runs, tag))
        reach = [] if assessment.reach is None else [placed(reach_sheet(assessment.reach))]
        parts = [calibration_figure(calibration_curve(runs, tag), tag), *reach, placed_tables("points", [points])]
    parts += [] if found is stage else _error_plot(found, tag)
    return parts or [missing(_NO_READING)]


@headed("Hysteresis", "How far up and down runs lie apart.")
def hysteresis(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The loop between the up means and the down means."""
    stage = assessment.deciding
    if stage is None or stage.position_runs is None:
        return [missing(_NO_READING)]
    loop = hysteresis_loop(stage.position_runs)
    if loop is None:
        return [missing("No test point was read both up and down, so there is no hysteretic error.")]
    return [hysteresis_figure(stage, loop, records.tag)]


@headed("Feedback", "What the feedback signal said, against the measured position.")
def feedback(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Feedback against measured position."""
    stage = assessment.deciding
    if stage is None or stage.feedback_runs is None:
        return [missing("No feedback was recorded beside the position.")]
    return [feedback_figure(stage, feedback_errors(stage.feedback_runs), records.tag)]


@headed("Potentiometer", "The feedback potentiometer over the travel, and the track left at both ends.")
def potentiometer(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The feedback potentiometer over the travel."""
    stage = assessment.deciding
    swept = [] if stage is None or stage.sweep is None else [potentiometer_figure(stage, stage.sweep, records.tag)]
    parts: list[Part] = [*swept, *recording_sections.track(stage, records.tag)]
    if stage is None or not parts:
        return [missing("No sweep of the potentiometer was recorded.")]
    rows = stage_rows(records, "potentiometer", stage)
    tables = (
        [typed_tables.potentiometer_table(rows, flagged_rows(records, "potentiometer", stage))] if len(rows) else []
    )
    return [*parts, placed_tables("potentiometer", [*tables, *check_lines(stage, "potentiometer")])]


@headed("Limit switches", "Where the switches make and break, and where the travel stops are.")
def switches(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Limit switches and travel stops."""
    stage = assessment.deciding
    rows = None if stage is None else stage_rows(records, "switches", stage)
    found = recording_sections.switches(stage, records.tag)
    if stage is None or rows is None or not (len(rows) or found):
        return [missing("No limit switch was tested.")]
    typed: list[Part] = [switch_figure(stage, rows, records.tag)] if len(rows) else []
    tables = [typed_tables.switches_table(rows, flagged_rows(records, "switches", stage))] if len(rows) else []
    return [*found, *typed, placed_tables("switches", [*tables, *check_lines(stage, "switches")])]


@headed("Stroke times", "Full strokes each way, against the nominal times of the register.")
def strokes(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Stroke times."""
    stage = assessment.deciding
    if stage is None:
        return [missing("No stroke was timed.")]
    found = recording_sections.strokes(stage, records.tag)
    typed = typed_tables.strokes_sheet(records, stage)
    return [*found, *([] if found and typed.missing else [placed(typed)]), *_checks_of(stage, "strokes")]


@headed(
    "Fail action",
    "Where the valve came to rest when signal or supply was taken away, beside what the register expects.",
)
def fail_actions(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Fail action: expected against proven, every test."""
    stage = assessment.deciding
    tests = None if stage is None else fail_table(records, stage)
    if stage is None or tests is None:
        return [missing("No fail test was recorded: the fail action is not proven.")]
    found = recording_sections.losses(stage, records.tag)
    return [placed_tables("fail", [tests, *check_lines(stage, "fail_tests")]), *found]


@headed("Supply, loop and insulation", "Electrical readings of the visit.")
def electrical(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Supply, loop and insulation."""
    return _of_stage(records, assessment, typed_tables.electrical_sheet, "No electrical reading was recorded.")


@headed("Loop checks", "From the operator station to the valve and back.")
def loop_checks(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """From the operator station to the valve and back."""
    return _of_stage(records, assessment, typed_tables.loop_sheet, "No loop check was recorded.")


@headed("Prechecks", "What was looked at before the tests.")
def prechecks(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Items answered before the tests."""
    return _of_stage(records, assessment, typed_tables.prechecks_sheet, "No precheck was recorded.")


@headed("Settings and adjustments", "What was set, and what was changed in between.")
def settings_and_adjustments(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Settings as found and as left, and what was adjusted."""
    return [placed(typed_tables.settings_sheet(records, assessment.visit))]


@headed("Readings", "Every stroke reading, as it was typed and as it was scaled.")
def readings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Every reading of the newest visit, as left and as found."""
    newest = [stage for stage in assessment.stages if stage.visit == assessment.visit]
    sheet = readings_sheet(records, newest)
    if sheet.missing and any(stage.recordings for stage in newest):
        return [missing("No stroke reading was typed; those of the holds stand under Recordings.")]
    return [placed(sheet)]


@headed("Uncertainty budgets", "How the expanded uncertainty of each judged check comes about.")
def uncertainty_budgets(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The uncertainty budget of each check that is held against a limit."""
    stage = assessment.deciding
    budgets = () if stage is None else budget_parts(stage)
    lines = () if stage is None else no_uncertainty_lines(stage)
    reason = "" if budgets else "There is no check with a limit and an uncertainty."
    columns = budgets[0].components.columns if budgets else ()
    used = front.instruments_of(assessment)
    instruments = [placed_tables("instruments", [instrument_table(used)])] if used else []
    return [*instruments, render("budgets.html.j2", Budgets(lines, reason, columns, budgets))]


@headed("History", "Earlier visits and stages.")
def history(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Earlier visits and stages, what drifted between them, and when the tag is due again."""
    parts: list[Part] = [placed(history_sheet(assessment))]
    if assessment.deciding is None:
        return parts
    found = history_of(records, assessment)
    figure = drift_figure(drift_shares(found.drifts, assessment.deciding), records.tag)
    return [*parts, placed(drift_sheet(found)), *([] if figure is None else [figure])]


@headed("Revisions", "Every issue of this page, and what changed since the one before.")
def revisions(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Issues of the page, and what changed."""
    return [placed(revisions_sheet(records, assessment))]


@headed("Problems in the records", "Rows that were set aside and rows that were flagged, each with its place.")
def problems(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Rows set aside and flags."""
    return [placed(problems_sheet(problems_of(records, assessment)))]


@headed("Cautions", "They hold for everybody who acts on this page.")
def cautions(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The usual cautions for this work."""
    return [render("cautions.html.j2", None)]


@headed("Provenance", "From which files and by which versions this page was made.")
def provenance(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Where the page comes from: files, hashes, versions."""
    return [placed(provenance_sheet(records, assessment))]


def keep_result(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The tag's result for the batch to collect; it draws nothing."""
    return [Result(result_content(records, assessment))]


def _error_plot(stage: StageResult | None, tag: Tag) -> list[Figure]:
    """The position error over the command, where a stroke reading was recorded."""
    if stage is None or stage.position_runs is None:
        return []
    return [error_figure(stage, position_errors(stage.position_runs), tag)]


def _of_stage(
    records: TagRecords, assessment: TagAssessment, sheet: Callable[[TagRecords, StageResult], Sheet], reason: str
) -> list[Part]:
    stage = assessment.deciding
    return [missing(reason)] if stage is None else [placed(sheet(records, stage))]


def _checks_of(stage: StageResult, source: str) -> list[Part]:
    tables = check_lines(stage, source)
    return [placed_tables(source, tables)] if tables else []
