"""A tag's report, call by call, in the order of the page: what the notebook shows."""

from __future__ import annotations

from kit.assessment.results import TagAssessment
from kit.basis.records import TagRecords
from kit.views.pieces.parts import Page, Part, Result, render
from kit.views.report import front, sections
from kit.views.report.headings import Shown
from kit.views.report.result_json import result_content

_ASSETS = "../../assets"


def front_page(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Page one: identity, verdict, checks, exceptions, error plot, fail actions, instruments, signatures."""
    tag, service = records.tag.tag, records.tag.service
    document = front.document_number(records.settings, tag)
    page = Page(title=f"{tag} {service}".strip(), document=document, assets=_ASSETS)
    plot = sections.error_plot(assessment.deciding, records.tag)
    head = render("front_head.html.j2", front.head(records, assessment))
    return [page, head, *plot, render("front_foot.html.j2", front.foot(records, assessment))]


def findings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Every check against its limit, what is left to do, and what the readings resemble."""
    return _of(records, assessment, sections.checks, sections.punch_list)


def travel(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Where the valve stood for each command, up and down, and what its feedback said."""
    return _of(records, assessment, sections.recordings, sections.calibration, sections.hysteresis, sections.feedback)


def actuator(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Fail action, stroke times, limit switches and potentiometer."""
    return _of(records, assessment, sections.fail_actions, sections.strokes, sections.switches, sections.potentiometer)


def loop_and_settings(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Supply and signal, the loop checks, what was looked at before the tests and what was set."""
    return _of(
        records,
        assessment,
        sections.electrical,
        sections.loop_checks,
        sections.prechecks,
        sections.settings_and_adjustments,
    )


def readings_and_history(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """Every reading, the uncertainty of each judged check, earlier visits, and what was wrong in the records."""
    return _of(
        records, assessment, sections.readings, sections.uncertainty_budgets, sections.history, sections.problems
    )


def cautions_and_provenance(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """What holds for everybody who acts on this page, and from what it was made."""
    return _of(records, assessment, sections.cautions, sections.provenance)


def keep_result(records: TagRecords, assessment: TagAssessment) -> list[Part]:
    """The tag's result for the batch to collect; it draws nothing."""
    return [Result(result_content(records, assessment))]


def _of(records: TagRecords, assessment: TagAssessment, *shown: Shown) -> list[Part]:
    return [part for section in shown for part in section(records, assessment)]
