"""Which checks of a stage exceed their limits, and which of them would not without a cause."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import Final

import numpy as np

from kit.assessment.results import CheckResult, StageResult
from kit.basis.arrays import FloatArray
from kit.basis.checks import CheckName
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.basis.verdicts import FAILING
from kit.calculations.both_ways import hysteretic_error
from kit.calculations.linearity import independent_linearity, terminal_linearity, zero_based_linearity
from kit.calculations.position import Runs, inaccuracy, reduce_runs, repeatability, span_error, zero_error

Key = tuple[CheckName, str]

LINES: Final[frozenset[CheckName]] = frozenset({"independent_linearity", "terminal_linearity", "zero_based_linearity"})
POSITION: Final[frozenset[CheckName]] = LINES | {"zero_error", "span_error", "inaccuracy"}
FEEDBACK: Final[frozenset[CheckName]] = frozenset(
    {"feedback_zero_error", "feedback_span_error", "feedback_inaccuracy", "feedback_linearity"}
)
OVER_TRAVEL_PCT: Final[FloatArray] = np.linspace(0.0, 100.0, 101)  # where a single reading may have been taken
_SAME: Final[dict[CheckName, Callable[[Runs], Quantity]]] = {
    "inaccuracy": inaccuracy,
    "feedback_inaccuracy": inaccuracy,
    "independent_linearity": independent_linearity,
    "feedback_linearity": independent_linearity,
    "terminal_linearity": terminal_linearity,
    "zero_based_linearity": zero_based_linearity,
    "hysteretic_error": hysteretic_error,
    "feedback_hysteretic_error": hysteretic_error,
    "repeatability": repeatability,
}


def exceeded(stage: StageResult, checks: Collection[CheckName]) -> list[CheckResult]:
    """The checks among these that are outside their limits."""
    return [each for each in stage.checks if each.check in checks and each.verdict in FAILING]


def keys(checks: Iterable[CheckResult]) -> tuple[Key, ...]:
    """How a cause names what it explains."""
    return tuple((each.check, each.detail) for each in checks)


def without(runs: Runs, part_pct: FloatArray) -> Runs:
    """The readings had the cause not added its part to each of them, shape (n,) [% of travel]."""
    command = runs.point_command_pct[runs.point]
    return reduce_runs(command, runs.error_pct - part_pct, runs.rising, runs.cycle, input_pct=runs.input_pct)


def kept(checks: Iterable[CheckResult], runs: Runs, tag: Tag) -> list[CheckResult]:
    """The checks that these readings would keep within their limits.

    Notes
    -----
    House definition: a cause explains an exception where the value would lie within the limit without the cause's
    own part in each reading.
    """
    found = []
    for each in checks:
        value = value_of(each.check, runs, tag)
        if value is not None and is_within(each, value):
            found.append(each)
    return found


def within_by(checks: Iterable[CheckResult], part_pct: FloatArray) -> list[CheckResult]:
    """The checks of one reading each that some part of those, shape (k,), would leave within their limits."""
    return [
        each
        for each in checks
        if each.value is not None and any(is_within(each, each.value - part) for part in part_pct.tolist())
    ]


def is_within(check: CheckResult, value: float) -> bool:
    """Whether a value keeps the limits of a check, which has some."""
    limited = check.lower_limit is not None or check.upper_limit is not None
    return limited and check.tolerance.room(value) >= 0.0


def value_of(check: CheckName, runs: Runs, tag: Tag) -> float | None:
    """What a check of position or feedback would be by these readings."""
    if check in _SAME:
        return _SAME[check](runs).value
    closed, opened = (100.0, 0.0) if tag.action == "reverse" and check in FEEDBACK else (0.0, 100.0)
    if check in ("zero_error", "feedback_zero_error"):
        return zero_error(runs, at_command_pct=closed).value
    if check in ("span_error", "feedback_span_error"):
        return span_error(runs, from_command_pct=closed, to_command_pct=opened).value
    return None
