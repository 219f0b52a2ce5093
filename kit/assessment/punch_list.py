"""Outstanding items of a tag, drawn from what did not pass; the categories are proposals."""

from __future__ import annotations

from typing import Final, Literal

from kit.assessment.results import CheckResult, PunchItem, StageResult
from kit.assessment.wording import check_words
from kit.basis.checks import CHECKS
from kit.basis.records import TagRecords
from kit.basis.verdicts import GAPS

# Common practice, no source: what is usually looked at first. Each is to be confirmed on site.
_ACTIONS: Final = {
    "readings": "Check travel stops, end points and command range; adjust, then repeat the stroke readings.",
    "hysteretic_error": (
        "Check coupling, gear play, packing and dead band; adjust, then repeat the stroke readings both ways."
    ),
    "repeatability": "Check coupling and reading method; repeat the cycles.",
    "feedback": (
        "Compare feedback with measured position at both ends; trim the feedback output or re-clamp its coupling."
    ),
    "strokes": (
        "Check the speed setting and the running supply voltage; set the speed, then repeat strokes, "
        "readings and fail action."
    ),
    "fail_tests": "Check the fail action setting and wiring for this cause; set it, then repeat every fail test.",
    "switches": "Set the switch to make before its travel stop; then repeat switch and end readings.",
    "potentiometer": (
        "Re-index the potentiometer to mid-track at mid-travel or replace it; then repeat feedback and readings."
    ),
    "potentiometer_dropouts": (
        "Sweep slowly to confirm the place; replace the potentiometer, then repeat feedback and readings."
    ),
    "electrical": (
        "Check supply, cable and terminations with the equipment isolated by authorised persons; measure again."
    ),
    "loop_checks": "Check the control system's range and direction for this loop; repeat the loop check end to end.",
    "prechecks": "Close the open items before the valve is moved.",
    "logs": "Check filter and dead time settings, speed and running supply; set them, then repeat the step responses.",
    **dict.fromkeys(
        ("dead_band", "resolution", "hysteresis"),
        "Check the dead band setting, coupling, gear play and packing; adjust, then repeat the small steps.",
    ),
    **dict.fromkeys(
        ("hunting_amplitude", "hunting_period"),
        "Widen the dead band once: if the hunting stops, hold it against coast and play, else look for noise on "
        "command and feedback; then repeat the rest.",
    ),
    "starts_per_hour": "Check dead band, filter and noise on the command; hold the starts against the actuator's duty.",
}
_AT_ONCE: Final = frozenset({"fail_position", "fail_time"})  # what the plant relies on when something is lost


def punch_list(records: TagRecords, deciding: StageResult | None) -> tuple[PunchItem, ...]:
    """One item for each check that did not pass, and one for rows that were set aside."""
    tag = records.tag.tag
    if deciding is None:
        item = PunchItem(
            tag, "", "No records", "The register lists the tag and no record mentions it.", "Test and record.", "B"
        )
        return (item, *_set_aside(records))
    items = [
        PunchItem(
            tag=tag,
            check=each.check,
            what=_what(each),
            evidence=_evidence(each),
            suggested_action=_action(each),
            category=_category(each, safety=records.tag.safety_function),
        )
        for each in deciding.checks
        if each.verdict not in ("pass", "information")
    ]
    return (*items, *_set_aside(records))


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
    value = f"{check.value:.4g} {CHECKS[check.check].measure}"
    return f"{value}{where}{uncertainty}; limit {limits or 'not worked out'}{reason}"


def _action(check: CheckResult) -> str:
    if check.verdict == "not_tested":
        return "Make the test and record it."
    if check.verdict == "not_assessable":
        return "Repeat with an instrument in order, or complete the record of the instrument used."
    if check.verdict == "conditional_pass":
        return "Have the responsible engineer accept it, or repeat with a more accurate instrument."
    kind = "feedback" if check.check.startswith("feedback_") else CHECKS[check.check].table
    return _ACTIONS.get(check.check, _ACTIONS[kind])


def _category(check: CheckResult, *, safety: bool) -> Literal["A", "B", "C"]:
    """A: before the valve is relied on; B: before handover; C: to be agreed. House definition, a proposal."""
    if check.verdict == "conditional_pass":
        return "C"
    failed = check.verdict in ("fail", "conditional_fail")
    if (failed and check.check in _AT_ONCE) or (safety and (failed or check.verdict in GAPS)):
        return "A"
    return "B"


def _set_aside(records: TagRecords) -> tuple[PunchItem, ...]:
    rows = {(problem.file, problem.row) for problem in records.problems if problem.set_aside}
    if not rows:
        return ()
    files = ", ".join(sorted({file for file, _ in rows}))
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
