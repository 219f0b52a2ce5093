"""Typed readings and recordings freed from an instrument's error."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np

from kit.assessment.instruments import Scale, role_scales
from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.recording import Recording, Segment
from kit.basis.records import Problem, RecordingFile, Scope
from kit.basis.registers import Role, Tag
from kit.basis.rows import BOUNDS, Rows
from kit.basis.tables import TABLES
from kit.basis.tables.read_with import READ_WITH
from kit.basis.verdicts import Stage
from kit.calculations.digits import last_digit
from kit.calculations.instrument_error import InstrumentError

_OHM_PER: Final[Mapping[str, float]] = {"Ω": 1.0, "MΩ": 1e6}
_OUTSIDE: Final = "{what} lies outside the table of errors, {low:g} to {high:g} {unit}: what is true is not known"

Roles = Mapping[Role, Scale | None]  # what an instrument was read for, with its scale; None: it has none for this tag


@dataclass(frozen=True, slots=True)
class Corrected:
    """Rows freed from the error, what cannot be, and what the last digit typed of each role stands for."""

    rows: Rows
    unknown: tuple[Problem, ...]
    last_digit: float  # in the instrument's unit; 0: nothing was typed


def corrected_rows(
    table: str, rows: Rows, tag: Tag, by_visit: Mapping[str, Roles], error: InstrumentError
) -> Corrected:
    """A table's rows, each cell that the instrument was read for less the error at what it showed.

    A cell whose error is not known is blank, and an open record that holds back what it could have fed; where a row
    must have that cell, the whole row is.
    """
    made: dict[str, Any] = dict(rows.columns)
    unknown: list[Problem] = []
    kept = np.ones(len(rows), dtype=bool)
    digit = 0.0
    for column, role in READ_WITH.get(table, {}).items():
        for visit, roles in by_visit.items():
            if role not in roles:
                continue
            here = np.asarray(rows["visit"] == visit) & ~np.isnan(rows[column].astype(float))
            line = _line(TABLES[table].unit(column), role, roles[role], tag, error.unit)
            if line is None or not here.any():
                continue
            lost = _correct(made, column, here, line, error)
            digit = max(digit, last_digit(rows[column].astype(float)[here]) * abs(line[1]))
            unknown += [_unknown(table, column, made, place, tag, error) for place in np.flatnonzero(lost).tolist()]
            if TABLES[table].is_bold(column):
                kept &= ~lost
    return Corrected(Rows(made).where(kept), tuple(unknown), digit)


def corrected_recording(
    source: RecordingFile, tag: Tag, roles: Roles, error: InstrumentError
) -> tuple[RecordingFile, tuple[Problem, ...]]:
    """A recording with every sample of what the instrument was read for less the error at what it showed.

    Where the error of some sample is not known, nothing of the recording is used. Samples of a lost signal are kept as
    they are: that the signal was lost is what they say.
    """
    recording = source.recording
    if recording is None:
        return source, ()
    made: dict[str, Any] = {}
    lost: list[str] = []
    for name, role in _channels(recording).items():
        values = getattr(recording, name)
        if values is None or role not in roles:
            continue
        scale = roles[role]
        keeps = recording.signal_lost if name == "command_pct" else None
        less = _less(values, scale, error, keeps)
        made[name] = less
        if (np.isnan(less) & ~np.isnan(values)).any():
            lost.append(role)
    if "time" in roles and not error.is_constant:
        made |= _in_time(recording, error)
        lost += ["time"] if np.isnan(made["time_s"]).any() else []
        first_s = float(recording.time_s[0])
        source = replace(source, segments=source.segments and _moved(source.segments, first_s, error))
    if lost:
        return replace(source, recording=None, why_not=_why(lost[0], error)), (_of_recording(source, lost[0], error),)
    return replace(source, recording=replace(recording, **made)), ()


def _channels(recording: Recording) -> dict[str, Role]:
    """Whose instrument each channel was read with; the travel is the position, where it is not the feedback."""
    return {
        "command_pct": "command",
        "position_pct": "position",
        "feedback_pct": "feedback",
        "travel_pct": "feedback" if recording.travel_is_feedback else "position",
        "supply_v": "supply",
    }


def _less(values: FloatArray, scale: Scale | None, error: InstrumentError, keeps: BoolArray | None) -> FloatArray:
    if scale is None:
        return np.full(values.shape, np.nan)
    less = np.asarray(values - error.at(scale.reading(values)) * scale.pct_per_unit, dtype=float)
    return less if keeps is None else np.where(keeps, values, less)


def _in_time(recording: Recording, error: InstrumentError) -> dict[str, Any]:
    """Times, and the gaps between them."""
    first_s = float(recording.time_s[0])
    gaps = tuple(
        (float(_since(first_s, start, error)), float(_since(first_s, end, error))) for start, end in recording.gaps
    )
    return {"time_s": _since(first_s, recording.time_s, error), "gaps": gaps}


def _moved(segments: tuple[Segment, ...], first_s: float, error: InstrumentError) -> tuple[Segment, ...]:
    return tuple(
        replace(
            each,
            from_s=float(_since(first_s, each.from_s, error)),
            to_s=float(_since(first_s, each.to_s, error)),
        )
        for each in segments
    )


def _since(first_s: float, times_s: float | FloatArray, error: InstrumentError) -> FloatArray:
    """Times corrected. **House definition**: the clock read what passed since the recording began."""
    return np.asarray(first_s + error.corrected(np.asarray(times_s) - first_s))


def _line(unit: str, role: Role, scale: Scale | None, tag: Tag, error_unit: str) -> tuple[float, float] | None:
    """Offset and slope of the instrument's reading over a column's value; None: the column is not what it read.

    A slope of nan: the reading that stands for the value is not known.
    """
    if role in ("time", "supply"):
        return 0.0, 1.0
    if role == "resistance":
        return 0.0, _OHM_PER[unit]
    if unit == error_unit:
        return 0.0, 1.0
    if scale is None:
        return 0.0, float("nan")
    if unit.startswith("%"):
        return scale.offset, 1.0 / scale.pct_per_unit
    own = role_scales(role, tag)[0]  # it reads in %, and the value stands in the unit of the signal or of the travel
    return (-own.offset * own.pct_per_unit, own.pct_per_unit) if own.unit == unit else None


def _correct(
    made: dict[str, Any], column: str, here: BoolArray, line: tuple[float, float], error: InstrumentError
) -> BoolArray:
    """Correct the cells that are ``here``; which of them became blank since their error is not known."""
    offset, slope = line
    values: FloatArray = made[column].astype(float)
    less = values - error.at(offset + slope * values) / slope
    never = np.array([f"{column}:never" in str(each).split() for each in made.get(BOUNDS, [""] * len(values))])
    made[column] = np.where(here & ~never, less, values)
    lost = np.asarray(here & ~never & np.isnan(made[column]), dtype=bool)
    if lost.any() and BOUNDS in made:
        made[BOUNDS] = _without(made[BOUNDS], column, lost)
    return lost


def _without(bounds: Any, column: str, lost: BoolArray) -> Any:
    kept = bounds.copy()
    for place in np.flatnonzero(lost):
        kept[place] = " ".join(each for each in str(bounds[place]).split() if each.partition(":")[0] != column)
    return kept


def _unknown(table: str, column: str, made: Mapping[str, Any], place: int, tag: Tag, error: InstrumentError) -> Problem:
    stage: Stage | Literal[""] = made["stage"][place] if "stage" in TABLES[table].columns else ""
    file, row = str(made["file"][place]), int(made["row"][place])
    columns = () if TABLES[table].is_bold(column) else (column,)
    scope = Scope((tag.tag,), str(made["visit"][place]), stage, table, columns)
    why, key = _why(column, error), f"{file}:{row}:{column}"
    return Problem(file, row, column, "", why, tag.tag, table=table, record=key, status="open", scope=scope)


def _of_recording(source: RecordingFile, what: str, error: InstrumentError) -> Problem:
    scope = Scope((source.tag,), source.visit, source.stage, "logs")
    why, file = _why(what, error), source.file
    return Problem(file, None, "", "", why, source.tag, table="logs", record=file, status="open", scope=scope)


def _why(what: str, error: InstrumentError) -> str:
    if error.is_constant:
        return f"{what} cannot be brought to {error.unit} with what the register says of the tag"
    return _OUTSIDE.format(what=what, low=error.indicated[0], high=error.indicated[-1], unit=error.unit)
