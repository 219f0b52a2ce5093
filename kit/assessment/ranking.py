"""Which check stands behind a verdict, and how near each one is to its limit."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from kit.assessment.results import CheckResult, StageResult
from kit.basis.verdicts import GAPS

_GRAVITY: Final = ("fail", "conditional_fail", "not_tested", "conditional_pass", "pass", "information")


def worst_check(stage: StageResult) -> CheckResult | None:
    """The check that stands behind a stage's verdict: of the gravest verdict the one farthest towards its limit."""
    return worst_of(stage.checks)


def worst_of(checks: Iterable[CheckResult]) -> CheckResult | None:
    """Of the checks held against a limit, of those of the gravest verdict the one farthest towards its limit."""
    judged = [each for each in checks if each.verdict != "information"]
    gravest = min((_gravity(each) for each in judged), default=0)
    return max((each for each in judged if _gravity(each) == gravest), key=limit_share, default=None)


def limit_share(check: CheckResult) -> float:
    """How much of the way from target to limit a value has used: 1 is on the limit, -1 without value or limit.

    What never happened is beyond any limit.

    Notes
    -----
    House definition: two-sided limits from the middle of the interval; an upper limit as value/limit,
    a lower limit as limit/value (a value at or below 0 is taken as beyond any limit).

    Examples
    --------
    >>> from kit.assessment.conformity import Tolerance
    >>> from kit.assessment.finding import Finding
    >>> from kit.basis.quantity import Quantity
    >>> limit_share(CheckResult(Finding("inaccuracy", Quantity(-1.2)), "pass", Tolerance(-2.0, 2.0)))
    0.6
    """
    value, lower, upper = check.deciding_value, check.lower_limit, check.upper_limit
    if check.finding.quantity.never:
        return float("inf")
    if value is None or (lower is None and upper is None):
        return -1.0
    if lower is not None and upper is not None:
        half = (upper - lower) / 2
        return abs(value - (upper + lower) / 2) / half if half > 0 else (0.0 if value == upper else float("inf"))
    if upper is not None:
        return value / upper if upper > 0 else (0.0 if value <= upper else float("inf"))
    return (lower or 0.0) / value if value > 0 else (float("inf") if (lower or 0.0) > value else 0.0)


def limit_margin(check: CheckResult) -> float | None:
    """How far inside its nearer limit a value is, in the check's unit; below 0 is outside. None without either.

    Notes
    -----
    House definition.

    Examples
    --------
    >>> from kit.assessment.conformity import Tolerance
    >>> from kit.assessment.finding import Finding
    >>> from kit.basis.quantity import Quantity
    >>> limit_margin(CheckResult(Finding("inaccuracy", Quantity(-4.0)), "fail", Tolerance(-1.5, 1.5)))
    -2.5
    """
    value, lower, upper = check.deciding_value, check.lower_limit, check.upper_limit
    if value is None:
        return None
    room = [value - lower] if lower is not None else []
    room += [upper - value] if upper is not None else []
    return min(room, default=None)


def share_pct(check: CheckResult) -> float | None:
    """The same in % with the sign of the nearer limit: above 0 towards the upper one, below towards the lower one.

    Notes
    -----
    House definition: as :func:`limit_share`; a value on the far side of zero from an upper limit uses none of
    it. None without a value or a limit, infinite beyond any share.

    Examples
    --------
    >>> from kit.assessment.conformity import Tolerance
    >>> from kit.assessment.finding import Finding
    >>> from kit.basis.quantity import Quantity
    >>> share_pct(CheckResult(Finding("inaccuracy", Quantity(-1.0)), "pass", Tolerance(-2.0, 2.0)))
    -50.0
    """
    value, lower, upper = check.deciding_value, check.lower_limit, check.upper_limit
    if value is None or (lower is None and upper is None):
        return None
    used = 100 * max(limit_share(check), 0.0)
    towards_upper = upper is not None and (lower is None or value >= (upper + lower) / 2)
    return used if towards_upper else 0.0 - used


def _gravity(check: CheckResult) -> int:
    return _GRAVITY.index("not_tested" if check.verdict in GAPS else check.verdict)
