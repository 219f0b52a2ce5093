"""Drift as a share of what a check may move, so that checks of different units stand side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from kit.assessment.conformity import Tolerance
from kit.assessment.history.drifts import Drift
from kit.assessment.results import StageResult


@dataclass(frozen=True, slots=True)
class DriftShare:
    """A drift and its expanded uncertainty, both in % of the tolerance."""

    drift: Drift
    share_pct: float
    expanded_pct: float


def drift_shares(drifts: Sequence[Drift], stage: StageResult) -> tuple[DriftShare, ...]:
    """Those drifts that have an uncertainty and whose check has a limit today.

    Notes
    -----
    House definition: 100 % is half the way between two limits, else the size of the limit itself.
    """
    sizes = {(each.check, each.detail): _size(each.tolerance) for each in stage.checks}
    found = []
    for each in drifts:
        size = sizes.get((each.check, each.detail), 0.0)
        if size > 0.0 and each.change is not None and each.expanded_uncertainty is not None:
            found.append(DriftShare(each, 100.0 * each.change / size, 100.0 * each.expanded_uncertainty / size))
    return tuple(found)


def _size(tolerance: Tolerance) -> float:
    """What counts as 100 %; 0 without a limit, or where it is 0."""
    if tolerance.lower is not None and tolerance.upper is not None:
        return (tolerance.upper - tolerance.lower) / 2.0
    return abs(tolerance.upper if tolerance.upper is not None else tolerance.lower or 0.0)
