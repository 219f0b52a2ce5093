"""One visit's as-found or as-left stage: every finding judged, every gap named."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kit.assessment.budgets import Day
from kit.assessment.causes import probable_causes
from kit.assessment.finding import Finding
from kit.assessment.judge import judge, missing
from kit.assessment.limits import limit_set_for, required_tests
from kit.assessment.recordings.compare import compare, hold_together, recorded_of_typed
from kit.assessment.results import CheckResult, StageResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects import MISSING, SUBJECTS, table_of
from kit.assessment.unanswered import hold_back
from kit.basis.checks import CHECKS, CheckName
from kit.basis.records import Problem
from kit.basis.rows import Rows
from kit.basis.settings import Limit
from kit.basis.tables import TABLES
from kit.basis.verdicts import worst_verdict
from kit.basis.visits import visit_key

_ORDER: Final = {name: number for number, name in enumerate(CHECKS)}


@dataclass(frozen=True, slots=True)
class Staged:
    """A stage's result, and the problems that judging it brought up."""

    result: StageResult
    problems: tuple[Problem, ...] = ()


def assess_stage(records: StageRecords, *, decides: bool) -> Staged:
    """Every check of one stage, and what was found wrong while judging it.

    ``decides``: the stage that gives the tag its verdict has to be whole, so that a limit or a required
    test without data is a gap in it. Any other stage is judged by what was recorded.
    """
    day, recordings = records.day, records.recordings
    findings = [each for subject in SUBJECTS for each in compare(subject.typed(records), subject.recorded(records))]
    limits = _limits(day)
    checks = [
        judge(each, limits.get(each.check) if each.judged else None, day.settings.decision_rule)
        for each in findings
        if each.quantity.answers
    ]
    checks, differences = hold_together(checks, records, limits)
    if decides:
        checks += _gaps(records, findings, limits)
    checks, blanks = hold_back(checks, records.unanswered, limits.keys())
    checks.sort(key=lambda each: (_ORDER[each.check], visit_key(each.detail)))
    runs = records.recorded_position or records.typed_position
    feedback = records.recorded_feedback or records.typed_feedback
    result = StageResult(
        visit=records.visit,
        stage=records.stage,
        date=day.visit.date if day.visit else "",
        verdict=worst_verdict(each.verdict for each in checks),
        checks=tuple(checks),
        causes=probable_causes(day.tag, tuple(checks), runs, feedback),
        position_runs=runs,
        feedback_runs=feedback,
        sweep=records.sweep,
        recordings=recordings.results,
    )
    return Staged(result, (*blanks, *differences, *recorded_of_typed(recordings, records.tables["strokes"], day)))


def _limits(day: Day) -> Mapping[CheckName, Limit]:
    limit_set = limit_set_for(day.tag, day.settings).limit_set
    return limit_set.limits if limit_set else {}


def _gaps(
    records: StageRecords, findings: Sequence[Finding], limits: Mapping[CheckName, Limit]
) -> Iterable[CheckResult]:
    """What a limit or a required test asks for and the records do not answer."""
    day = records.day
    gaps: dict[tuple[CheckName, str], CheckResult] = {}
    valued = {(each.check, each.detail) for each in findings if each.quantity.answers}
    recorded = {test for subject in SUBJECTS for test in subject.recorded_tests(records)}
    for test in required_tests(day.tag, day.settings):
        if test not in recorded and not _has_rows(test, records.tables):
            nothing = _no_rows(test.partition(":")[0], "no rows of it", day)
            why = f"the limit set asks for the test {test}, and {nothing}"
            gaps.update({key: missing(*key, why, limits.get(key[0])) for key in MISSING[test] if key not in valued})
    answered = {each.check for each in findings} | {check for check, _ in gaps}
    for check in limits.keys() - answered:
        table = table_of(check)
        gaps[check, ""] = missing(check, "", _no_rows(table, f"no rows of {table}", day), limits[check])
    for each in findings:
        if not each.quantity.answers and each.check in limits and not each.needless:
            gaps[each.check, each.detail] = missing(each.check, each.detail, each.why_not, limits[each.check])
    return gaps.values()


def _no_rows(table: str, nothing: str, day: Day) -> str:
    """Nothing was recorded, or nothing that could be used."""
    count = day.set_aside.get(table, 0)
    return f"{nothing} could be used ({count} set aside)" if count else f"{nothing} were recorded"


def _has_rows(test: str, tables: Mapping[str, Rows]) -> bool:
    table, _, part = test.partition(":")
    if table not in tables:  # recordings are no rows
        return False
    return len(tables[table].only(TABLES[table].parts_by, part) if part else tables[table]) > 0
