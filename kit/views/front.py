"""Page one: what a reviewer signs from."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import kit
from kit.assessment.fail_tests import WORDS, fail_action_for
from kit.assessment.model import CheckResult, InstrumentUse, StageResult, TagAssessment
from kit.assessment.wording import rule_words
from kit.contract.checks import CHECKS
from kit.contract.verdicts import GAPS
from kit.records.model import Tag, TagRecords, UnitSettings, Visit
from kit.views.hashing import input_hash
from kit.views.numbers import NONE, number, plain, signed, uncertainty_text, with_unit
from kit.views.tables import (
    Cell,
    Column,
    Table,
    Verdict,
    check_limit,
    check_title,
    check_uncertainty,
    check_uncertainty_text,
    check_value,
    pairs,
    stage_rows,
    stage_word,
    table,
    verdict_cell,
    verdict_of,
)

_DUTY = {"modulating": "modulating", "on_off": "on-off", "": ""}
_TUR_REMARKED = 4.0  # common practice, no single source
_EXCEPTIONS = ("fail", "conditional_fail", "not_tested", "not_assessable", "stale", "conditional_pass")


@dataclass(frozen=True, slots=True)
class Head:
    """The upper half of page one."""

    notice: str
    kind: str
    tag: str
    service: str
    fields: tuple[tuple[str, str], ...]
    safety: str
    verdict: Verdict
    reason: str
    stages: tuple[tuple[str, Verdict, str], ...]
    no_as_found: str
    rule: str
    checks: Table
    exceptions: tuple[tuple[Verdict, str], ...]
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Foot:
    """The lower half of page one, below the error plot."""

    fail_actions: Table | None
    no_fail_actions: str
    instruments: Table | None
    no_instruments: str
    data_quality: str
    signatures: tuple[tuple[str, str], ...]
    identity: str


def head(records: TagRecords, assessment: TagAssessment) -> Head:
    """Identity, verdict, check table, exceptions."""
    deciding, settings = assessment.deciding, records.settings
    visit = visit_of(records, assessment.visit)
    return Head(
        notice=settings.notice,
        kind="Valve commissioning record",
        tag=records.tag.tag,
        service=records.tag.service,
        fields=_identity(records, visit, assessment),
        safety="This valve is part of a safety function." if records.tag.safety_function else "",
        verdict=verdict_of(assessment.verdict),
        reason=_without_verdict(assessment.reason, verdict_of(assessment.verdict).word),
        stages=tuple(_stage_line(stage) for stage in (deciding, assessment.as_found) if stage is not None),
        no_as_found="As found: not recorded." if deciding and not assessment.as_found else "",
        rule=f"{rule_words(settings.decision_rule)} {_coverage(settings)}",
        checks=_check_table(deciding, assessment.as_found),
        exceptions=_exceptions(deciding),
        remarks=tuple(signed(remark) for remark in assessment.remarks),
    )


def foot(records: TagRecords, assessment: TagAssessment) -> Foot:
    """Fail actions, instruments, data quality, signature boxes, hashes."""
    visit = visit_of(records, assessment.visit)
    fail_actions = None if assessment.deciding is None else fail_table(records, assessment.deciding, brief=True)
    used = [use for use in assessment.instruments if use.visit == assessment.visit]
    return Foot(
        fail_actions=fail_actions,
        no_fail_actions="No fail test was recorded: the fail action is not proven.",
        instruments=instrument_table(used) if used else None,
        no_instruments="No instrument was used.",
        data_quality=_data_quality(records),
        signatures=(
            ("Executed by", visit.technician if visit else ""),
            ("Checked by", visit.checked_by if visit else ""),
            ("Witnessed or accepted by", visit.witness if visit else ""),
        ),
        identity=f"Input {input_hash(records.input_hashes)[:12]} · strokebook {kit.__version__}",
    )


def document_number(settings: UnitSettings, tag: str) -> str:
    """The document number of a tag's report, by the unit's pattern."""
    return settings.document.replace("{tag}", tag).replace("{unit}", settings.unit)


def visit_of(records: TagRecords, visit: str) -> Visit | None:
    return next((each for each in records.visits if each.visit == visit), None)


def fail_table(records: TagRecords, stage: StageResult, *, brief: bool = False) -> Table | None:
    """Expected against proven, a row a test; None without a fail test."""
    rows = stage_rows(records, "fail_tests", stage)
    if not len(rows):
        return None
    lines = []
    for index in range(len(rows)):
        cause, before = str(rows["cause"][index]), float(rows["position_before_pct"][index])
        after, time_s = float(rows["position_after_pct"][index]), float(rows["time_s"][index])
        verdicts = [
            result.verdict for result in stage.checks if (result.check, result.detail) == ("fail_position", cause)
        ]
        line: list[str | Cell] = [
            WORDS[cause].capitalize(),
            _expected(fail_action_for(records.tag, cause)),
            with_unit(number(before, 1), "%"),
            with_unit(number(after, 1), "%"),
            with_unit(number(time_s, 1), "s"),
        ]
        if not brief:
            line += [
                str(rows["alarm"][index]),
                with_unit(number(float(rows["command_restored_pct"][index]), 1), "%"),
                with_unit(number(float(rows["position_restored_pct"][index]), 1), "%"),
            ]
        lines.append([*line, verdict_cell(verdicts[0]) if verdicts else Cell(NONE)])
    columns = ["Cause", "Expected", "Before:", "Proven, at rest:", "Time:"]
    more = [] if brief else ["Alarm", "Command after restoration:", "Position after restoration:"]
    titles: list[str | Column] = [*columns, *more, Column("Verdict", "word")]
    return table("Fail action: expected against proven", titles, lines, kind="wide")


def instrument_table(uses: Iterable[InstrumentUse], caption: str = "Instruments") -> Table:
    """Instruments by role, with their due dates and what is wrong with them."""
    rows = [
        [
            use.role.capitalize(),
            use.instrument,
            use.description,
            use.certificate,
            use.calibrated_on,
            use.due_on,
            Cell(f"No uncertainty: {use.fault}", verdict=None) if use.fault else "In order",
        ]
        for use in uses
    ]
    dates = (Column("Certificate", "fixed"), Column("Calibrated", "fixed"), Column("Due", "fixed"))
    columns = ["Role", "Instrument", "Description", *dates, "On the day of the visit"]
    return table(caption, columns, rows, kind="wide")


def _identity(records: TagRecords, visit: Visit | None, assessment: TagAssessment) -> tuple[tuple[str, str], ...]:
    tag, settings = records.tag, records.settings
    return pairs(
        {
            "Document": document_number(settings, tag.tag),
            "Revision": settings.revision,
            "Unit": settings.title,
            "Site": settings.site,
            "Visit": assessment.visit,
            "Date of readings": visit.date if visit else "",
            "Technician": visit.technician if visit else "",
            "Checked by": visit.checked_by if visit else "",
            "Witness": visit.witness if visit else "",
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


def _valve(tag: Tag) -> str:
    travel = with_unit(plain(tag.travel), "°" if tag.travel_unit == "deg" else tag.travel_unit) if tag.travel else ""
    return ", ".join(text for text in (_DUTY[tag.duty], tag.motion, travel) if text)


def _command(tag: Tag) -> str:
    law = f"equal percentage, R = {plain(tag.rangeability)}" if tag.characteristic == "equal_percentage" else "linear"
    return ", ".join([tag.command_range.text if tag.command_range else "range not known", tag.action, law])


def _fail_action(tag: Tag) -> str:
    signal = tag.fail_action or "not stated"
    return f"{signal} on loss of signal, {tag.fail_action_supply} on loss of supply"


def _nominal(tag: Tag) -> str:
    times = {"open": tag.stroke_time_open_s, "close": tag.stroke_time_close_s}
    return ", ".join(f"{name} {with_unit(plain(time), 's')}" for name, time in times.items() if time is not None)


def _stage_line(stage: StageResult) -> tuple[str, Verdict, str]:
    return (stage_word(stage.stage).capitalize(), verdict_of(stage.verdict), stage.date)


def _coverage(settings: UnitSettings) -> str:
    return (
        f"U is the expanded uncertainty for a coverage probability of {plain(100 * settings.coverage_probability)} %."
    )


def _check_table(deciding: StageResult | None, as_found: StageResult | None) -> Table:
    left = {(result.check, result.detail): result for result in (deciding.checks if deciding else ())}
    found = {(result.check, result.detail): result for result in (as_found.checks if as_found else ())}
    found = {} if as_found is deciding else found
    keys = [key for key in {**left, **found} if _judged(left.get(key)) or _judged(found.get(key))]
    order = list(CHECKS)
    keys.sort(key=lambda key: (order.index(key[0]), key[1]))
    sources = list(dict.fromkeys(_source(left.get(key) or found[key]) for key in keys))
    rows = [_check_row(left.get(key), found.get(key), sources, both=bool(found)) for key in keys]
    now = stage_word(deciding.stage).capitalize() if deciding else "As left"
    columns: list[str | Column] = ["Check", "Limit:"]
    columns += ["As found:"] if found else []
    columns += [f"{now}:", "Where", "U:", "TUR:", Column("Verdict", "word")]
    notes = [f"[{index}] {source}" for index, source in enumerate(sources, start=1) if source]
    note = (
        "Errors are in % of travel span, positions in % of travel, potentiometer margins in % of track. "
        "TUR: test uncertainty ratio, half the tolerance over U; below 4 is remarked on (common practice)."
    )
    return table("Checks against their limits", columns, rows, *([note, *notes] if keys else []), kind="wide")


def _check_row(
    left: CheckResult | None, found: CheckResult | None, sources: Sequence[str], *, both: bool
) -> list[str | Cell]:
    shown = left or found
    assert shown is not None
    reference = sources.index(_source(shown)) + 1
    cells: list[str | Cell] = [
        check_title(shown),
        Cell(check_limit(shown), small=f"[{reference}]" if shown.limit_source else ""),
    ]
    if both:
        cells.append(NONE if found is None else Cell(check_value(found), small=verdict_of(found.verdict).word))
    if left is None:
        return [*cells, NONE, NONE, NONE, NONE, NONE]
    return [
        *cells,
        check_value(left),
        signed(left.at),
        check_uncertainty_text(left),
        _tur(left),
        verdict_cell(left.verdict),
    ]


def _judged(result: CheckResult | None) -> bool:
    return result is not None and result.verdict != "information"


def _source(result: CheckResult) -> str:
    return result.limit_source


def _tur(result: CheckResult) -> str | Cell:
    if result.tur is None:
        return NONE
    return Cell(f"{result.tur:.1f}", small="below 4") if result.tur < _TUR_REMARKED else f"{result.tur:.1f}"


def _exceptions(deciding: StageResult | None) -> tuple[tuple[Verdict, str], ...]:
    if deciding is None:
        return ((verdict_of("not_tested"), "The register has this tag, and no record of it was found."),)
    lines: dict[tuple[str, str], list[str]] = {}
    for verdict in _EXCEPTIONS:
        for result in (each for each in deciding.checks if each.verdict == verdict):
            reason = signed(result.reason) or "no reason is known"
            said = f"{reason}." if verdict in GAPS else _exception(result)
            lines.setdefault((verdict, said), []).append(check_title(result))
    return tuple((verdict_of(verdict), _grouped(verdict, said, titles)) for (verdict, said), titles in lines.items())


def _grouped(verdict: str, said: str, titles: list[str]) -> str:
    """Gaps that have one reason share a line."""
    if verdict not in GAPS:
        return said
    count = f"{len(titles)} checks: " if len(titles) > 1 else ""
    return f"{count}{'; '.join(titles)}: {said}"


def _exception(result: CheckResult) -> str:
    place = f" ({signed(result.at)})" if result.at else ""
    uncertainty = check_uncertainty(result)
    margin = "" if uncertainty is None else f", U {uncertainty_text(uncertainty, CHECKS[result.check].measure)}"
    said = f"{check_title(result)}: {check_value(result)}{place}; limit {check_limit(result)}{margin}."
    return f"{said} {_sentence(result.reason)}" if result.reason else said


def _sentence(text: str) -> str:
    return f"{signed(text[:1].upper() + text[1:])}."


def _without_verdict(reason: str, word: str) -> str:
    """The reason without the verdict that stands beside it."""
    return _sentence(reason.removeprefix(f"{word}: ").removesuffix("."))


def _data_quality(records: TagRecords) -> str:
    used = sum(len(rows) for rows in records.tables.values())
    rows_aside = {(each.file, each.row) for each in records.problems if each.set_aside}
    flags = sum(not each.set_aside for each in records.problems)
    raised = "1 flag raised" if flags == 1 else f"{flags} flags raised"
    said = f"{used} rows of this tag used, {len(rows_aside)} set aside, {raised}."
    return f"{said} Nothing was corrected." + (
        " The list is under Problems in the records." if records.problems else ""
    )


def _expected(action: str | None) -> str:
    return {"open": "open (100 %)", "closed": "closed (0 %)", "hold": "hold", None: "not stated"}[action]
