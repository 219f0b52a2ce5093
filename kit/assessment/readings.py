"""Checks of the stroke readings: position against command, feedback against position."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from kit.assessment.budgets import Day, Repeats, Source, Uncertainty, budget_of
from kit.assessment.finding import NO_UNCERTAINTY, Finding
from kit.assessment.results import Role
from kit.assessment.scaling import command_pct, feedback_pct, ideal_pct, position_pct, slope
from kit.basis.arrays import FloatArray
from kit.basis.checks import CHECKS, SPAN
from kit.basis.quantity import Component, Quantity
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.linearity import independent_linearity, terminal_linearity, zero_based_linearity
from kit.calculations.position import (
    Runs,
    hysteretic_error,
    inaccuracy,
    reduce_runs,
    repeatability,
    span_error,
    zero_error,
)
from kit.calculations.uncertainty import type_a

_POSITION_CHECKS: Final[dict[str, Callable[[Runs], Quantity]]] = {
    "zero_error": zero_error,
    "span_error": span_error,
    "inaccuracy": inaccuracy,
    "independent_linearity": independent_linearity,
    "terminal_linearity": terminal_linearity,
    "zero_based_linearity": zero_based_linearity,
    "hysteretic_error": hysteretic_error,
    "repeatability": repeatability,
}
_FEEDBACK_CHECKS: Final[dict[str, Callable[[Runs], Quantity]]] = {
    "feedback_inaccuracy": inaccuracy,
    "feedback_linearity": independent_linearity,
    "feedback_hysteretic_error": hysteretic_error,
}


def position_runs(rows: Rows, tag: Tag) -> Runs | None:
    """Position errors from ideal, brought to test points; None without usable readings."""
    command, position = command_pct(rows, tag), position_pct(rows, tag)
    runs = reduce_runs(command, position - ideal_pct(command, tag), rows["direction"] == "up", _cycles(rows))
    return runs if len(runs.kept) else None


def feedback_runs(rows: Rows, tag: Tag) -> Runs | None:
    """Feedback minus position, brought to the same test points; None without usable readings."""
    command, position = command_pct(rows, tag), position_pct(rows, tag)
    error = feedback_pct(rows, tag) - position
    runs = reduce_runs(command, error, rows["direction"] == "up", _cycles(rows), input_pct=position)
    return runs if len(runs.kept) else None


def position_findings(
    rows: Rows, runs: Runs | None, day: Day, noise_pct: FloatArray | None = None, role: Role = "position"
) -> list[Finding]:
    """Every position check of one stage's readings.

    ``noise_pct``, shape (rows,), is the standard uncertainty of each reading by the noise of a recording;
    ``role`` is whose instrument read the position.
    """
    if runs is None:
        return []
    command, position = command_pct(rows, day.tag)[runs.kept], position_pct(rows, day.tag)[runs.kept]
    signals: dict[Role, tuple[FloatArray, FloatArray]] = {
        role: (position, np.ones_like(position)),
        "command": (command, -slope(command, day.tag)),
    }
    noise = None if noise_pct is None else noise_pct[runs.kept]
    return [
        _finding(name, reduce(runs), runs, signals, day, np.full(len(runs.kept), np.nan), noise)
        for name, reduce in _POSITION_CHECKS.items()
    ]


def feedback_findings(rows: Rows, runs: Runs | None, day: Day, noise_pct: FloatArray | None = None) -> list[Finding]:
    """Every feedback check of one stage's readings; ``noise_pct`` as for the position."""
    if runs is None:
        return []
    closed, opened = (100.0, 0.0) if day.tag.action == "reverse" else (0.0, 100.0)
    position, feedback = position_pct(rows, day.tag)[runs.kept], feedback_pct(rows, day.tag)[runs.kept]
    signals: dict[Role, tuple[FloatArray, FloatArray]] = {
        "position": (position, np.full_like(position, -1.0)),
        "feedback": (feedback, np.ones_like(feedback)),
    }
    figures = {
        "feedback_zero_error": zero_error(runs, at_command_pct=closed),
        "feedback_span_error": span_error(runs, from_command_pct=closed, to_command_pct=opened),
        **{name: reduce(runs) for name, reduce in _FEEDBACK_CHECKS.items()},
    }
    noise = None if noise_pct is None else noise_pct[runs.kept]
    return [_finding(name, figure, runs, signals, day, position, noise) for name, figure in figures.items()]


def _cycles(rows: Rows) -> FloatArray:
    """A number for each cycle's name, shape (n,); nan where the cell is blank."""
    names = rows["cycle"].astype(str)
    codes: FloatArray = np.unique(names, return_inverse=True)[1].astype(float)
    return np.where(names == "", np.nan, codes)


def _finding(
    name: str,
    figure: Quantity,
    runs: Runs,
    signals: dict[Role, tuple[FloatArray, FloatArray]],
    day: Day,
    position: FloatArray,
    noise: FloatArray | None,
) -> Finding:
    return Finding(
        check=name,
        value=figure.value,
        why_not=figure.why_not,
        at=_where(figure, runs),
        beside=figure.beside,
        target=0.0 if CHECKS[name].target == "zero" else None,
        uncertainty=_uncertainty(figure, runs, signals, day, noise),
    )


def _uncertainty(
    figure: Quantity,
    runs: Runs,
    signals: dict[Role, tuple[FloatArray, FloatArray]],
    day: Day,
    noise: FloatArray | None,
) -> Uncertainty:
    if figure.value is None or figure.weights is None:
        return NO_UNCERTAINTY
    sources = [Source(role, pct, figure.weights * per_pct) for role, (pct, per_pct) in signals.items()]
    repeats = Repeats(runs.error_pct, runs.rising, figure.weights) if figure.averaged else None
    return budget_of(day, sources, runs.point, SPAN, repeats, _noise(figure.weights, noise))


def _noise(weights: FloatArray, noise: FloatArray | None) -> tuple[Component, ...]:
    """What the noise of a recording adds to a value that rests on its holds."""
    if noise is None:
        return ()
    deviation = float(np.sqrt(np.sum((weights * noise) ** 2)))
    return (type_a("noise of the recording, means over the holds", deviation, SPAN, float("inf")),)


def _where(figure: Quantity, runs: Runs) -> str:
    if figure.reading is not None:
        point = runs.point[figure.reading]
        direction = "up" if runs.rising[figure.reading] else "down"
        return f"{runs.point_command_pct[point]:z.1f} % command, {direction}"
    return "" if figure.point is None else f"{runs.point_command_pct[figure.point]:z.1f} % command"
