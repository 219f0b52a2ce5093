"""One visit's as-found or as-left stage: every finding judged, every gap named."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from kit.assessment.budgets import Day
from kit.assessment.causes import probable_causes
from kit.assessment.electrical import electrical_findings
from kit.assessment.fail_tests import fail_action_for, fail_findings
from kit.assessment.finding import Finding
from kit.assessment.judge import judge, missing
from kit.assessment.limits import limit_set_for, required_tests
from kit.assessment.loop import loop_findings, precheck_findings
from kit.assessment.model import CheckResult, StageResult
from kit.assessment.potentiometer import potentiometer_findings, sweep_of
from kit.assessment.readings import feedback_findings, feedback_runs, position_findings, position_runs
from kit.assessment.strokes import stroke_findings
from kit.assessment.switches import switch_findings
from kit.contract.checks import CHECKS, TESTS
from kit.contract.verdicts import Stage, worst_verdict
from kit.records.model import Limit
from kit.records.rows import Rows

# The column by which a required test such as "fail_tests:signal_open" picks its rows.
_DETAIL_COLUMN: Final = {"readings": "direction", "strokes": "direction", "fail_tests": "cause", "switches": "switch"}
_ORDER: Final = {name: number for number, name in enumerate(CHECKS)}


def assess_stage(day: Day, visit: str, stage: Stage, tables: Mapping[str, Rows], *, decides: bool) -> StageResult:
    """Every check of one stage.

    ``decides``: the stage that gives the tag its verdict has to be whole, so that a limit or a required
    test without data is a gap in it. Any other stage is judged by what was recorded.
    """
    readings, potentiometer = tables["readings"], tables["potentiometer"]
    runs, feedback, sweep = (
        position_runs(readings, day.tag),
        feedback_runs(readings, day.tag),
        sweep_of(potentiometer, day.tag),
    )
    findings = [
        *position_findings(readings, runs, day),
        *feedback_findings(readings, feedback, day),
        *stroke_findings(tables["strokes"], day),
        *fail_findings(tables["fail_tests"], day),
        *switch_findings(tables["switches"], day),
        *potentiometer_findings(potentiometer, sweep, day),
        *electrical_findings(tables["electrical"], day),
        *loop_findings(tables["loop_checks"], day),
        *precheck_findings(tables["prechecks"]),
    ]
    limits = _limits(day)
    checks = [
        judge(each, _limit(limits, each), day.settings.decision_rule) for each in findings if each.value is not None
    ]
    if decides:
        checks += _gaps(day, tables, findings, limits)
    checks.sort(key=lambda each: (_ORDER[each.check], each.detail))
    return StageResult(
        visit=visit,
        stage=stage,
        date=day.visit.date if day.visit else "",
        verdict=worst_verdict(each.verdict for each in checks),
        checks=tuple(checks),
        causes=probable_causes(day.tag, tuple(checks), runs, feedback),
        position_runs=runs,
        feedback_runs=feedback,
        sweep=sweep,
    )


def _limits(day: Day) -> Mapping[str, Limit]:
    limit_set = limit_set_for(day.tag, day.settings).limit_set
    return limit_set.limits if limit_set else {}


def _limit(limits: Mapping[str, Limit], finding: Finding) -> Limit | None:
    """The limit of a finding; a stroke at a lower speed setting is information beside the one that counts."""
    return None if finding.detail.startswith("speed setting") else limits.get(finding.check)


def _gaps(
    day: Day, tables: Mapping[str, Rows], findings: Iterable[Finding], limits: Mapping[str, Limit]
) -> list[CheckResult]:
    """What a limit or a required test asks for and the records do not answer."""
    gaps: dict[tuple[str, str], CheckResult] = {}
    for test in required_tests(day.tag, day.settings):
        if not _has_rows(test, tables):
            why = (
                f"the limit set asks for the test {test}, and {_no_rows(test.partition(':')[0], 'no rows of it', day)}"
            )
            gaps.update({key: missing(*key, why, limits.get(key[0])) for key in TESTS[test]})
    answered = {each.check for each in findings} | {check for check, _ in gaps}
    for check in limits.keys() - answered:
        table = CHECKS[check].table
        gaps[check, ""] = missing(check, "", _no_rows(table, f"no rows of {table}", day), limits[check])
    for each in findings:
        if each.value is None and each.check in limits and not _is_needless(each, day):
            gaps[each.check, each.detail] = missing(each.check, each.detail, each.why_not, limits[each.check])
    return list(gaps.values())


def _no_rows(table: str, nothing: str, day: Day) -> str:
    """Nothing was recorded, or nothing that could be used."""
    count = day.set_aside.get(table, 0)
    return f"{nothing} could be used ({count} set aside)" if count else f"{nothing} were recorded"


def _is_needless(finding: Finding, day: Day) -> bool:
    """A valve that holds its position takes no time to come to rest."""
    return finding.check == "fail_time" and fail_action_for(day.tag, finding.detail) == "hold"


def _has_rows(test: str, tables: Mapping[str, Rows]) -> bool:
    table, _, detail = test.partition(":")
    rows = tables[table]
    return len(rows.only(_DETAIL_COLUMN[table], detail) if detail else rows) > 0
