"""Budgets of figures from recordings: sampling and noise, and the instruments of the visit."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.assessment.budgets import Day, Source, Uncertainty, budget_of
from kit.assessment.finding import NO_UNCERTAINTY, Finding
from kit.assessment.results import Role
from kit.basis.checks import CHECKS
from kit.basis.quantity import Quantity, Signal

_ROLES: Final[dict[Signal, Role]] = {
    "command": "command",
    "travel": "position",
    "feedback": "feedback",
    "time": "time",
    "supply": "supply",
}


def figure_uncertainty(day: Day, figure: Quantity, measure: str, *, travel_is_feedback: bool) -> Uncertainty:
    """The budget of one figure.

    Notes
    -----
    JCGM 100:2008, clause 5.1. Where there was no position column the travel is the feedback, and its
    instrument is that of the feedback.
    """
    if figure.value is None or not (figure.components or figure.relies_on):
        return NO_UNCERTAINTY
    keys = sorted({(each.signal, each.point) for each in figure.relies_on})
    point = np.array([keys.index((each.signal, each.point)) for each in figure.relies_on], dtype=np.intp)
    sources = []
    for signal in dict.fromkeys(each.signal for each in figure.relies_on):
        own = [each.signal == signal for each in figure.relies_on]
        role: Role = "feedback" if signal == "travel" and travel_is_feedback else _ROLES[signal]
        sources.append(
            Source(
                role,
                np.array([each.reading if mine else np.nan for each, mine in zip(figure.relies_on, own, strict=True)]),
                np.array([each.sensitivity if mine else 0.0 for each, mine in zip(figure.relies_on, own, strict=True)]),
            )
        )
    return budget_of(day, sources, point, measure, further=figure.components)


def finding_of(
    check: str,
    figure: Quantity,
    day: Day,
    *,
    travel_is_feedback: bool,
    detail: str = "",
    at: str = "",
    target: float | None = None,
) -> Finding:
    """A figure as a finding of one check."""
    if target is None:
        target = {"zero": 0.0, "one": 1.0}.get(CHECKS[check].target or "")
    return Finding(
        check=check,
        value=figure.value,
        detail=detail,
        why_not=figure.why_not,
        at=at,
        beside=figure.beside,
        target=target,
        uncertainty=figure_uncertainty(day, figure, CHECKS[check].measure, travel_is_feedback=travel_is_feedback),
    )
