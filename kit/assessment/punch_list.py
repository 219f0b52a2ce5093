"""Outstanding items of a tag, drawn from what did not pass; the categories are proposals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

from kit.assessment.causes.exceeded import POSITION
from kit.assessment.judge import is_held_by_placeholder
from kit.assessment.marginal import what_would_decide
from kit.assessment.reach import reach_words
from kit.assessment.results import CheckResult, ProbableCause, PunchItem, Reach, StageResult
from kit.assessment.subjects import action_of
from kit.assessment.wording import check_words
from kit.basis.checks import CHECKS, CheckName
from kit.basis.people import is_same_name
from kit.basis.records import TagRecords
from kit.basis.registers import Tag
from kit.basis.verdicts import FAILING, GAPS

_LEFT_OPEN: Final[dict[str, str]] = {
    "not_tested": "were not tested",
    "not_assessable": "cannot be judged",
    "stale": "have to be repeated",
}
# What the plant relies on when something is lost.
_AT_ONCE: Final[frozenset[CheckName]] = frozenset({"fail_position", "fail_time"})


def punch_list(records: TagRecords, deciding: StageResult | None, reach: Reach | None = None) -> tuple[PunchItem, ...]:
    """One item for each check that did not pass, and one for rows that were set aside.

    Checks that one cause explains, or that one reason leaves open, are one item.
    """
    tag = records.tag.tag
    if deciding is None:
        item = PunchItem(
            tag, "", "No records", "The register lists the tag and no record mentions it.", "Test and record.", "B"
        )
        return (item, *_set_aside(records))
    groups: dict[object, list[CheckResult]] = {}
    for each in deciding.checks:
        if each.verdict not in ("pass", "information") and not is_held_by_placeholder(each):
            groups.setdefault(deciding.cause_of(each) or _left_open_by(each) or each, []).append(each)
    trim = "" if reach is None else reach_words(reach)
    items = []
    for own in groups.values():
        decides = _decides(own, records, deciding) if len(own) == 1 else ""
        item = _item(records.tag, deciding.cause_of(own[0]), own, trim)
        items.append(replace(item, suggested_action=f"{item.suggested_action} {decides}") if decides else item)
    return (*items, *_unconfirmed(records, deciding), *_one_person(records, deciding), *_set_aside(records))


def _unconfirmed(records: TagRecords, deciding: StageResult) -> list[PunchItem]:
    """One item for all checks that nothing but an engineer's word keeps from being judged."""
    waiting = [each for each in deciding.checks if is_held_by_placeholder(each)]
    if not waiting:
        return []
    named = ", ".join(check_words(each.check, each.detail) for each in waiting)
    what = f"{len(waiting)} {'limit' if len(waiting) == 1 else 'limits'} not confirmed"
    evidence = f"Inside limits that are placeholders: {named}."
    category = _category(waiting[0], safety=records.tag.safety_function)
    return [PunchItem(records.tag.tag, "", what, evidence, waiting[0].suggested_action, category)]


def _decides(checks: Sequence[CheckResult], records: TagRecords, stage: StageResult) -> str:
    """What would decide a check that lies nearer to its limit than its uncertainty."""
    register = (*records.instruments, *records.other_instruments)
    return what_would_decide(checks[0], stage, records.tag, records.settings, register)


def _left_open_by(check: CheckResult) -> tuple[str, str, str] | None:
    """What other checks share that are left open in the same way, for the same reason and with the same way out."""
    return (check.verdict, check.reason, _action(check)) if check.verdict in GAPS and check.reason else None


def _item(tag: Tag, cause: ProbableCause | None, checks: Sequence[CheckResult], trim: str) -> PunchItem:
    """One item for a check, for all that one cause explains, or for all that one reason leaves open."""
    first = checks[0]
    what, evidence = _what(first), _evidence(first)
    if len(checks) > 1 and cause is not None:
        what = f"{len(checks)} checks, one probable cause: {cause.pattern}"
        evidence = ". ".join(f"{check_words(each.check, each.detail)}: {_told(each)}" for each in checks)
    elif len(checks) > 1:
        what = f"{len(checks)} checks {_LEFT_OPEN[first.verdict]}"
        named = "; ".join(check_words(each.check, each.detail) for each in checks)
        evidence = f"{first.reason[:1].upper()}{first.reason[1:].removesuffix('.')}. Of: {named}"
    return PunchItem(
        tag=tag.tag,
        check=", ".join(dict.fromkeys(each.check for each in checks)),
        what=what,
        evidence=evidence,
        suggested_action=f"{_action(first) if cause is None else cause_action(cause)}{_trimmed(checks, trim)}",
        category=min(_category(each, safety=tag.safety_function) for each in checks),
    )


def cause_action(cause: ProbableCause) -> str:
    """What to look at first, and what usually mends it: probable, until it was looked at."""
    other = f" (or {cause.runner_up})" if cause.runner_up else ""
    parts = (f"Probable, to be confirmed on site: {cause.pattern}{other}.", f"Look first: {cause.decide}", cause.adjust)
    return " ".join(each for each in parts if each)


def _trimmed(checks: Sequence[CheckResult], trim: str) -> str:
    """What zero and span can reach, where an item is of what they move."""
    moved = any(each.check in POSITION and each.verdict in FAILING for each in checks)
    return f" {trim}" if moved and trim else ""


def _told(check: CheckResult) -> str:
    """The evidence of one check among several, with its verdict where that is no plain failure."""
    said = _evidence(check)
    return said if check.verdict == "fail" else f"{check.verdict.replace('_', ' ')}, {said}"


def _what(check: CheckResult) -> str:
    named = check_words(check.check, check.detail)
    return {
        "fail": f"{named} is outside its limit",
        "conditional_fail": f"{named} is outside its limit by less than its uncertainty",
        "conditional_pass": f"{named} is inside its limit by less than its uncertainty",
        "not_tested": f"{named} was not tested",
        "not_assessable": f"{named} cannot be judged",
        "stale": f"{named} has to be repeated",
    }[check.verdict]


def _evidence(check: CheckResult) -> str:
    if check.value is None:
        return check.reason
    limits = " to ".join(f"{limit:.6g}" for limit in (check.lower_limit, check.upper_limit) if limit is not None)
    if check.lower_limit is None or check.upper_limit is None:
        limits = f"{'at most' if check.lower_limit is None else 'at least'} {limits}"
    where = f" ({check.at})" if check.at else ""
    uncertainty = f", U = {check.budget.expanded_uncertainty:.2g}" if check.budget else ""
    reason = f"; {check.reason}" if check.reason else ""
    value = f"{check.bound}{check.value:{'+' if CHECKS[check.check].signed else ''}.4g} {CHECKS[check.check].measure}"
    return f"Measured {value}{where}{uncertainty}; limit {limits or 'not worked out'}{reason}"


def _action(check: CheckResult) -> str:
    if check.suggested_action:
        return check.suggested_action
    if check.verdict == "not_tested":
        return "Make the test and record it."
    if check.verdict == "not_assessable":
        return "Repeat it with what the reason asks for, or complete the record."
    if check.verdict == "conditional_pass":
        return "Have the responsible engineer accept it, or repeat with a more accurate instrument."
    return action_of(check.check)


def _category(check: CheckResult, *, safety: bool) -> Literal["A", "B", "C"]:
    """A: before the valve is relied on; B: before handover; C: to be agreed. House definition, a proposal."""
    if check.verdict == "conditional_pass":
        return "C"
    failed = check.verdict in ("fail", "conditional_fail")
    if (failed and check.check in _AT_ONCE) or (safety and (failed or check.verdict in GAPS)):
        return "A"
    return "B"


def _one_person(records: TagRecords, deciding: StageResult) -> list[PunchItem]:
    """What one person made and checked, or did at both ends of a loop."""
    tag = records.tag.tag
    category: Literal["A", "B"] = "A" if records.tag.safety_function else "B"
    rows = records.tables["loop_checks"]
    checked = {each.visit: each.technician for each in records.visits if is_same_name(each.technician, each.checked_by)}
    both = zip(rows["visit"], rows["field_person"], rows["station_person"], strict=True)
    looped = {str(visit): str(field) for visit, field, station in both if is_same_name(field, station)}
    found = []
    for visit in deciding.visits:
        if visit in checked:
            evidence = f"Visit {visit}: technician and checker are {checked[visit]}."
            action = "Have another person check the record, and write the name in checked_by."
            found.append(PunchItem(tag, "", "Checked by the person who made it", evidence, action, category))
        if visit in looped:
            evidence = f"Visit {visit}: {looped[visit]} stands in the field and at the station."
            action = "Repeat the loop check with one person at each end, or correct the names."
            found.append(PunchItem(tag, "", "Loop check by one person alone", evidence, action, category))
    return found


def _set_aside(records: TagRecords) -> tuple[PunchItem, ...]:
    rows = records.rows_set_aside
    if not rows:
        return ()
    files = ", ".join(sorted({file for _, file, _ in rows}))
    count = f"{len(rows)} {'row' if len(rows) == 1 else 'rows'} set aside"
    return (
        PunchItem(
            records.tag.tag,
            "",
            count,
            f"In {files}; see the report's problems.",
            "Correct the record and run again.",
            "C",
        ),
    )
