"""Checks that have a typed and a recorded value, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from kit.assessment.recordings.compare import allowed_difference, difference, pairs_of
from kit.assessment.results import CheckResult, StageResult


@dataclass(frozen=True, slots=True)
class Comparison:
    """One check, both ways."""

    typed: CheckResult
    recording: CheckResult
    stands: CheckResult  # one of the two
    difference: float  # recording minus typed, in the unit of the check
    greatest_uncertainty: float | None  # the greater expanded uncertainty of the two; None: neither has one
    agrees: bool | None  # None: nothing tells


def comparisons(stage: StageResult) -> list[Comparison]:
    """Every check of a stage with both values, in the order of its checks."""
    found = []
    for pair in pairs_of(stage.checks):
        typed, recorded = pair.typed, pair.recorded
        apart = difference(typed.finding, recorded.finding)
        allowed, _ = allowed_difference(typed.finding, recorded.finding, pair.stands.tolerance)
        uncertainties = [each.budget.expanded_uncertainty for each in (typed, recorded) if each.budget is not None]
        agrees = None if allowed is None else abs(apart) <= allowed
        found.append(Comparison(typed, recorded, pair.stands, apart, max(uncertainties, default=None), agrees))
    return found
