"""Uncertainty budgets of checks: what each instrument and the scatter of repeats add."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from kit.assessment.instruments import Fitness, fitness
from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.basis.quantity import Component
from kit.basis.registers import Instrument, Role, Tag, Visit
from kit.basis.settings import UnitSettings
from kit.calculations.uncertainty import (
    Budget,
    accuracy_half_width,
    combine,
    pooled_scatter,
    rectangular,
    resolution,
    spread_of_accuracy,
    spread_of_resolution,
    type_a,
)


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


@dataclass(frozen=True, slots=True, eq=False)
class Repeats:
    """The readings whose scatter enters a mean, shape (n,)."""

    error: FloatArray
    rising: BoolArray
    weights: FloatArray


@dataclass(frozen=True, slots=True)
class Uncertainty:
    """A budget, or why there is none."""

    budget: Budget | None
    why_not: str = ""


NO_UNCERTAINTY: Final = Uncertainty(None)


def budget_of(
    day: Day,
    sources: Sequence[Source],
    point: IntArray,
    measure: str,
    repeats: Repeats | None = None,
    further: Sequence[Component] = (),
) -> Uncertainty:
    """The budget of one check from its instruments and, for a mean, the scatter of its repeats.

    Parameters
    ----------
    sources : sequence of Source
        One for each instrument that took part.
    point : array, shape (n,)
        Test point of each reading: accuracy is common within a point and independent between points.
    repeats : Repeats or None
        None: the check rests on single readings and has no type A term.
    further : sequence of Component
        What else leaves the value open, such as the sampling and the noise of a recording.

    Notes
    -----
    JCGM 100:2008, clauses 4.3, 4.4 and 5.1. An instrument that cannot vouch for its readings leaves
    the check without an uncertainty, never with a smaller one.
    """
    components: list[Component] = []
    for source in sources:
        carried = source.sensitivity != 0
        fit = day.fitness(source.role, np.where(carried, source.reading_pct, np.nan))
        if fit.instrument is None or fit.scale is None:
            return Uncertainty(None, fit.fault)
        per_unit = source.sensitivity * fit.scale.pct_per_unit
        components += _instrument_components(
            source.role, fit.instrument, fit.scale.reading(source.reading_pct), per_unit, point
        )
    components += further
    if repeats is not None:
        components += _scatter_components(repeats, point, measure)
    return Uncertainty(combine(components, coverage_probability=day.settings.coverage_probability))


def _instrument_components(
    role: Role, instrument: Instrument, reading: FloatArray, per_unit: FloatArray, point: IntArray
) -> list[Component]:
    """Accuracy and resolution of one instrument, each with the sensitivity that its readings come to."""
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
    components = [rectangular(f"{role} instrument, accuracy", widest, unit, instrument=name, sensitivity=sensitivity)]
    if instrument.resolution:
        step, sensitivity = instrument.resolution, spread_of_resolution(per_unit, point)
        components.append(
            resolution(f"{role} instrument, resolution", step, unit, instrument=name, sensitivity=sensitivity)
        )
    return components


def _scatter_components(repeats: Repeats, point: IntArray, measure: str) -> list[Component]:
    scatter = pooled_scatter(repeats.error, point, repeats.rising, repeats.weights)
    if scatter is None:
        return []
    deviation, degrees_of_freedom = scatter
    return [type_a("scatter of the repeats, standard deviation of the mean", deviation, measure, degrees_of_freedom)]
