"""Checks of the limit switches."""

from __future__ import annotations

import numpy as np

from kit.assessment.budgets import Day, Source, budget_of
from kit.assessment.finding import Finding
from kit.basis.checks import TRAVEL
from kit.basis.rows import Rows
from kit.calculations.switches import switch_lead, switch_position

_END_PCT = {"closed": 0.0, "open": 100.0}


def switch_findings(rows: Rows, day: Day) -> list[Finding]:
    """Where each switch makes, and how far before its travel stop."""
    findings = []
    for end in ("closed", "open"):
        tried = rows.only("switch", end)
        if len(tried):
            findings += [_position(tried, end, day), _lead(tried, end, day)]
    return findings


def _position(rows: Rows, end: str, day: Day) -> Finding:
    makes = rows["makes_at_pct"].astype(float)
    figure = switch_position(makes)
    check = f"{end}_switch_position"
    if figure.value is None or figure.weights is None:
        return Finding(check, None, why_not=figure.why_not)
    point = np.zeros(len(makes), dtype=np.intp)
    sources = [Source("position", makes, figure.weights)]
    return Finding(
        check=check,
        value=figure.value,
        at=_reset(rows),
        target=_END_PCT[end],
        uncertainty=budget_of(day, sources, point, TRAVEL),
    )


def _lead(rows: Rows, end: str, day: Day) -> Finding:
    makes, stops = rows["makes_at_pct"].astype(float), rows["stop_at_pct"].astype(float)
    figure = switch_lead(makes, stops, end="closed" if end == "closed" else "open")
    check = f"{end}_switch_lead"
    if figure.value is None or figure.reading is None:
        return Finding(check, None, why_not=figure.why_not)
    readings = np.array([makes[figure.reading], stops[figure.reading]])
    sources = [Source("position", readings, np.array([1.0, -1.0]))]
    return Finding(
        check=check,
        value=figure.value,
        at=f"makes at {readings[0]:.1f} %, stop at {readings[1]:.1f} %",
        uncertainty=budget_of(day, sources, np.arange(2), TRAVEL),
    )


def _reset(rows: Rows) -> str:
    breaks = rows["breaks_at_pct"].astype(float)
    known = breaks[~np.isnan(breaks)]
    return f"resets at {known.mean():.1f} %" if known.size else ""
