"""Uncertainty budgets of checks: what each instrument and the scatter of repeats add."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from math import hypot, sqrt
from typing import Final

import numpy as np

from kit.assessment.instruments import Fitness, fitness
from kit.basis.arrays import BoolArray, CalculationInputError, FloatArray, IntArray
from kit.basis.quantity import Component, Quantity
from kit.basis.registers import Instrument, Role, Tag, Visit
from kit.basis.settings import ClassScatter, UnitSettings
from kit.calculations.scatter import outlying_groups, pooled_deviation
from kit.calculations.uncertainty import (
    Budget,
    accuracy_half_width,
    combine,
    rectangular,
    resolution,
    spread_of_accuracy,
    spread_of_resolution,
    type_a,
)

NO_SCATTER: Final = (
    "valve scatter not included: nothing was repeated; repeat the test, or give [scatter] {scatter} in unit.toml"
)
_POOLED: Final = "scatter of one reading, by the repeats"
_OUTLYING: Final = "scatter of one reading, by the repeats of a point that scatters more than the others"
_OF_CLASS: Final = "scatter of one reading, by the class of valves in unit.toml"
_ROOT_TWELVE: Final = sqrt(12.0)


@dataclass(frozen=True, slots=True)
class Day:
    """One visit to one tag: what every budget of that visit rests on."""

    settings: UnitSettings
    tag: Tag
    visit: Visit | None  # None: the visit has no row of its own
    instruments: tuple[Instrument, ...]
    set_aside: Mapping[str, int] = field(default_factory=dict)  # the tag's rows that were not used, by table

    def fitness(self, role: Role, pct: FloatArray) -> Fitness:
        return fitness(role, pct, self.tag, self.visit, self.instruments)


@dataclass(frozen=True, slots=True, eq=False)
class Source:
    """One instrument's readings behind a check, shape (n,), and how the check follows each of them."""

    role: Role
    reading_pct: FloatArray  # in %, or in s, ohm, V for a check in those units
    sensitivity: FloatArray  # d(value of the check)/d(reading), the readings' weights included
    last_digit: float = 0.0  # what the last digit typed stands for, as the readings; 0: they were not typed


@dataclass(frozen=True, slots=True, eq=False)
class Repeats:
    """The readings whose scatter enters a figure, shape (n,), be they in it or not."""

    error: FloatArray
    group: IntArray  # which of them repeat each other
    weights: FloatArray  # 0: it helps to know the scatter, and is not in the figure
    slopes: Mapping[Role, float]  # d(value of the check)/d(reading), at most, of a reading that weighs 1
    of: str = ""  # whose scatter it is, of SCATTERS; "": nothing is lacking where there are no repeats
    scale: float = 1.0  # d(value of the check)/d(error) of a reading that weighs 1


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """A budget, or why there is none."""

    budget: Budget | None
    why_not: str = ""  # beside a budget: what it does not hold
    lacks_scatter: bool = False  # the valve's own scatter is not in it, so that it says too little of the valve


NO_UNCERTAINTY: Final = Uncertainty(None)


def budget_of(
    day: Day,
    quantity: Quantity,
    sources: Sequence[Source],
    point: IntArray,
    measure: str,
    repeats: Repeats | None = None,
    further: Sequence[Component] = (),
) -> Uncertainty:
    """The budget of one check from its instruments and, for a mean, the scatter of its repeats.

    Parameters
    ----------
    quantity : Quantity
        What the budget is of; without a value it has none. An average without its repeats is a programming error.
    sources : sequence of Source
        One for each instrument that took part.
    point : array, shape (n,)
        Test point of each reading: accuracy is common within a point and, in a difference, independent between points.
    repeats : Repeats or None
        None: the check is of the readings made and has no type A term.
    further : sequence of Component
        What else leaves the value open, such as the sampling and the noise of a recording.

    Notes
    -----
    JCGM 100:2008, clauses 4.3, 4.4 and 5.1. An instrument that cannot vouch for its readings leaves
    the check without an uncertainty, never with a smaller one.
    """
    if quantity.averaged and repeats is None:
        raise CalculationInputError("An average has no budget without its repeats; give them.")
    if quantity.value is None:
        return NO_UNCERTAINTY
    components: list[Component] = []
    least = 0.0
    for source in sources:
        carried = source.sensitivity != 0
        fit = day.fitness(source.role, np.where(carried, source.reading_pct, np.nan))
        if fit.instrument is None or fit.scale is None:
            return Uncertainty(None, fit.fault)
        step = fit.instrument.resolution or source.last_digit / abs(fit.scale.pct_per_unit)
        per_unit = source.sensitivity * fit.scale.pct_per_unit
        reading = fit.scale.reading(source.reading_pct)
        components.append(_accuracy(source.role, fit.instrument, reading, per_unit, point))
        if step:
            components.append(_resolution(source.role, fit.instrument, step, per_unit, point))
        if repeats is not None:
            least = hypot(least, step * repeats.slopes.get(source.role, 0.0) * fit.scale.pct_per_unit)
    components += further
    scatter = [] if repeats is None else _scatter(repeats, least / _ROOT_TWELVE, day.settings.scatter, measure)
    budget = combine([*components, *scatter], coverage_probability=day.settings.coverage_probability)
    if repeats is not None and repeats.of and not scatter:
        return Uncertainty(budget, NO_SCATTER.format(scatter=repeats.of), lacks_scatter=True)
    return Uncertainty(budget)


def _accuracy(
    role: Role, instrument: Instrument, reading: FloatArray, per_unit: FloatArray, point: IntArray
) -> Component:
    """Accuracy of one instrument, with the sensitivity that its readings come to."""
    carried = per_unit != 0
    span = (
        None
        if instrument.range_high is None or instrument.range_low is None
        else instrument.range_high - instrument.range_low
    )
    half_width = accuracy_half_width(
        np.where(carried, reading, 0.0),
        pct_reading=instrument.accuracy_pct_reading,
        pct_range=instrument.accuracy_pct_range,
        range_span=span,
        fixed=instrument.accuracy_fixed,
    )
    widest = float(half_width[carried].max()) if carried.any() else 0.0
    spread = spread_of_accuracy(per_unit, point, half_width)
    name, unit = instrument.instrument, instrument.measures
    sensitivity = spread / widest if widest else 0.0
    return rectangular(f"{role} instrument, accuracy", widest, unit, instrument=name, sensitivity=sensitivity)


def _resolution(role: Role, instrument: Instrument, step: float, per_unit: FloatArray, point: IntArray) -> Component:
    """Resolution of one instrument: the register's, or where that is blank the last digit that was typed."""
    what = "resolution" if instrument.resolution else "last digit typed"
    name, unit, sensitivity = instrument.instrument, instrument.measures, spread_of_resolution(per_unit, point)
    return resolution(f"{role} instrument, {what}", step, unit, instrument=name, sensitivity=sensitivity)


def _scatter(repeats: Repeats, least: float, of_class: Mapping[str, ClassScatter], measure: str) -> list[Component]:
    """What the valve's own scatter adds: pooled over all that was repeated; a group that stands out keeps its own.

    ``least`` is the least standard deviation of one reading, in the unit of the value.

    Notes
    -----
    House definition: without repeats, or where they scatter less than it, the class scatter of unit.toml stands in.
    """
    given = of_class.get(repeats.of)
    expected = None if given is None else (given.value * abs(repeats.scale), given.degrees_of_freedom)
    usual = max(least, 0.0 if expected is None else expected[0])
    apart = outlying_groups(repeats.error, repeats.group, least=usual / abs(repeats.scale) if repeats.scale else 0.0)
    found = [
        (_OUTLYING, _pooled(repeats, own := repeats.group == each), own) for each in np.unique(repeats.group[apart])
    ]
    pooled = _pooled(repeats, ~apart)
    if expected is not None and (pooled is None or pooled[0] < expected[0]):
        found.append((_OF_CLASS, expected, ~apart))
    else:
        found.append((_POOLED, pooled, ~apart))
    components = []
    for name, known, readings in found:
        share = float(np.linalg.norm(repeats.weights[readings]))
        if known is not None and share > 0.0:
            deviation, freedom = known
            components.append(type_a(name, max(deviation, least), measure, freedom, sensitivity=share))
    return components


def _pooled(repeats: Repeats, kept: BoolArray) -> tuple[float, float] | None:
    """Standard deviation of one reading, in the unit of the value, and its degrees of freedom."""
    found = pooled_deviation(repeats.error[kept], repeats.group[kept])
    return None if found is None else (abs(repeats.scale) * found[0], found[1])
