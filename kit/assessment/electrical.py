"""Checks of supply, loop, insulation and earth."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import numpy as np

from kit.assessment.budgets import Day, Source, budget_of
from kit.assessment.finding import Finding
from kit.assessment.results import Role
from kit.basis.arrays import FloatArray
from kit.basis.checks import CHECKS
from kit.basis.rows import Rows
from kit.calculations.electrical import loop_margin_v, supply_deviation_pct, supply_dip_pct

_LOOP_CURRENT_A: Final = 0.020
_NOT_RECORDED: Final = {
    "supply_deviation": "running or nominal supply voltage not recorded",
    "supply_dip": "idle or running supply voltage not recorded",
    "loop_margin": "loop supply, loop resistance or the device's least voltage not recorded",
    "insulation_resistance": "not recorded",
    "earth_resistance": "not recorded",
}


def electrical_findings(rows: Rows, day: Day) -> list[Finding]:
    """Of several rows the worst counts for each check."""
    if not len(rows):
        return []
    cell = {name: rows[name].astype(float) for name in rows.columns if name.endswith(("_v", "_ohm", "_mohm"))}
    for name in ("supply_nominal_v", "supply_idle_v"):  # what is divided by; 0 V gives no percentage
        cell[name] = np.where(cell[name] > 0, cell[name], np.nan)
    deviation = supply_deviation_pct(cell["supply_running_v"], cell["supply_nominal_v"])
    dip = supply_dip_pct(cell["supply_idle_v"], cell["supply_running_v"])
    margin = loop_margin_v(cell["loop_supply_v"], cell["loop_ohm"], cell["device_min_v"])
    insulation, earth = cell["insulation_mohm"], cell["earth_ohm"]
    return [
        _finding("supply_deviation", deviation, lambda value: -np.abs(value), _deviation_sources(cell), day),
        _finding("supply_dip", dip, np.negative, _dip_sources(cell), day),
        _finding("loop_margin", margin, np.positive, _margin_sources(cell), day),
        _finding("insulation_resistance", insulation, np.positive, [("resistance", insulation * 1e6, 1e-6)], day),
        _finding("earth_resistance", earth, np.negative, [("resistance", earth, 1.0)], day),
    ]


_Terms = list[tuple[Role, FloatArray, FloatArray | float]]


def _finding(
    check: str, value: FloatArray, order: Callable[[FloatArray], FloatArray], terms: _Terms, day: Day
) -> Finding:
    """The row that comes first in ``order`` is the worst one."""
    if np.isnan(value).all():
        return Finding(check, None, why_not=_NOT_RECORDED[check])
    worst = int(np.nanargmin(order(value)))
    sources = _at(worst, terms)
    return Finding(
        check=check,
        value=float(value[worst]),
        target=0.0 if CHECKS[check].target == "zero" else None,
        uncertainty=budget_of(day, sources, np.arange(len(terms)), CHECKS[check].measure),
    )


def _at(row: int, terms: _Terms) -> list[Source]:
    """One source a role; each reading is a point of its own, so that nothing cancels."""
    sources = []
    for role in dict.fromkeys(role for role, _, _ in terms):
        readings = np.array([reading[row] if each == role else np.nan for each, reading, _ in terms])
        slopes = np.array(
            [
                float(np.broadcast_to(slope, reading.shape)[row]) if each == role else 0.0
                for each, reading, slope in terms
            ]
        )
        sources.append(Source(role, readings, slopes))
    return sources


def _deviation_sources(cell: Mapping[str, FloatArray]) -> _Terms:
    return [("supply", cell["supply_running_v"], 100 / cell["supply_nominal_v"])]


def _dip_sources(cell: Mapping[str, FloatArray]) -> _Terms:
    idle, running = cell["supply_idle_v"], cell["supply_running_v"]
    return [("supply", idle, 100 * running / idle**2), ("supply", running, -100 / idle)]


def _margin_sources(cell: Mapping[str, FloatArray]) -> _Terms:
    return [("supply", cell["loop_supply_v"], 1.0), ("resistance", cell["loop_ohm"], -_LOOP_CURRENT_A)]
