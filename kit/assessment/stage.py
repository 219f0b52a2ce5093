"""One visit's as-found or as-left stage: every finding judged, every gap named."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kit.assessment.budgets import Day
from kit.assessment.causes import probable_causes
from kit.assessment.electrical import electrical_findings
from kit.assessment.fail_tests import fail_action_for, fail_findings
from kit.assessment.finding import Finding
from kit.assessment.judge import judge, missing
from kit.assessment.limits import limit_set_for, required_tests
from kit.assessment.loop import loop_findings, precheck_findings
from kit.assessment.potentiometer import potentiometer_findings, sweep_of
from kit.assessment.readings import feedback_findings, feedback_runs, position_findings, position_runs
from kit.assessment.recordings import (
    StageLogs,
    compare,
    log_feedback_runs,
    log_findings,
    log_position_runs,
    log_readings,
    recorded_of_typed,
    recorded_tests,
)
from kit.assessment.recordings.compare import is_typed
from kit.assessment.results import CheckResult, StageResult
from kit.assessment.strokes import stroke_findings
from kit.assessment.switches import switch_findings
from kit.basis.checks import CHECKS, TESTS
from kit.basis.records import Problem
from kit.basis.rows import Rows
from kit.basis.settings import Limit
from kit.basis.verdicts import Stage, worst_verdict
from kit.basis.visits import visit_key
from kit.calculations.position import Runs
from kit.calculations.potentiometer import Sweep

# The column by which a required test such as "fail_tests:signal_open" picks its rows.
_DETAIL_COLUMN: Final = {"readings": "direction", "strokes": "direction", "fail_tests": "cause", "switches": "switch"}
NO_LOGS: Final = StageLogs(())
_ORDER: Final = {name: number for number, name in enumerate(CHECKS)}


@dataclass(frozen=True, slots=True)
class Staged:
    """A stage's result, and the problems that judging it brought up."""

    result: StageResult
    problems: tuple[Problem, ...] = ()


def assess_stage(
    day: Day,
    visit: str,
    stage: Stage,
    tables: Mapping[str, Rows],
    logs: StageLogs = NO_LOGS,
    *,
    decides: bool,
) -> Staged:
    """Every check of one stage, and what was found wrong while judging it.

    ``decides``: the stage that gives the tag its verdict has to be whole, so that a limit or a required
    test without data is a gap in it. Any other stage is judged by what was recorded.
    """
    readings, held = tables["readings"], log_readings(logs, day.tag, visit, stage)
    runs, feedback = position_runs(readings, day.tag), feedback_runs(readings, day.tag)
    sweep = sweep_of(tables["potentiometer"], day.tag)
    typed = _typed(tables, (runs, feedback, sweep), day)
    recorded = log_findings(logs, held, day)
    file = logs.results[0].file if logs.results else ""
    findings, differences = compare(typed, recorded, file, day.tag.tag) if recorded else (typed, [])
    runs, feedback = log_position_runs(held, day.tag) or runs, log_feedback_runs(held, day.tag) or feedback
    limits = _limits(day)
    checks = [
        judge(each, _limit(limits, each), day.settings.decision_rule) for each in findings if each.value is not None
    ]
    if decides:
        checks += _gaps(day, tables, findings, limits, recorded_tests(logs))
    checks.sort(key=lambda each: (_ORDER[each.check], visit_key(each.detail)))
    result = StageResult(
        visit=visit,
        stage=stage,
        date=day.visit.date if day.visit else "",
        verdict=worst_verdict(each.verdict for each in checks),
        checks=tuple(checks),
        causes=probable_causes(day.tag, tuple(checks), runs, feedback),
        position_runs=runs,
        feedback_runs=feedback,
        sweep=sweep,
        logs=logs.results,
    )
    return Staged(result, (*differences, *recorded_of_typed(logs, tables["strokes"], day)))


def _typed(
    tables: Mapping[str, Rows], reduced: tuple[Runs | None, Runs | None, Sweep | None], day: Day
) -> list[Finding]:
    """What the typed rows say on every check."""
    runs, feedback, sweep = reduced
    return [
        *position_findings(tables["readings"], runs, day),
        *feedback_findings(tables["readings"], feedback, day),
        *stroke_findings(tables["strokes"], day),
        *fail_findings(tables["fail_tests"], day),
        *switch_findings(tables["switches"], day),
        *potentiometer_findings(tables["potentiometer"], sweep, day),
        *electrical_findings(tables["electrical"], day),
        *loop_findings(tables["loop_checks"], day),
        *precheck_findings(tables["prechecks"]),
    ]


def _limits(day: Day) -> Mapping[str, Limit]:
    limit_set = limit_set_for(day.tag, day.settings).limit_set
    return limit_set.limits if limit_set else {}


def _limit(limits: Mapping[str, Limit], finding: Finding) -> Limit | None:
    """The limit of a finding.

    A stroke at a lower speed setting is information beside the one that counts, and so is a typed value beside a
    recorded one.
    """
    beside = finding.detail.startswith("speed setting") or is_typed(finding.detail)
    return None if beside else limits.get(finding.check)


def _gaps(
    day: Day,
    tables: Mapping[str, Rows],
    findings: Sequence[Finding],
    limits: Mapping[str, Limit],
    recorded: frozenset[str],
) -> list[CheckResult]:
    """What a limit or a required test asks for and the records do not answer."""
    gaps: dict[tuple[str, str], CheckResult] = {}
    valued = {(each.check, each.detail) for each in findings if each.value is not None}
    for test in required_tests(day.tag, day.settings):
        if test not in recorded and not _has_rows(test, tables):
            why = (
                f"the limit set asks for the test {test}, and {_no_rows(test.partition(':')[0], 'no rows of it', day)}"
            )
            gaps.update({key: missing(*key, why, limits.get(key[0])) for key in TESTS[test] if key not in valued})
    answered = {each.check for each in findings} | {check for check, _ in gaps}
    for check in limits.keys() - answered:
        table = CHECKS[check].table
        gaps[check, ""] = missing(check, "", _no_rows(table, f"no rows of {table}", day), limits[check])
    for each in findings:
        if each.value is None and each.check in limits and not _is_needless(each, findings, day):
            gaps[each.check, each.detail] = missing(each.check, each.detail, each.why_not, limits[each.check])
    return list(gaps.values())


def _no_rows(table: str, nothing: str, day: Day) -> str:
    """Nothing was recorded, or nothing that could be used."""
    count = day.set_aside.get(table, 0)
    return f"{nothing} could be used ({count} set aside)" if count else f"{nothing} were recorded"


def _is_needless(finding: Finding, findings: Iterable[Finding], day: Day) -> bool:
    """A valve that holds its position takes no time to come to rest; one that does not hunt has no period."""
    if finding.check == "fail_time":
        return fail_action_for(day.tag, finding.detail) == "hold"
    if finding.check == "hunting_period":
        return any(each.check == "hunting_amplitude" and each.value is not None for each in findings)
    return False


def _has_rows(test: str, tables: Mapping[str, Rows]) -> bool:
    table, _, detail = test.partition(":")
    if table not in tables:  # recordings are no rows
        return False
    rows = tables[table]
    return len(rows.only(_DETAIL_COLUMN[table], detail) if detail else rows) > 0
