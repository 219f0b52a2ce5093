"""Which instrument took a reading, and whether it could be relied on that day."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.registers import ROLES, Instrument, Role, Tag, Visit
from kit.basis.signals import SignalRange

_VOUCHING: Final = frozenset(  # columns of the instrument register that an uncertainty rests on
    {"range_low", "range_high", "accuracy_pct_reading", "accuracy_pct_range", "accuracy_fixed", "resolution"}
    | {"calibrated_on", "due_on"}
)
_ROUNDING: Final = 1e-9  # relative; what binary rounding may add to a reading scaled back from %


@dataclass(frozen=True, slots=True)
class InstrumentUse:
    """One instrument in one role on one visit, and whether it could be relied on that day."""

    visit: str
    role: Role
    instrument: str  # "" when the visit names none
    description: str
    measures: str
    certificate: str
    calibrated_on: str
    due_on: str
    fault: str  # why it gives no uncertainty: "overdue since 2026-03-01"; "" when it is in order


@dataclass(frozen=True, slots=True)
class Scale:
    """How the % of a check relate to the unit of an instrument: reading = offset + % / pct_per_unit."""

    unit: str
    offset: float
    pct_per_unit: float

    def reading(self, pct: FloatArray) -> FloatArray:
        """The reading in the instrument's unit that stands for ``pct``, shape kept."""
        return np.asarray(self.offset + np.asarray(pct, dtype=float) / self.pct_per_unit)


@dataclass(frozen=True, slots=True)
class Fitness:
    """An instrument's function and how to scale it, or why the reading has no uncertainty."""

    instrument: Instrument | None = None
    scale: Scale | None = None
    fault: str = ""


def signal_scales(signal: SignalRange | None) -> tuple[Scale, ...]:
    """Scales of a command or feedback instrument: the signal's own unit first."""
    percent = Scale("pct", 0.0, 1.0)
    return (percent,) if signal is None else (Scale(signal.unit, signal.low, 100 / signal.span), percent)


def position_scales(tag: Tag) -> tuple[Scale, ...]:
    """Scales of a position instrument: the travel's own unit first."""
    percent = Scale("pct", 0.0, 1.0)
    if not tag.travel or not tag.travel_unit:
        return (percent,)
    return (Scale(tag.travel_unit, 0.0, 100 / tag.travel), percent)


def plain_scale(unit: str) -> tuple[Scale, ...]:
    """The scale of a value that stays in the instrument's unit."""
    return (Scale(unit, 0.0, 1.0),)


def role_scales(role: Role, tag: Tag) -> tuple[Scale, ...]:
    """The scales that an instrument in a role may have, the best first."""
    if role == "command":
        return signal_scales(tag.command_range)
    if role == "feedback":
        return signal_scales(tag.feedback_range)
    if role == "position":
        return position_scales(tag)
    return plain_scale({"time": "s", "resistance": "ohm", "supply": "V"}[role])


def fitness(role: Role, pct: FloatArray, tag: Tag, visit: Visit | None, instruments: Iterable[Instrument]) -> Fitness:
    """The instrument that a visit names for a role, if it can vouch for the readings.

    Parameters
    ----------
    pct : array, shape (n,)
        The readings that count, in % (times in s, resistances in ohm, supply in V). A nan is
        not looked at.

    Notes
    -----
    House definition: of several functions of one instrument the first one whose unit fits and whose
    range holds every reading is taken. A blank due date, range or resolution does not disqualify; an
    instrument without any accuracy does, since nothing can be said of its uncertainty, and so does a cell that
    cannot be read in any of its functions of that unit.
    """
    if visit is None:
        return Fitness(fault="the visit has no row in the visits table, so its instruments are not known")
    name = visit.instrument_of(role)
    if not name:
        return Fitness(fault=f"no {role} instrument named for visit {visit.visit}")
    functions = [each for each in instruments if each.instrument == name]
    if not functions:
        return Fitness(fault=f"{role} instrument {name} is not in the instrument register")
    scales = role_scales(role, tag)
    candidates = [(each, scale) for scale in scales for each in functions if each.measures == scale.unit]
    if not candidates:
        wanted = " or ".join(scale.unit for scale in scales)
        found = ", ".join(sorted({each.measures for each in functions}))
        return Fitness(fault=f"{role} instrument {name} measures {found}, not {wanted}")
    unreadable = [column for each, _ in candidates for column in each.unreadable if column in _VOUCHING]
    if unreadable:
        return Fitness(fault=f"{role} instrument {name} has a cell {unreadable[0]} that cannot be read in the register")
    faults = [_fault(each, scale.reading(pct), visit.date) for each, scale in candidates]
    for (instrument, scale), fault in zip(candidates, faults, strict=True):
        if not fault:
            return Fitness(instrument, scale)
    return Fitness(fault=f"{role} instrument {name} {faults[0]}")


def instruments_used(
    tag: Tag, visits: Iterable[Visit], instruments: tuple[Instrument, ...], roles_by_visit: dict[str, set[Role]]
) -> tuple[InstrumentUse, ...]:
    """One row a visit and role that has readings, with what is wrong with the instrument, if anything."""
    uses = []
    for visit in visits:
        for role in ROLES:
            if role in roles_by_visit.get(visit.visit, set()):
                uses.append(_use(role, tag, visit, instruments))
    return tuple(uses)


def _use(role: Role, tag: Tag, visit: Visit, instruments: tuple[Instrument, ...]) -> InstrumentUse:
    found = fitness(role, np.empty(0), tag, visit, instruments)
    name = visit.instrument_of(role)
    shown = found.instrument or next((each for each in instruments if each.instrument == name), None)
    return InstrumentUse(
        visit=visit.visit,
        role=role,
        instrument=name,
        description=shown.description if shown else "",
        measures=shown.measures if shown else "",
        certificate=shown.certificate if shown else "",
        calibrated_on=shown.calibrated_on if shown else "",
        due_on=shown.due_on if shown else "",
        fault=found.fault,
    )


def _fault(instrument: Instrument, readings: FloatArray, date: str) -> str:
    """Why an instrument gives no uncertainty for these readings on that day; "" when it does."""
    date = date[:10]
    if not date:
        return "is named for a visit without a date that can be read"
    if instrument.due_on and date > instrument.due_on:
        return f"was past its due date {instrument.due_on} on {date}"
    if instrument.calibrated_on and date < instrument.calibrated_on:
        return f"was calibrated on {instrument.calibrated_on}, after the visit of {date}"
    terms = (instrument.accuracy_pct_reading, instrument.accuracy_pct_range, instrument.accuracy_fixed)
    if all(term is None for term in terms):
        return "has no accuracy in the instrument register"
    low, high = instrument.range_low, instrument.range_high
    if instrument.accuracy_pct_range is not None and (low is None or high is None):
        return "has an accuracy in % of range but no range in the instrument register"
    return _range_fault(readings[~np.isnan(readings)], low, high, instrument.measures)


def _range_fault(readings: FloatArray, low: float | None, high: float | None, unit: str) -> str:
    if not readings.size:
        return ""
    least, greatest = float(readings.min()), float(readings.max())
    slack = _ROUNDING * max(1.0, abs(least), abs(greatest))
    below = low is not None and least < low - slack
    if not below and (high is None or greatest <= high + slack):
        return ""
    outside = least if below else greatest
    return f"was read at {outside:.4g} {unit}, outside its range {_text(low)} to {_text(high)} {unit}"


def _text(limit: float | None) -> str:
    return "…" if limit is None else f"{limit:g}"
