"""Quantities from recordings as findings: sampling and noise, and the instruments of the visit."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.assessment.budgets import NO_UNCERTAINTY, Day, Repeats, Source, Uncertainty, budget_of
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.stage_records import StageRecords
from kit.basis.checks import CHECKS, CheckName
from kit.basis.quantity import Quantity, Signal
from kit.basis.registers import Role

_ROLES: Final[dict[Signal, Role]] = {
    "command": "command",
    "travel": "position",
    "feedback": "feedback",
    "time": "time",
    "supply": "supply",
}


BY_FEEDBACK: Final = "travel taken from the feedback signal"


def finding_of(
    check: CheckName,
    quantity: Quantity,
    records: StageRecords,
    *,
    detail: str = "",
    at: str = "",
    target: float | None = None,
    needless: bool = False,
    by_feedback: bool = False,
    repeats: Repeats | None = None,
) -> Finding:
    """A quantity drawn from a recording as the answer to one check.

    ``by_feedback``: the feedback stood for the travel, and its instrument read it.
    ``repeats``: whose scatter a mean, or the worst of several, carries.
    """
    return Finding(
        check,
        quantity,
        detail,
        (f"{at}, {BY_FEEDBACK}" if at else BY_FEEDBACK) if by_feedback else at,
        fixed_target(check) if target is None else target,
        _uncertainty(records.day, quantity, CHECKS[check].measure, repeats, by_feedback=by_feedback),
        needless=needless,
    )


def _uncertainty(
    day: Day, quantity: Quantity, measure: str, repeats: Repeats | None, *, by_feedback: bool
) -> Uncertainty:
    """The budget of one quantity: JCGM 100:2008, clause 5.1.

    Where there was no position column the travel is the feedback, and its instrument is that of the feedback.
    """
    relied = quantity.relies_on
    if quantity.value is None or not (quantity.components or relied):
        return NO_UNCERTAINTY
    keys = sorted({(each.signal, each.point) for each in relied})
    point = np.array([keys.index((each.signal, each.point)) for each in relied], dtype=np.intp)
    sources = []
    for signal in dict.fromkeys(each.signal for each in relied):
        own = np.array([each.signal == signal for each in relied])
        role: Role = "feedback" if signal == "travel" and by_feedback else _ROLES[signal]
        readings = np.where(own, [each.reading for each in relied], np.nan)
        sources.append(Source(role, readings, np.where(own, [each.sensitivity for each in relied], 0.0)))
    return budget_of(day, quantity, sources, point, measure, repeats, further=quantity.components)
