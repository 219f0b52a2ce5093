"""Readings brought to test points, and what a quantity drawn from them rests on: for position and for feedback."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.budgets import NO_UNCERTAINTY, Day, Repeats, Source, Uncertainty, budget_of
from kit.assessment.enough import shortfall_of_runs
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.scaling import command_pct, feedback_pct, ideal_pct, position_pct
from kit.basis.arrays import FloatArray
from kit.basis.checks import SPAN, CheckName
from kit.basis.quantity import Component, Quantity
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.both_ways import compare_ways
from kit.calculations.position import Runs, reduce_runs
from kit.calculations.repeats import lean_of_greatest
from kit.calculations.scatter import groups_of
from kit.calculations.uncertainty import type_a

_ACROSS: Final[frozenset[CheckName]] = frozenset({"hysteretic_error", "feedback_hysteretic_error"})
_LINES: Final[frozenset[CheckName]] = frozenset(
    {"independent_linearity", "terminal_linearity", "zero_based_linearity", "feedback_linearity"}
)

# Whose readings make the errors; the sensitivity of each is d(error)/d(reading).
Signals = Sequence[Source]


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


def finding_of_runs(
    check: CheckName, quantity: Quantity, runs: Runs, signals: Signals, day: Day, noise_pct: FloatArray | None
) -> Finding:
    """A quantity drawn from n readings as the answer to a check.

    ``noise_pct``, shape (n,), is the standard uncertainty of each reading by the noise of a recording; None: typed.
    """
    of = "feedback" if check.startswith("feedback") else "position"
    return Finding(
        check,
        quantity,
        at=_where(quantity, runs, across=check in _ACROSS),
        target=fixed_target(check),
        uncertainty=_uncertainty(check, quantity, runs, signals, day, of, noise_pct),
        shortfall=shortfall_of_runs(check, runs, day),
    )


def _cycles(rows: Rows) -> FloatArray:
    """A number for each cycle's name, shape (n,); nan where the cell is blank."""
    names = rows["cycle"].astype(str)
    codes: FloatArray = np.unique(names, return_inverse=True)[1].astype(float)
    return np.where(names == "", np.nan, codes)


def _uncertainty(
    check: CheckName, quantity: Quantity, runs: Runs, signals: Signals, day: Day, of: str, noise_pct: FloatArray | None
) -> Uncertainty:
    if quantity.value is None or quantity.weights is None:
        return NO_UNCERTAINTY
    sources = [replace(each, sensitivity=quantity.weights * each.sensitivity) for each in signals]
    repeats = None
    if quantity.averaged:
        slopes = {each.role: float(np.abs(each.sensitivity).max()) for each in signals}
        repeats = Repeats(runs.error_pct, groups_of(runs.point, runs.rising), quantity.weights, slopes, of)
    return budget_of(day, quantity, sources, runs.point, SPAN, repeats, _noise(check, quantity, runs, noise_pct))


def _noise(check: CheckName, quantity: Quantity, runs: Runs, noise_pct: FloatArray | None) -> tuple[Component, ...]:
    """What the noise of a recording adds to a value that rests on its holds.

    Notes
    -----
    House definition: means of holds at one point from one side may share it, since a quiet channel stands on one step
    of the recorder each time, so that averaging does not lessen it; a difference of such holds has it of each. Of a
    greatest of many it counts as many times as :func:`~kit.calculations.repeats.lean_of_greatest` says.
    """
    if noise_pct is None or quantity.weights is None:
        return ()
    group, carried = groups_of(runs.point, runs.rising), quantity.weights * noise_pct
    apart, together = np.bincount(group, weights=carried**2), np.bincount(group, weights=carried) ** 2
    deviation = float(np.sqrt(np.maximum(apart, together).sum()))
    lean = lean_of_greatest(_competing(check, runs))
    name = "noise of the recording, means over the holds"
    return (type_a(name, deviation, SPAN, float("inf"), sensitivity=lean),)


def _competing(check: CheckName, runs: Runs) -> int:
    """How many values the greatest of a check is picked from."""
    if check in ("inaccuracy", "feedback_inaccuracy"):
        return int(runs.error_pct.size)
    if check in _ACROSS:
        return int(compare_ways(runs).point.size)
    if check == "repeatability":
        repeats = np.bincount(groups_of(runs.point, runs.rising))
        return int((repeats * (repeats - 1) // 2).sum())
    return int(runs.curve_pct.size) if check in _LINES else 1


def _where(quantity: Quantity, runs: Runs, *, across: bool) -> str:
    """``across``: the value holds the way up against the way down, of which one may be interpolated."""
    if quantity.reading is not None:
        point = runs.point[quantity.reading]
        direction = "up" if runs.rising[quantity.reading] else "down"
        return f"{runs.point_command_pct[point]:z.1f} % command, {direction}"
    if quantity.point is None:
        return ""
    place = f"{runs.point_command_pct[quantity.point]:z.1f} % command"
    missing = "up" if runs.up_count[quantity.point] == 0 else "down" if runs.down_count[quantity.point] == 0 else ""
    return f"{place}, the way {missing} interpolated" if across and missing else place
