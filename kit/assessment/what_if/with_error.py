"""A tag judged as if an instrument had shown the truth: every reading less the error that it is known to have had."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from kit.assessment.instruments import role_scales
from kit.assessment.touched.readings import is_since, roles_of
from kit.assessment.what_if.case import Case, WhatIfError
from kit.assessment.what_if.corrected import Roles, corrected_recording, corrected_rows
from kit.basis.records import Problem, TagRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows
from kit.calculations.instrument_error import InstrumentError

SIGN: Final = "Error means indicated minus true: an instrument that shows 0.6 too much has an error of +0.6."
_CORRECTED: Final = "{} (corrected)"  # what the instrument is called on the visits whose readings are corrected


def with_error(case: Case, instrument: str, error: InstrumentError, since: str = "") -> Case:
    """Every reading that ``instrument`` took, typed and recorded, in every role, less its error.

    ``since``: of visits from that day on (ISO 8601); "": of all.

    Notes
    -----
    House definition. The instrument keeps its own accuracy and resolution; its range moves with its readings, so that
    one that was outside stays outside. A reading whose error is not known is an open record: what it could have fed is
    not assessable. An answer that gave a cell another value stands, and is corrected.
    """
    records = case.records
    functions = tuple(each for each in case.unit.instruments if each.instrument == instrument)
    if error.unit not in {each.measures for each in functions}:
        raise WhatIfError(f"{instrument} is not in the register as an instrument that measures {error.unit}.")
    by_visit = {
        visit.visit: roles
        for visit in records.visits
        if is_since(visit, since)
        for roles in [_roles(visit, functions, records.tag, error.unit)]
        if roles
    }
    if not by_visit:
        raise WhatIfError(f"{records.tag.tag}: no visit used {instrument} for readings in {error.unit}.")
    made, unknown = _corrected(records, by_visit, functions, error)
    said = [f"Every reading of {instrument} in {error.unit} less its error, of {_counted(by_visit)}. {SIGN}"]
    if unknown:
        said.append(f"Of {len(unknown)} readings the error is not known: what they could have fed is not assessable.")
    return case.with_records(made, *said)


def _roles(visit: Visit, functions: tuple[Instrument, ...], tag: Tag, unit: str) -> Roles:
    """What the visit used the function of this unit for; no scale where it can have been no other and does not fit."""
    measured = {each.measures for each in functions}
    found: dict[Any, Any] = {}
    for role in roles_of(visit, functions[0].instrument):
        fitting = [scale for scale in role_scales(role, tag) if scale.unit in measured]
        if not fitting:
            found |= {role: None} if measured == {unit} else {}
        elif fitting[0].unit == unit:
            found[role] = fitting[0]
    return found


def _corrected(
    records: TagRecords, by_visit: Mapping[str, Roles], functions: tuple[Instrument, ...], error: InstrumentError
) -> tuple[TagRecords, tuple[Problem, ...]]:
    unknown: list[Problem] = []
    tables: dict[str, Rows] = {}
    digit = 0.0
    for name, rows in records.tables.items():
        found = corrected_rows(name, rows, records.tag, by_visit, error)
        tables[name], digit = found.rows, max(digit, found.last_digit)
        unknown += found.unknown
    recordings = []
    for source in records.recordings:
        made, lost = corrected_recording(source, records.tag, by_visit.get(source.visit, {}), error)
        recordings.append(made)
        unknown += lost
    name = functions[0].instrument
    return replace(
        records,
        tables=tables,
        recordings=tuple(recordings),
        visits=tuple(_renamed(each, by_visit.get(each.visit, {}), name) for each in records.visits),
        instruments=(*records.instruments, *(_moved(each, error, digit) for each in functions)),
        problems=(*records.problems, *unknown),
        as_typed=(),
    ), tuple(unknown)


def _renamed(visit: Visit, roles: Roles, instrument: str) -> Visit:
    named: dict[str, Any] = {f"{role}_instrument": _CORRECTED.format(instrument) for role in roles}
    return replace(visit, **named)


def _moved(function: Instrument, error: InstrumentError, last_digit: float) -> Instrument:
    """The function that read what is corrected: its range moved with its readings, its uncertainty its own.

    Numbers that were worked out have more digits than what was typed: where the register gives no resolution, what the
    last digit typed stands for is kept, the coarsest of all.
    """
    own = replace(function, instrument=_CORRECTED.format(function.instrument))
    if function.measures != error.unit:
        return own
    low, high = function.range_low, function.range_high
    fixed = function.accuracy_fixed
    if function.accuracy_pct_range is not None and low is not None and high is not None:
        fixed = (fixed or 0.0) + function.accuracy_pct_range * (high - low) / 100.0
        own = replace(own, accuracy_pct_range=None)
    return replace(
        own,
        range_low=_end(low, error),
        range_high=_end(high, error),
        accuracy_fixed=fixed,
        resolution=function.resolution or last_digit or None,
    )


def _end(limit: float | None, error: InstrumentError) -> float | None:
    """An end of a range, less the error at it or, beyond a table, at the table's end: no reading there is used."""
    if limit is None:
        return None
    nearest = limit if error.is_constant else min(max(limit, error.indicated[0]), error.indicated[-1])
    return limit - float(error.at(nearest))


def _counted(by_visit: Mapping[str, Roles]) -> str:
    return "1 visit" if len(by_visit) == 1 else f"{len(by_visit)} visits"
