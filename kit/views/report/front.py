"""Page one: what a reviewer signs from."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

import kit
from kit.assessment.instruments import InstrumentUse
from kit.assessment.ranking import worst_check
from kit.assessment.reach import reach_words
from kit.assessment.results import StageResult, TagAssessment
from kit.assessment.shown.ages import failed_before
from kit.assessment.shown.completeness import accounting
from kit.assessment.shown.page_state import page_state
from kit.assessment.shown.rests_on import answers_words, open_records, problems_of, rests_on
from kit.assessment.wording import end_words, rule_words
from kit.basis.records import TagRecords
from kit.basis.registers import Tag, Visit
from kit.basis.settings import PLACES_OF_A_DOCUMENT_NUMBER, UnitSettings
from kit.basis.verdicts import GAPS, VERDICT_WORDS
from kit.views.pieces import page_one
from kit.views.pieces.anchors import LIMITS
from kit.views.pieces.check_texts import check_title, margin_text
from kit.views.pieces.input_hash import input_hash
from kit.views.pieces.numbers import plain, sentence_case, signed, with_unit
from kit.views.pieces.parts import Figure
from kit.views.pieces.rounding import percent
from kit.views.pieces.slugs import slug
from kit.views.pieces.text_tables import Table, Verdict, pairs, stage_word, verdict_of
from kit.views.report.every_check import has_checks
from kit.views.report.exceptions import exceptions
from kit.views.report.group_table import group_table
from kit.views.report.proof_tables import fail_table, instrument_lines
from kit.views.report.revisions import issue_line, revision_fields, revision_words

EVERY_CHECK: Final = "Every check"  # the section that holds what page one has no room for
HASH_DIGITS: Final = 12
_DUTY = {"modulating": "modulating", "on_off": "on-off", "": ""}


@dataclass(frozen=True, slots=True)
class Head:
    """The upper half of page one."""

    notice: str
    kind: str
    tag: str
    service: str
    fields: tuple[tuple[str, str], ...]
    issue: str  # how the page stands to its last issue; "" where it never had one
    safety: str
    verdict: Verdict
    reason: str
    stages: tuple[tuple[str, Verdict, str], ...]
    no_as_found: str
    before: tuple[tuple[str, Verdict], ...]  # the newest earlier visit that failed as left; none where none did
    rule: str
    exceptions: tuple[tuple[Verdict, str], ...]
    more: str  # how many exceptions did not fit; "" where all are there
    more_in: str  # the section where they stand
    more_at: str
    limits_at: str  # where it is said where limits come from
    groups: Table


@dataclass(frozen=True, slots=True)
class Foot:
    """The lower half of page one, below the test groups: it stands beside and below the error plot."""

    loss: Table | None
    no_loss: str
    instruments: Table | None
    no_instruments: str
    rests_on: tuple[str, ...]
    data_quality: str
    remarks: tuple[str, ...]
    signed_for: tuple[str, ...]
    verdict: Verdict
    signatures: tuple[tuple[str, str], ...]
    identity: str


def head(records: TagRecords, assessment: TagAssessment, below: Foot, plot: Figure | None) -> Head:
    """Identity, verdict with its rule, as many exceptions as fit, the worst of each test group."""
    deciding, settings = assessment.deciding, records.settings
    shown = Head(
        notice=settings.notice,
        kind="Valve commissioning record",
        tag=records.tag.tag,
        service=records.tag.service,
        fields=_identity(records, visit_of(records, assessment.visit), assessment),
        issue=issue_line(page_state(records, assessment)),
        safety="This valve is part of a safety function." if records.tag.safety_function else "",
        verdict=verdict_of(assessment.verdict),
        reason=_reason(records, assessment),
        stages=tuple(_stage_line(stage) for stage in (deciding, assessment.as_found) if stage is not None),
        no_as_found="As found: not recorded." if deciding and not assessment.as_found else "",
        before=_before(assessment),
        rule=f"{rule_words(settings.decision_rule)} {_coverage(settings)}",
        exceptions=exceptions(deciding, problems_of(records, assessment)),
        more="",
        more_in=EVERY_CHECK,
        more_at=slug(EVERY_CHECK),
        limits_at=LIMITS if has_checks(assessment) else slug(EVERY_CHECK),
        groups=group_table(deciding),
    )
    return _cut_to_the_sheet(shown, below, plot)


def foot(records: TagRecords, assessment: TagAssessment) -> Foot:
    """Loss expected against proven, instruments, what the verdict rests on, boxes to sign, hashes."""
    visit, deciding = visit_of(records, assessment.visit), assessment.deciding
    used = instruments_of(assessment)
    return Foot(
        loss=None if deciding is None else fail_table(records, deciding, brief=True),
        no_loss="No fail test was recorded: the fail action is not proven.",
        instruments=instrument_lines(used) if used else None,
        no_instruments="No instrument was used.",
        rests_on=rests_on(deciding, open_records(records, assessment)),
        data_quality=_data_quality(records, assessment),
        remarks=_remarks((*assessment.as_typed, *assessment.remarks, *_causes(deciding), *_reach(assessment))),
        signed_for=signed_for(records, assessment),
        verdict=verdict_of(assessment.verdict),
        signatures=(
            ("Executed by", visit.technician if visit else ""),
            ("Checked by", visit.checked_by if visit else ""),
            ("Witnessed or accepted by", visit.witness if visit else ""),
        ),
        identity=f"strokebook {kit.__version__}",
    )


def instruments_of(assessment: TagAssessment) -> list[InstrumentUse]:
    """The instruments of the visits that the deciding checks are made of."""
    visits = assessment.deciding.visits if assessment.deciding else ()
    return [use for use in assessment.instruments if use.visit in visits]


def signed_for(records: TagRecords, assessment: TagAssessment) -> tuple[str, ...]:
    """What a signature is for, beside the boxes and at the foot of each page: tag, document, revision, input hash."""
    tag, settings = records.tag.tag, records.settings
    revision = revision_words(page_state(records, assessment))
    inputs = f"input {input_hash(records.input_hashes)[:HASH_DIGITS]}"
    return tuple(text for text in (tag, document_number(settings, tag), revision, inputs) if text)


def document_number(settings: UnitSettings, tag: str) -> str:
    """The document number of a tag's report, by the unit's pattern."""
    values = {"tag": tag, "unit": settings.unit}
    return re.sub(PLACES_OF_A_DOCUMENT_NUMBER, lambda found: values[found[1]], settings.document)


def visit_of(records: TagRecords, visit: str) -> Visit | None:
    return next((each for each in records.visits if each.visit == visit), None)


def _identity(records: TagRecords, visit: Visit | None, assessment: TagAssessment) -> tuple[tuple[str, str], ...]:
    tag, settings = records.tag, records.settings
    return pairs(
        {
            "Document": document_number(settings, tag.tag),
            **revision_fields(page_state(records, assessment)),
            "Unit": settings.title,
            "Site": settings.site,
            "Visit": assessment.visit,
            "Date of readings": visit.date if visit else "",
            "Valve": _valve(tag),
            "Command": _command(tag),
            "Feedback": tag.feedback_range.text if tag.feedback_range else "none in the register",
            "Fail action": _fail_action(tag),
            "Nominal strokes": _nominal(tag),
            "Limit set": tag.limits or tag.duty or "none",
            "Ambient": with_unit(plain(visit.ambient_c), "°C") if visit and visit.ambient_c is not None else "",
            "Process": visit.process_state if visit else "",
            "Remarks": visit.remarks if visit else "",
            **dict(tag.further),
        }
    )


def _cut_to_the_sheet(shown: Head, below: Foot, plot: Figure | None) -> Head:
    """Page one with as many exceptions, gravest first, as the sheet has room for."""
    stages = " ".join(f"{name} ({date}): {mark.word}" for name, mark, date in shown.stages)
    before = " ".join(f"{name}: {mark.word}" for name, mark in shown.before)
    boxed = (shown.reason, f"{stages} {shown.no_as_found} {before}".strip(), shown.rule, shown.safety, shown.issue)
    legend = " ".join(entry.name for entry in plot.entries) if plot else ""
    drawn = (f"{plot.title}. {plot.caption}", legend) if plot else None
    used = (
        page_one.head_lines(shown.notice, f"{shown.tag} {shown.service}", shown.fields, boxed)
        + page_one.body_lines(shown.groups, drawn, below.loss, below.instruments)
        + page_one.foot_lines((" ".join((*below.rests_on, below.data_quality)), *below.remarks))
    )
    fit = page_one.exceptions_that_fit([text for _, text in shown.exceptions], used)
    cut = shown.exceptions[fit:]
    more = f"And {len(cut)} more: see" if cut else ""
    return replace(shown, exceptions=shown.exceptions[:fit], more=more)


def _valve(tag: Tag) -> str:
    travel = with_unit(plain(tag.travel), "°" if tag.travel_unit == "deg" else tag.travel_unit) if tag.travel else ""
    return ", ".join(text for text in (_DUTY[tag.duty], tag.motion, travel) if text)


def _command(tag: Tag) -> str:
    law = f"equal percentage, R = {plain(tag.rangeability)}" if tag.characteristic == "equal_percentage" else "linear"
    signal = tag.command_range.text if tag.command_range else "range not known"
    return ", ".join([signal, tag.action, law, *end_words(tag)])


def _fail_action(tag: Tag) -> str:
    signal, supply = (action or "not stated" for action in (tag.fail_action, tag.fail_action_supply))
    return f"{signal} on loss of signal, {supply} on loss of supply"


def _nominal(tag: Tag) -> str:
    times = {"open": tag.stroke_time_open_s, "close": tag.stroke_time_close_s}
    return ", ".join(f"{name} {with_unit(plain(time), 's')}" for name, time in times.items() if time is not None)


def _stage_line(stage: StageResult) -> tuple[str, Verdict, str]:
    return (stage_word(stage.stage).capitalize(), verdict_of(stage.verdict), stage.date)


def _before(assessment: TagAssessment) -> tuple[tuple[str, Verdict], ...]:
    """The newest earlier visit that failed as left, and how many more did."""
    failed = failed_before(assessment)
    if not failed:
        return ()
    newest, *others = failed
    more = f", and {len(others)} more" if others else ""
    return ((f"Before: visit {newest.visit} ({newest.date}){more}, as left", verdict_of(newest.verdict)),)


def _coverage(settings: UnitSettings) -> str:
    return f"U is the expanded uncertainty for a coverage probability of {percent(settings.coverage_probability)}."


def _causes(stage: StageResult | None) -> list[str]:
    causes = () if stage is None else stage.causes
    return [f"Probable cause, to be confirmed on site: {each.pattern}. {each.evidence}" for each in causes]


def _reach(assessment: TagAssessment) -> list[str]:
    return [] if assessment.reach is None else [reach_words(assessment.reach)]


def _remarks(texts: Iterable[str]) -> tuple[str, ...]:
    """Remarks, those of one file in one paragraph that names it once."""
    of_files: dict[str, str] = {}
    for text in map(signed, texts):
        file, colon, said = text.partition(": ")
        is_of_file = bool(colon) and " " not in file
        of_files[file if is_of_file else text] = (
            f"{of_files[file]} {sentence_case(said)}" if is_of_file and file in of_files else text
        )
    return tuple(of_files.values())


def _data_quality(records: TagRecords, assessment: TagAssessment) -> str:
    found = accounting(records, assessment)
    samples = "" if found.samples_used is None else f" and {found.samples_used} recorded samples"
    raised = "1 flag raised" if found.flags == 1 else f"{found.flags} flags raised"
    counted = {"unanswered": found.open, "answered": found.answered}
    answers = [f"{count} {what}" for what, count in counted.items() if count]
    parts = [
        f"{found.rows_used} rows of this tag{samples} used",
        f"{found.rows_set_aside} set aside",
        *answers,
        raised,
    ]
    listed = " The list is under Problems in the records." if records.problems or assessment.problems else ""
    corrected = "Nothing was corrected beyond the answers." if found.answered else "Nothing was corrected."
    return f"{', '.join(parts)}. {corrected}{listed}"


def _reason(records: TagRecords, assessment: TagAssessment) -> str:
    answers = answers_words(problems_of(records, assessment))
    reason = f"{VERDICT_WORDS[assessment.verdict]}, {answers}. {assessment.reason}" if answers else assessment.reason
    return signed(f"{reason} {_margin(assessment)}".strip())


def _margin(assessment: TagAssessment) -> str:
    """How far the check that the verdict's reason names is from its limit; "" where it names none that has a value."""
    worst = None if assessment.deciding is None else worst_check(assessment.deciding)
    if worst is None or worst.verdict in GAPS or check_title(worst) not in assessment.reason:
        return ""
    margin = margin_text(worst)
    return f"{'Nearest' if worst.verdict == 'pass' else 'Worst'}: {margin}." if margin else ""
