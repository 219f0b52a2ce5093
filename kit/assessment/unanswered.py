"""What an open record keeps from passing: every check that it could have fed, until a person answers it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from typing import Final

from kit.assessment.results import CheckResult
from kit.assessment.subjects import SUBJECTS
from kit.assessment.subjects.subject import Subject
from kit.basis.checks import CHECKS, CheckName
from kit.basis.records import Problem, Scope
from kit.basis.verdicts import GAPS, Stage

_EVERY_CHECK: Final = frozenset(CHECKS)
_OF_THE_ROW: Final = frozenset({"tag", "visit", "stage", "cycle", "at"})  # columns that say what a row is of
_RECORDED: Final = frozenset({"logs", "segments"})
_ACTION: Final = (
    "Answer each by a decision (strokebook sheet --open lists them), or repeat the test and answer with that."
)
_NAMED: Final = 4  # places that a reason names; the report lists every one


def in_stage(problems: Iterable[Problem], visit: str, stage: Stage, *, decides: bool) -> tuple[Problem, ...]:
    """Open records, and used rows that lack a cell, whose scope holds a stage.

    One whose visit is not known counts for the visit that decides, and one whose stage is not known for both.
    """
    return tuple(
        each
        for each in problems
        if each.status in ("open", "blank")
        and each.scope is not None
        and (each.scope.visit == visit or (decides and not each.scope.visit))
        and each.scope.stage in ("", stage)
    )


def fed_by(scope: Scope) -> frozenset[CheckName]:
    """The checks that a record of this scope could have moved.

    Notes
    -----
    House definition, to the safe side: a table that no subject reads as its own (visits, adjustments, the registers)
    moves every check; a recording moves every check that recordings can answer.
    """
    subjects = [each for each in SUBJECTS if _reads(each, scope.table)]
    if not subjects:
        return _EVERY_CHECK
    columns = frozenset(scope.columns)
    recorded = scope.table in _RECORDED
    whole = not columns or bool(columns & _OF_THE_ROW) or recorded
    return frozenset(
        feed.check
        for subject in subjects
        for feed in subject.feeds
        if (whole or columns & frozenset(feed.columns)) and (feed.in_recordings or not recorded)
    )


def hold_back(
    checks: Sequence[CheckResult], problems: Sequence[Problem], limited: Collection[CheckName]
) -> tuple[list[CheckResult], tuple[Problem, ...]]:
    """The checks with those held back that an open record could have fed, and the problems as they turned out.

    A used row that lacks a cell is an open record where a check with a limit needs the cell, and else a flag.
    """
    settled = [_settled(each, limited) for each in problems]
    opens: dict[CheckName, list[Problem]] = {}
    for each in settled:
        if each.status == "open" and each.scope is not None:
            for check in fed_by(each.scope):
                opens.setdefault(check, []).append(each)
    held = [_held_back(each, opens[each.check]) if each.check in opens else each for each in checks]
    return held, tuple(each for each, before in zip(settled, problems, strict=True) if before.status == "blank")


def unanswered(problems: Sequence[Problem]) -> str:
    """How many records wait for an answer, and where they stand: "2 records unanswered: strokes.csv rows 21 and 22"."""
    places: dict[str, list[int]] = {}
    for each in problems:
        rows = places.setdefault(each.file.removeprefix("records/"), [])
        if each.row is not None and each.row not in rows:
            rows.append(each.row)
    count = len({each.record or (each.file, each.row, each.column) for each in problems})
    named = "; ".join(f"{file}{_rows(sorted(rows))}" for file, rows in places.items())
    return f"{count} {'record' if count == 1 else 'records'} unanswered: {named}"


def _rows(rows: Sequence[int]) -> str:
    if not rows:
        return ""
    named = [str(each) for each in rows[:_NAMED]]
    if len(rows) > _NAMED:
        named.append(f"{len(rows) - _NAMED} more")
    listed = f"{', '.join(named[:-1])} and {named[-1]}" if len(named) > 1 else named[0]
    return f" {'row' if len(rows) == 1 else 'rows'} {listed}"


def _reads(subject: Subject, table: str) -> bool:
    if table in _RECORDED:
        return subject.from_recordings
    return table in (subject.table, *subject.also)


def _settled(problem: Problem, limited: Collection[CheckName]) -> Problem:
    if problem.status != "blank" or problem.scope is None:
        return problem
    return replace(problem, status="open" if fed_by(problem.scope) & frozenset(limited) else "flag")


def _held_back(check: CheckResult, opens: Sequence[Problem]) -> CheckResult:
    """A failure that what remains proves stays; nothing else stands while a record is open."""
    why = unanswered(opens)
    if check.verdict in ("fail", "information", *(GAPS - {"not_tested"})):
        return replace(check, reason=f"{check.reason}; {why}" if check.reason else why)
    return replace(check, verdict="not_assessable", reason=why, suggested_action=_ACTION)
