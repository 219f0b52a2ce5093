"""One finding against its limit: tolerance, uncertainty, decision rule, verdict."""

from __future__ import annotations

from dataclasses import replace

from kit.assessment.bounded import verdict_of_bounds
from kit.assessment.conformity import (
    NO_LIMITS,
    Rule,
    Tolerance,
    applied_rule,
    guarded_verdict,
    probability_of_conformity,
    simple_verdict,
    uncertainty_ratio,
)
from kit.assessment.finding import Finding
from kit.assessment.limits import tolerance_for
from kit.assessment.results import CheckResult
from kit.basis.checks import CHECKS, CheckName
from kit.basis.quantity import Quantity
from kit.basis.settings import DecisionRule, Limit
from kit.basis.verdicts import CheckVerdict
from kit.calculations.uncertainty import Budget


def judge(finding: Finding, limit: Limit | None, choice: DecisionRule) -> CheckResult:
    """The row of results.csv for a finding that has a value."""
    if not finding.quantity.answers:
        return missing(finding.check, finding.detail, finding.why_not, limit)
    never = finding.quantity.never
    if never and finding.judged:  # what never happened keeps no limit, and needs none to fail
        return _result(finding, "fail", limit, tolerance_for(limit, finding)[0] if limit else None, reason=never)
    if limit is None or finding.value is None:
        return _result(finding, "information", reason=never or finding.uncertainty.why_not)
    tolerance, why_not = tolerance_for(limit, finding)
    if tolerance is None:
        return _result(finding, "not_assessable", limit=limit, reason=why_not)
    verdict, why_not = verdict_of_bounds(finding, tolerance)
    if verdict is not None:
        return _if_enough(_result(finding, verdict, limit, tolerance, rule="simple", reason=why_not))
    return _if_enough(_against(finding, finding.value, limit, tolerance, choice))


def _if_enough(result: CheckResult) -> CheckResult:
    """Too little evidence can fail a valve and never pass it."""
    short = result.finding.shortfall
    if not short or result.verdict == "fail":
        return result
    return replace(result, verdict=result.finding.shortfall_verdict, reason=short)


def missing(check: CheckName, detail: str, why_not: str, limit: Limit | None) -> CheckResult:
    """The row for a check that is asked for and that no record answers: a gap, never a pass."""
    target = 0.0 if CHECKS[check].target == "zero" else None
    gap = Finding(check, Quantity(None, why_not), detail, target=target)
    tolerance = tolerance_for(limit, gap)[0] if limit else None
    return CheckResult(
        replace(gap, target=None),
        "not_tested",
        tolerance or NO_LIMITS,
        limit_source=_source(limit),
        reason=why_not or "not recorded",
    )


def _against(finding: Finding, value: float, limit: Limit, tolerance: Tolerance, choice: DecisionRule) -> CheckResult:
    budget = finding.uncertainty.budget
    if CHECKS[finding.check].is_count:
        return _result(finding, simple_verdict(value, tolerance), limit, tolerance, rule="simple")
    tur = None if budget is None else uncertainty_ratio(tolerance, budget.expanded_uncertainty)
    rule = applied_rule(choice, tur)
    reason = finding.uncertainty.why_not
    if rule == "simple":
        verdict = simple_verdict(value, tolerance)
    elif budget is not None:
        verdict = guarded_verdict(value, tolerance, budget.expanded_uncertainty)
    else:
        verdict = "not_assessable"
        side = "inside" if tolerance.room(value) >= 0 else "OUTSIDE"
        reason = f"the value lies {side} the limits, but its uncertainty is not known: {reason}"
    return _result(finding, verdict, limit, tolerance, rule=rule, tur=tur, reason=reason)


def _result(
    finding: Finding,
    verdict: CheckVerdict,
    limit: Limit | None = None,
    tolerance: Tolerance | None = None,
    *,
    rule: Rule | None = None,
    tur: float | None = None,
    reason: str = "",
) -> CheckResult:
    budget = finding.uncertainty.budget
    return CheckResult(
        finding,
        verdict,
        tolerance or NO_LIMITS,
        _source(limit),
        p_conformity=_p_conformity(finding.value, budget, tolerance),
        tur=tur,
        rule=rule or "",
        reason=reason,
    )


def _p_conformity(value: float | None, budget: Budget | None, tolerance: Tolerance | None) -> float | None:
    if value is None or budget is None or tolerance is None:
        return None
    return probability_of_conformity(value, budget.standard_uncertainty, tolerance)


def _source(limit: Limit | None) -> str:
    if limit is None:
        return ""
    return f"{limit.source}, revision {limit.revision}" if limit.revision else limit.source
