"""One visit's as-found or as-left stage: every finding judged, every gap named."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from kit.assessment.budgets import Day
from kit.assessment.causes import probable_causes
from kit.assessment.flagged import with_flags
from kit.assessment.judge import judge
from kit.assessment.limits import limit_set_for
from kit.assessment.recordings.compare import compare, hold_together, recorded_of_typed
from kit.assessment.required import asked_for, gaps, is_asked
from kit.assessment.results import StageResult
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects import SUBJECTS
from kit.assessment.subjects.loop import loop_readings
from kit.assessment.unanswered import hold_back
from kit.basis.checks import CHECKS, CheckName
from kit.basis.records import Problem
from kit.basis.settings import Limit
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
    limits, asked = _limits(day), asked_for(day) if decides else frozenset()
    checks = [
        judge(
            each,
            limits.get(each.check) if each.judged else None,
            day.settings.decision_rule,
            asked=is_asked(each, asked),
        )
        for each in findings
        if each.quantity.answers
    ]
    checks, differences = hold_together(checks, records, limits)
    if decides:
        checks += gaps(records, findings, limits)
    checks, blanks = hold_back(checks, records.unanswered, limits.keys())
    checks = with_flags(checks, records)
    checks.sort(key=lambda each: (_ORDER[each.check], visit_key(each.detail)))
    runs = records.recorded_position or records.typed_position
    feedback = records.recorded_feedback or records.typed_feedback
    result = StageResult(
        visit=records.visit,
        stage=records.stage,
        date=day.visit.date if day.visit else "",
        verdict=worst_verdict(each.verdict for each in checks),
        checks=tuple(checks),
        position_runs=runs,
        feedback_runs=feedback,
        sweep=records.sweep,
        recordings=recordings.results,
        command_set_pct=None if records.recorded_position else records.command_set_pct,
        loop=loop_readings(records),
    )
    result = replace(result, causes=probable_causes(result, day.tag))
    return Staged(result, (*blanks, *differences, *recorded_of_typed(recordings, records.tables["strokes"], day)))


def _limits(day: Day) -> Mapping[CheckName, Limit]:
    limit_set = limit_set_for(day.tag, day.settings).limit_set
    return limit_set.limits if limit_set else {}
