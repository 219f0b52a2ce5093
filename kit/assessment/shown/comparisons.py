"""Checks that have a typed and a recorded value, side by side."""

from __future__ import annotations

from dataclasses import dataclass

from kit.assessment.recordings.compare import TYPED, allowed_difference
from kit.assessment.results import CheckResult, StageResult


@dataclass(frozen=True, slots=True)
class Comparison:
    """One check, both ways."""

    typed: CheckResult
    recording: CheckResult
    difference: float  # recording minus typed, in the unit of the check
    greatest_uncertainty: float | None  # the greater expanded uncertainty of the two; None: neither has one
    agrees: bool | None  # None: not known without both uncertainties


def comparisons(stage: StageResult) -> list[Comparison]:
    """Every check of a stage with both values, in the order of its checks."""
    known = {(each.check, each.detail): each for each in stage.checks}
    found = []
    for each in stage.checks:
        if each.detail == TYPED or each.detail.endswith(f", {TYPED}"):
            beside = known.get((each.check, each.detail.removesuffix(TYPED).removesuffix(", ")))
            if beside is not None and beside.value is not None and each.value is not None:
                found.append(_comparison(each, each.value, beside, beside.value))
    return found


def _comparison(typed: CheckResult, typed_value: float, recording: CheckResult, recording_value: float) -> Comparison:
    difference = recording_value - typed_value
    allowed = allowed_difference(typed.budget, recording.budget)
    uncertainties = [each.budget.expanded_uncertainty for each in (typed, recording) if each.budget is not None]
    agrees = None if allowed is None else abs(difference) <= allowed
    return Comparison(typed, recording, difference, max(uncertainties, default=None), agrees)
