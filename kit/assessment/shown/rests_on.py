"""What a verdict rests on: checks judged, checks without a limit, records answered, records still open."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.unanswered import fed_by, unanswered
from kit.assessment.wording import check_words
from kit.basis.answers import Answer
from kit.basis.checks import CHECKS, CheckName
from kit.basis.records import Problem, TagRecords
from kit.basis.verdicts import GAPS

_ALWAYS_NAMED: Final[tuple[CheckName, ...]] = ("inaccuracy", "stroke_time_open", "stroke_time_close", "fail_position")


def problems_of(records: TagRecords, assessment: TagAssessment) -> tuple[Problem, ...]:
    """Every problem of a tag as it turned out; what lacked a cell is open or a flag."""
    settled = {(each.file, each.row, each.column, each.table) for each in assessment.problems}
    read = (
        each
        for each in records.problems
        if each.status != "blank" or (each.file, each.row, each.column, each.table) not in settled
    )
    return (*read, *assessment.problems)


def open_records(records: TagRecords, assessment: TagAssessment) -> tuple[Problem, ...]:
    """The records of a tag that wait for an answer."""
    return tuple(each for each in problems_of(records, assessment) if each.status == "open")


def rests_on(deciding: StageResult | None, opens: Iterable[Problem]) -> tuple[str, ...]:
    """Sentences for page one: how many checks were judged, what was not for want of a limit, what is still open."""
    checks = () if deciding is None else deciding.checks
    judged = [each for each in checks if each.verdict != "information" and each.verdict not in GAPS]
    said = [f"The verdict rests on {_count(len(judged), 'check')} held against limits."]
    unconfirmed = [each for each in checks if each.by_placeholder]
    if unconfirmed:
        said.append(
            f"{_count(len(unconfirmed), 'check')} of limits that are placeholders, which no engineer has confirmed: "
            "by these nothing passes."
        )
    unjudged = [each for each in checks if each.verdict == "information"]
    if unjudged:
        said.append(f"Recorded and not judged, for want of a limit: {', '.join(_titles(unjudged))}.")
    known = {each.check for each in checks}
    absent = [CHECKS[check].title for check in _ALWAYS_NAMED if check not in known]
    if absent:
        said.append(f"Not recorded, and without a limit: {', '.join(absent)}.")
    silent = [each for each in opens if not _holds_back(each, deciding)]
    if silent:
        said.append(f"{unanswered(silent)}. What was judged does not rest on {'it' if len(silent) == 1 else 'them'}.")
    return (*said, *_on_flagged(checks))


def _on_flagged(checks: Iterable[CheckResult]) -> list[str]:
    """Which checks rest on flagged readings; what is judged is named, what is not is counted with it."""
    resting = [each for each in checks if each.flagged]
    if not resting:
        return []
    places = list(dict.fromkeys(place for each in resting for place in each.flagged))
    where = places[0] if len(places) == 1 else f"{places[0]} and {len(places) - 1} more"
    judged = [each for each in resting if each.verdict != "information"]
    named = f": {', '.join(_titles(judged))}" if judged else ""
    verb = "rests" if len(resting) == 1 else "rest"
    return [f"{_count(len(resting), 'check')} {verb} on what is flagged ({where}){named}."]


def holds_back(problem: Problem, check: CheckResult, stage: StageResult) -> bool:
    """Whether an open record could have fed a check of a stage."""
    scope = problem.scope
    if problem.status != "open" or scope is None or scope.stage not in ("", stage.stage):
        return False
    return scope.visit in ("", check.visit or stage.visit) and check.check in fed_by(scope)


def _holds_back(problem: Problem, deciding: StageResult | None) -> bool:
    """Whether an open record could have fed a check that is held against a limit, which then says so itself."""
    scope = problem.scope
    if scope is None or deciding is None or scope.stage not in ("", deciding.stage):
        return False
    fed = fed_by(scope)
    return any(
        each.check in fed and each.verdict != "information" and scope.visit in ("", each.visit or deciding.visit)
        for each in deciding.checks
    )


def answers_words(problems: Iterable[Problem]) -> str:
    """Who answered what: "with 1 record answered by N. N. on 2026-05-03: typed twice"; "" without answers."""
    groups: dict[tuple[str, str, str, str], set[str]] = {}
    for each in problems:
        if each.status == "answered" and each.answer is not None:
            told = each.answer.by, each.answer.on, _reason(each, each.answer), each.answer.second_person
            groups.setdefault(told, set()).add(each.record)
    if not groups:
        return ""
    said = []
    for (by, on, reason, second), records in groups.items():
        confirmed = f", confirmed by {second}" if second else ""
        said.append(f"{_count(len(records), 'record')} answered by {by} on {on}{confirmed}: {reason}")
    return f"with {'; '.join(said)}"


def _reason(problem: Problem, answer: Answer) -> str:
    """The reason given; for a misread value what was typed and what is taken for it."""
    reason = answer.reason.rstrip(".")
    if answer.decision != "misread":
        return reason
    return f"{reason} ({problem.column or 'value'} {problem.value!r} is taken as {answer.value or 'not recorded'})"


def _titles(checks: Iterable[CheckResult]) -> list[str]:
    """Titles of checks, the details of one check behind its title."""
    details: dict[CheckName, list[str]] = {}
    for each in checks:
        details.setdefault(each.check, []).append(each.detail)
    return [_title(check, found) for check, found in details.items()]


def _title(check: CheckName, details: list[str]) -> str:
    if len(details) == 1:
        return check_words(check, details[0])
    of_each = [check_words(check, detail).removeprefix(CHECKS[check].title).lstrip(", ") for detail in details]
    return f"{CHECKS[check].title} ({', '.join(each or 'as such' for each in of_each)})"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
