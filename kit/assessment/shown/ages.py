"""What stands behind a stage: checks of an earlier visit, how much older they are, and earlier visits that failed."""

from __future__ import annotations

from collections import Counter
from datetime import date
from typing import Final

from kit.assessment.results import CheckResult, StageResult, TagAssessment

_FAILED: Final = frozenset({"fail", "conditional_fail"})


def of_earlier_visit(result: CheckResult, stage: StageResult) -> str:
    """Whose records a check is made of, and how old they were on the stage's own day; "" where they are its own.

    Examples
    --------
    >>> from kit.assessment.finding import Finding
    >>> from kit.basis.quantity import Quantity
    >>> check = CheckResult(Finding("inaccuracy", Quantity(0.2)), "pass", visit="1", date="2026-03-10")
    >>> of_earlier_visit(check, StageResult("3", "as_left", "2026-06-10", "pass", (check,)))
    'of visit 1, 2026-03-10, 92 days before'
    """
    if result.visit in ("", stage.visit):
        return ""
    return f"of visit {result.visit}{_age(result.date, stage.date)}"


def gone_on_from(stage: StageResult) -> str:
    """How many checks of a stage are made of which earlier visit, in a sentence; "" where none is."""
    counts = Counter((each.visit, each.date) for each in stage.checks if each.visit in stage.goes_on_from)
    told = [
        f"{count} {'check is' if count == 1 else 'checks are'} of visit {visit}{_age(day, stage.date)}"
        for (visit, day), count in sorted(counts.items(), key=lambda each: stage.goes_on_from.index(each[0][0]))
    ]
    return f"Visit {stage.visit} goes on from {_visits(stage.goes_on_from)}: {'; '.join(told)}." if told else ""


def failed_before(assessment: TagAssessment) -> tuple[StageResult, ...]:
    """What earlier visits left failed, newest first, whether the one that decides goes on from them or not."""
    newest = assessment.deciding
    if newest is None or not newest.date:
        return ()
    earlier = (each for each in assessment.stages if each.visit != newest.visit and each.stage == "as_left")
    return tuple(each for each in earlier if "" < each.date <= newest.date and each.verdict in _FAILED)


def _visits(names: tuple[str, ...]) -> str:
    return f"visit {names[0]}" if len(names) == 1 else f"visits {', '.join(names[:-1])} and {names[-1]}"


def _age(day: str, newest: str) -> str:
    if not day or not newest:
        return ""
    days = (date.fromisoformat(newest) - date.fromisoformat(day)).days
    before = "of the same day" if days == 0 else "1 day before" if days == 1 else f"{days} days before"
    return f", {day}, {before}"
