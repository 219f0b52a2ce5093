"""Supply, loop, insulation and earth: of several rows the worst counts for each check."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.assessment.bounded import bounds_among
from kit.assessment.budgets import Source, budget_of
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import FloatArray
from kit.basis.checks import CHECKS
from kit.basis.quantity import Quantity
from kit.basis.registers import Role
from kit.basis.tables.measurements import ELECTRICAL as ELECTRICAL_TABLE
from kit.calculations.digits import last_digit
from kit.calculations.electrical import loop_margin_v, supply_deviation_pct, supply_dip_pct
from kit.calculations.repeats import finite_end, within

Cells = Mapping[str, FloatArray]  # shape (rows,) by column; nan: blank
Between = Mapping[str, tuple[FloatArray, FloatArray]]  # at least and at most, shape (rows,) each, by column

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

    ``worst`` ranks the values of the rows: the lowest counts. ``falls_with`` names the readings that the value falls
    with; it rises with every other one that may be a bound.
    """

    feed: Feed
    value: Callable[[Cells], FloatArray]
    falls_with: tuple[str, ...]
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
            in_recordings=False,
        ),
        lambda cell: supply_deviation_pct(cell["supply_running_v"], cell["supply_nominal_v"]),
        (),
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
        ("supply_running_v",),
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
            in_recordings=False,
        ),
        lambda cell: loop_margin_v(cell["loop_supply_v"], cell["loop_ohm"], cell["device_min_v"]),
        ("loop_ohm",),
        _lowest,
        lambda cell: (
            _Term("supply", cell["loop_supply_v"], 1.0),
            _Term("resistance", cell["loop_ohm"], -_LOOP_CURRENT_A),
        ),
    ),
    _Measured(
        Feed("insulation_resistance", ("insulation_mohm",), ("resistance",), "one measurement", in_recordings=False),
        lambda cell: cell["insulation_mohm"],
        (),
        _lowest,
        lambda cell: (_Term("resistance", cell["insulation_mohm"] * _OHM_PER_MOHM, 1 / _OHM_PER_MOHM, _OHM_PER_MOHM),),
    ),
    _Measured(
        Feed("earth_resistance", ("earth_ohm",), ("resistance",), "one measurement", in_recordings=False),
        lambda cell: cell["earth_ohm"],
        (),
        _highest,
        lambda cell: (_Term("resistance", cell["earth_ohm"], 1.0),),
    ),
)


def _typed(records: StageRecords) -> list[Finding]:
    rows = records.tables["electrical"]
    if not len(rows):
        return []
    columns = {column for each in _MEASURED for column in each.feed.columns}
    between = {column: rows.interval(column, over=_over_range(column, records)) for column in columns}
    for column in _DIVIDED_BY:
        low, high = between[column]
        between[column] = np.where(low == 0, np.nan, low), np.where(high > 0, high, np.nan)
    return [_finding(each, between, records) for each in _MEASURED]


def _over_range(column: str, records: StageRecords) -> float:
    """What a resistance over the range of its instrument is at least, in the column's unit.

    House definition: the top of the least range that the register gives the instrument. Where none is known, an open
    circuit for what should be low, and anything for an insulation.
    """
    day = records.day
    name = day.visit.resistance_instrument if day.visit else ""
    tops = [each.range_high for each in day.instruments if each.instrument == name and each.measures == "ohm"]
    known = [top for top in tops if top is not None]
    if known:
        return min(known) / (_OHM_PER_MOHM if column == "insulation_mohm" else 1.0)
    highest = ELECTRICAL_TABLE.bounds(column)[1]
    return -np.inf if column == "insulation_mohm" or highest is None else highest


def _finding(measured: _Measured, between: Between, records: StageRecords) -> Finding:
    cell = {column: finite_end(*each) for column, each in between.items()}
    value, check = measured.value(cell), measured.feed.check
    low, high = _interval(measured, between, value)
    if np.isnan(low).all():
        return Finding(check, Quantity(None, measured.feed.lacking))
    row = int(np.nanargmin(np.minimum(measured.worst(low), measured.worst(high))))
    quantity = within(Quantity(None, reading=row), float(low[row]), float(high[row]))
    terms = measured.terms(cell)
    return Finding(
        check,
        quantity,
        target=fixed_target(check),
        uncertainty=budget_of(
            records.day, quantity, _sources(row, terms), np.arange(len(terms)), CHECKS[check].measure
        ),
        bounds=bounds_among(low, high),
    )


def _interval(measured: _Measured, between: Between, value: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Between which values the check of each row lies, shape (rows,) each; nan where it lacks a reading."""
    columns = measured.feed.columns
    is_bound = np.any([between[column][0] < between[column][1] for column in columns], axis=0)
    blank = np.any([np.isnan(between[column][0]) for column in columns], axis=0)
    least = {column: between[column][column in measured.falls_with] for column in columns}
    most = {column: between[column][column not in measured.falls_with] for column in columns}
    with np.errstate(invalid="ignore"):
        low, high = measured.value(least), measured.value(most)
    low = np.where(is_bound, np.nan_to_num(low, nan=-np.inf, neginf=-np.inf, posinf=np.inf), value)
    high = np.where(is_bound, np.nan_to_num(high, nan=np.inf, neginf=-np.inf, posinf=np.inf), value)
    return np.where(blank, np.nan, low), np.where(blank, np.nan, high)


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
    asked={"electrical": ()},  # one of its checks: which of them a valve needs, the limits say
    asks=("supply", "resistance"),
    typed=_typed,
    recorded=_recorded,
)
