"""Checks of the loop from the operator's station to the valve and back, and of the prechecks."""

from __future__ import annotations

import numpy as np

from kit.assessment.budgets import Day, Source, budget_of
from kit.assessment.finding import Finding
from kit.assessment.scaling import ideal_pct
from kit.basis.arrays import FloatArray, single
from kit.basis.checks import SPAN
from kit.basis.quantity import Quantity
from kit.basis.rows import Rows
from kit.calculations.loop import loop_command_error, loop_feedback_error
from kit.calculations.prechecks import open_items


def loop_findings(rows: Rows, day: Day) -> list[Finding]:
    """Station output to valve position, and valve position to station display."""
    if not len(rows):
        return []
    output, position = rows["station_output_pct"].astype(float), rows["position_pct"].astype(float)
    shown = rows["station_feedback_pct"].astype(float)
    return [
        _finding("loop_command_error", loop_command_error(position, ideal_pct(output, day.tag)), output, position, day),
        _finding("loop_feedback_error", loop_feedback_error(shown, position), output, position, day),
    ]


def precheck_findings(rows: Rows) -> list[Finding]:
    """Items answered no or not answered; the last answer to an item counts."""
    if not len(rows):
        return []
    answers = dict(zip(rows["item"].tolist(), rows["result"].tolist(), strict=True))
    count = open_items(list(answers.values()))
    named = [item for item, result in answers.items() if result in ("no", "")]
    return [Finding("prechecks", float(count), at="; ".join(named))]


def _finding(check: str, figure: Quantity, output: FloatArray, position: FloatArray, day: Day) -> Finding:
    if figure.value is None or figure.reading is None:
        return Finding(check, None, why_not=figure.why_not)
    weights = single(figure.reading, len(position))
    return Finding(
        check=check,
        value=figure.value,
        at=f"{output[figure.reading]:.1f} % station output",
        target=0.0,
        uncertainty=budget_of(day, [Source("position", position, weights)], np.arange(len(position)), SPAN),
    )
