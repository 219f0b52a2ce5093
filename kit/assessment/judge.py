"""One finding against its limit: tolerance, uncertainty, decision rule, verdict."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from kit.assessment.bounded import verdict_of_bounds
from kit.assessment.budgets import NO_UNCERTAINTY
from kit.assessment.conformity import (
    NO_LIMITS,
    Rule,
    Tolerance,
    applied_rule,
    guarded_verdict,
    probability_of_conformity,
    probability_within,
    simple_verdict,
    uncertainty_ratio,
)
from kit.assessment.finding import WORST_RUN, Finding
from kit.assessment.limits import tolerance_for
from kit.assessment.results import CheckResult
from kit.basis.checks import CHECKS, CheckName
from kit.basis.quantity import Quantity
from kit.basis.settings import DecisionRule, Limit
from kit.basis.verdicts import FAILING, CheckVerdict
from kit.calculations.uncertainty import Budget

_PASSING: Final = frozenset({"pass", "conditional_pass"})
_INSTRUMENT: Final = "Repeat with an instrument in order, or complete the record of the instrument used."
_PLACEHOLDER: Final = "the limit is a placeholder"
_NOT_CONFIRMED: Final = "placeholder, not confirmed by a responsible engineer"


def judge(finding: Finding, limit: Limit | None, choice: DecisionRule, *, asked: bool = False) -> CheckResult:
    """The row of results.csv for a finding. ``asked``: a required test asks for it, so that too little is a gap."""
    never = finding.quantity.never
    if not finding.quantity.answers:
        return _if_enough(missing(finding.check, finding.detail, finding.why_not, limit), finding)
    if never and finding.judged:  # what never happened keeps no limit, and needs none to fail
        return _result(finding, "fail", limit, tolerance_for(limit, finding)[0] if limit else None, reason=never)
    if limit is not None and finding.value is not None:
        within = _if_confirmed(_within_limit(finding, limit, choice), limit)
        return _if_wrong(_if_enough(within, finding))
    information = _result(finding, "information", reason=never or finding.uncertainty.why_not)
    return _if_wrong(_if_enough(information, finding) if asked else information)


def is_held_by_placeholder(result: CheckResult) -> bool:
    """Whether nothing but an engineer's word for its limit keeps a check from being judged."""
    return result.by_placeholder and result.verdict == "not_assessable" and result.reason.startswith(_PLACEHOLDER)


def _within_limit(finding: Finding, limit: Limit, choice: DecisionRule) -> CheckResult:
    tolerance, why_not = tolerance_for(limit, finding)
    if tolerance is None:
        return _result(finding, "not_assessable", limit=limit, reason=why_not)
    verdict, why_not = verdict_of_bounds(finding, tolerance)
    if verdict is not None:  # decided by what the bounds hold, whatever the uncertainty of their ends
        bounded = replace(finding, uncertainty=NO_UNCERTAINTY)
        return _result(bounded, verdict, limit, tolerance, rule="simple", reason=why_not)
    return _against(finding, limit, tolerance, choice)


def _if_confirmed(result: CheckResult, limit: Limit) -> CheckResult:
    """A limit that nobody has confirmed can fail a valve and never pass it.

    Notes
    -----
    House definition: outside a usual number is told as a failure, since silence about it would serve nobody; inside
    it says nothing until an engineer answers for the number.
    """
    if not limit.placeholder_in:
        return result
    where = f"unit.toml [limits.{limit.placeholder_in}]"
    if result.verdict in _PASSING:
        why = f"{_PLACEHOLDER} until a responsible engineer confirms it: delete the word placeholder in {where}"
        action = f"Have the responsible engineer confirm the limits, and delete the word placeholder in {where}."
        return replace(result, verdict="not_assessable", reason=why, suggested_action=action)
    if result.verdict in FAILING:
        said = f"the limit is a placeholder of {where}, which no engineer has confirmed"
        return replace(result, reason=f"{result.reason}; {said}" if result.reason else said)
    return result


def _if_enough(result: CheckResult, finding: Finding) -> CheckResult:
    """Too little evidence can fail a valve and never pass it."""
    if not finding.shortfall or result.verdict == "fail":
        return result
    return replace(result, verdict=finding.shortfall_verdict, reason=finding.shortfall, suggested_action="")


def _if_wrong(result: CheckResult) -> CheckResult:
    """What lies outside a house limit fails, whatever the limit set says or does not say."""
    finding, house = result.finding, result.finding.house_limit
    if house is None or finding.value is None or not finding.judged or result.verdict == "fail":
        return result
    tolerance = tolerance_for(house, finding)[0]
    if tolerance is None or simple_verdict(_deciding(finding, finding.value, tolerance), tolerance) == "pass":
        return result
    return _result(finding, "fail", house, tolerance, rule="simple", reason=result.reason)


def _deciding(finding: Finding, value: float, tolerance: Tolerance) -> float:
    """What decides: of several runs the one that leaves least room, not their mean."""
    return min(finding.singly or (value,), key=tolerance.room)


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
        by_placeholder=limit is not None and bool(limit.placeholder_in),
    )


def _against(finding: Finding, limit: Limit, tolerance: Tolerance, choice: DecisionRule) -> CheckResult:
    value = _deciding(finding, finding.value or 0.0, tolerance)
    if CHECKS[finding.check].is_count:
        return _result(finding, simple_verdict(value, tolerance), limit, tolerance, rule="simple")
    budget = finding.uncertainty.budget
    if budget is None:
        return _without_uncertainty(finding, value, limit, tolerance, choice)
    tur = uncertainty_ratio(tolerance, budget.two_sigma)
    rule = applied_rule(choice, tur, budget.scatter_freedom)
    if rule == "simple":
        verdict = simple_verdict(value, tolerance)
    else:
        verdict = guarded_verdict(value, tolerance, budget.guard_band)
    if verdict == "pass" and finding.uncertainty.lacks_scatter:
        verdict = "conditional_pass"
    return _result(finding, verdict, limit, tolerance, rule=rule, tur=tur, reason=finding.uncertainty.why_not)


def _without_uncertainty(
    finding: Finding, value: float, limit: Limit, tolerance: Tolerance, choice: DecisionRule
) -> CheckResult:
    """No pass under any rule; a failure is one that simple acceptance proves."""
    rule, inside = applied_rule(choice, None), tolerance.room(value) >= 0
    if rule == "simple" and not inside:
        return _result(finding, "fail", limit, tolerance, rule=rule, reason=finding.uncertainty.why_not)
    side = "inside" if inside else "OUTSIDE"
    reason = f"the value lies {side} the limits, but its uncertainty is not known: {finding.uncertainty.why_not}"
    found = _result(finding, "not_assessable", limit, tolerance, rule=rule, reason=reason)
    return replace(found, suggested_action=_INSTRUMENT)


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
    budget, value = finding.uncertainty.budget, finding.value
    if value is not None and len(finding.singly) > 1 and tolerance is not None and not CHECKS[finding.check].is_count:
        value = _deciding(finding, value, tolerance)
        beside = {**finding.beside, WORST_RUN: value}
        finding = replace(finding, quantity=replace(finding.quantity, beside=beside))
        if verdict != "pass":
            reason = reason or f"the run of {value:.4g} {CHECKS[finding.check].measure} decides"
    return CheckResult(
        finding,
        verdict,
        tolerance or NO_LIMITS,
        _source(limit),
        p_conformity=_p_conformity(value, budget, tolerance),
        tur=tur,
        rule=rule or "",
        reason=reason,
        by_placeholder=limit is not None and bool(limit.placeholder_in),
    )


def _p_conformity(value: float | None, budget: Budget | None, tolerance: Tolerance | None) -> float | None:
    if value is None or budget is None or tolerance is None:
        return None
    if budget.standard_uncertainty == 0.0:
        return probability_of_conformity(value, 0.0, tolerance)
    return probability_within(value, tolerance, budget.distribution.beyond)


def _source(limit: Limit | None) -> str:
    if limit is None:
        return ""
    source = f"{limit.source}, revision {limit.revision}" if limit.revision else limit.source
    return f"{source}; {_NOT_CONFIRMED}" if limit.placeholder_in else source
