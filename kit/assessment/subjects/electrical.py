"""Supply, loop, insulation and earth: of several rows the worst counts for each check."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.assessment.budgets import Source, budget_of
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import FloatArray
from kit.basis.checks import CHECKS
from kit.basis.quantity import Quantity
from kit.basis.registers import Role
from kit.calculations.digits import last_digit
from kit.calculations.electrical import loop_margin_v, supply_deviation_pct, supply_dip_pct

Cells = Mapping[str, FloatArray]  # shape (rows,) by column; nan: blank

_LOOP_CURRENT_A: Final = 0.020  # where the loop's drop is greatest: 20 mA
_OHM_PER_MOHM: Final = 1e6
_DIVIDED_BY: Final = ("supply_nominal_v", "supply_idle_v")  # 0 V gives no percentage


@dataclass(frozen=True, slots=True)
class _Term:
    """One reading of a row behind a check: whose, in the instrument's unit, and d(check)/d(reading).

    ``unit`` is one unit of the column in that of the instrument.
    """

    role: Role
    reading: FloatArray
    slope: FloatArray | float
    unit: float = 1.0


@dataclass(frozen=True, slots=True)
class _Measured:
    """One check of a row: its value, how rows rank, and the readings behind it.

    ``worst`` ranks the values of the rows: the lowest counts.
    """

    feed: Feed
    value: Callable[[Cells], FloatArray]
    worst: Callable[[FloatArray], FloatArray]
    terms: Callable[[Cells], tuple[_Term, ...]]


def _lowest(value: FloatArray) -> FloatArray:
    return value


def _highest(value: FloatArray) -> FloatArray:
    return np.negative(value)


def _farthest_from_zero(value: FloatArray) -> FloatArray:
    return np.negative(np.abs(value))


_MEASURED: Final = (
    _Measured(
        Feed(
            "supply_deviation",
            ("supply_running_v", "supply_nominal_v"),
            ("supply",),
            "running and nominal supply voltage in one row",
            lacking="running or nominal supply voltage not recorded",
        ),
        lambda cell: supply_deviation_pct(cell["supply_running_v"], cell["supply_nominal_v"]),
        _farthest_from_zero,
        lambda cell: (_Term("supply", cell["supply_running_v"], 100 / cell["supply_nominal_v"]),),
    ),
    _Measured(
        Feed(
            "supply_dip",
            ("supply_idle_v", "supply_running_v"),
            ("supply",),
            "idle and running supply voltage in one row",
            lacking="idle or running supply voltage not recorded",
        ),
        lambda cell: supply_dip_pct(cell["supply_idle_v"], cell["supply_running_v"]),
        _highest,
        lambda cell: (
            _Term("supply", cell["supply_idle_v"], 100 * cell["supply_running_v"] / cell["supply_idle_v"] ** 2),
            _Term("supply", cell["supply_running_v"], -100 / cell["supply_idle_v"]),
        ),
    ),
    _Measured(
        Feed(
            "loop_margin",
            ("loop_supply_v", "loop_ohm", "device_min_v"),
            ("supply", "resistance"),
            "loop supply, loop resistance and the device's least voltage in one row",
            lacking="loop supply, loop resistance or the device's least voltage not recorded",
        ),
        lambda cell: loop_margin_v(cell["loop_supply_v"], cell["loop_ohm"], cell["device_min_v"]),
        _lowest,
        lambda cell: (
            _Term("supply", cell["loop_supply_v"], 1.0),
            _Term("resistance", cell["loop_ohm"], -_LOOP_CURRENT_A),
        ),
    ),
    _Measured(
        Feed("insulation_resistance", ("insulation_mohm",), ("resistance",), "one measurement"),
        lambda cell: cell["insulation_mohm"],
        _lowest,
        lambda cell: (_Term("resistance", cell["insulation_mohm"] * _OHM_PER_MOHM, 1 / _OHM_PER_MOHM, _OHM_PER_MOHM),),
    ),
    _Measured(
        Feed("earth_resistance", ("earth_ohm",), ("resistance",), "one measurement"),
        lambda cell: cell["earth_ohm"],
        _highest,
        lambda cell: (_Term("resistance", cell["earth_ohm"], 1.0),),
    ),
)


def _typed(records: StageRecords) -> list[Finding]:
    rows = records.tables["electrical"]
    if not len(rows):
        return []
    columns = {column for each in _MEASURED for column in each.feed.columns}
    cell = {column: rows[column].astype(float) for column in columns}
    for column in _DIVIDED_BY:
        cell[column] = np.where(cell[column] > 0, cell[column], np.nan)
    return [_finding(each, cell, records) for each in _MEASURED]


def _finding(measured: _Measured, cell: Cells, records: StageRecords) -> Finding:
    value, check = measured.value(cell), measured.feed.check
    if np.isnan(value).all():
        return Finding(check, Quantity(None, measured.feed.lacking))
    row = int(np.nanargmin(measured.worst(value)))
    terms = measured.terms(cell)
    quantity = Quantity(float(value[row]), reading=row)
    return Finding(
        check,
        quantity,
        target=fixed_target(check),
        uncertainty=budget_of(
            records.day, quantity, _sources(row, terms), np.arange(len(terms)), CHECKS[check].measure
        ),
    )


def _sources(row: int, terms: tuple[_Term, ...]) -> list[Source]:
    """One source a role; each reading is a point of its own, so that nothing cancels."""
    sources = []
    for role in dict.fromkeys(term.role for term in terms):
        readings = np.array([term.reading[row] if term.role == role else np.nan for term in terms])
        slopes = np.array([_slope(term, row) if term.role == role else 0.0 for term in terms])
        digit = max(last_digit(term.reading / term.unit) * term.unit for term in terms if term.role == role)
        sources.append(Source(role, readings, slopes, digit))
    return sources


def _slope(term: _Term, row: int) -> float:
    return float(np.broadcast_to(term.slope, term.reading.shape)[row])


def _recorded(records: StageRecords) -> list[Finding]:
    known = [each.supply_dip_pct for each in records.recordings.reductions if each.supply_dip_pct.value is not None]
    if not known:
        return []
    worst = max(known, key=lambda each: each.value or 0.0)
    at = f"idle {worst.beside['idle_v']:.1f} V, running {worst.beside['running_v']:.1f} V"
    return [finding_of("supply_dip", worst, records, at=at)]


ELECTRICAL: Final = Subject(
    name="electrical",
    table="electrical",
    feeds=tuple(each.feed for each in _MEASURED),
    action=("Check supply, cable and terminations with the equipment isolated by authorised persons; measure again."),
    missing={"electrical": (("supply_deviation", ""),)},
    asks=("supply", "resistance"),
    typed=_typed,
    recorded=_recorded,
)
