"""Every reading that was taken with one instrument: typed rows, and what was recorded."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.assessment.instruments import fitness
from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import ROLES, Instrument, Role, Visit
from kit.basis.rows import BOUNDS, Rows
from kit.basis.tables import TABLES
from kit.basis.tables.read_with import READ_WITH, RECORDED

LOGS: Final = "logs"


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading, or one channel of a recording with all of its samples."""

    tag: str
    visit: str
    date: str  # of the visit, ISO 8601; "" where it cannot be read
    stage: str  # "" of a table that knows none
    role: Role
    table: str
    column: str
    unit: str
    value: float | None  # None: a recording
    bound: str  # "above", "below", "over", "never"; "" for a reading
    file: str
    row: int | None  # None: a recording
    samples: int = 1
    least: float | None = None  # of a recording
    greatest: float | None = None
    from_s: float | None = None
    to_s: float | None = None


@dataclass(frozen=True, slots=True)
class VisitTouched:
    """One visit that names the instrument, and what was read with it there."""

    tag: str
    visit: str
    date: str
    roles: tuple[Role, ...]
    readings: tuple[Reading, ...]
    fault: str  # why it gave no uncertainty that day; "" when it was in order


def roles_of(visit: Visit, instrument: str) -> tuple[Role, ...]:
    """What a visit used an instrument for."""
    return tuple(role for role in ROLES if visit.instrument_of(role) == instrument)


def is_since(visit: Visit, since: str) -> bool:
    """Whether a visit was made on the day or later; one without a date that can be read may have been."""
    return not since or not visit.date or visit.date[:10] >= since


def visits_touched(
    records: TagRecords, instrument: str, functions: tuple[Instrument, ...], since: str
) -> tuple[VisitTouched, ...]:
    """The visits of a tag that name the instrument, from a day on ("": all), oldest first.

    ``functions`` are the rows of the instrument register that hold it.
    """
    named = [(visit, roles_of(visit, instrument)) for visit in records.visits if is_since(visit, since)]
    return tuple(
        VisitTouched(
            records.tag.tag,
            visit.visit,
            visit.date,
            roles,
            tuple(_of_visit(records, visit, roles)),
            _fault(records, visit, roles, functions),
        )
        for visit, roles in named
        if roles
    )


def _fault(records: TagRecords, visit: Visit, roles: tuple[Role, ...], functions: tuple[Instrument, ...]) -> str:
    found = (fitness(role, np.empty(0), records.tag, visit, functions).fault for role in roles)
    return next((fault for fault in found if fault), "")


def _of_visit(records: TagRecords, visit: Visit, roles: tuple[Role, ...]) -> Iterator[Reading]:
    for table, columns in READ_WITH.items():
        rows = records.tables[table].only("visit", visit.visit)
        yield from _typed(rows, table, {each: role for each, role in columns.items() if role in roles}, visit)
    for source in records.recordings:
        if source.visit == visit.visit:
            yield from _recorded(source, roles, visit)


def _typed(rows: Rows, table: str, columns: dict[str, Role], visit: Visit) -> Iterator[Reading]:
    staged = "stage" in TABLES[table].columns
    for place in range(len(rows)):
        for column, role in columns.items():
            value = float(rows[column][place])
            if np.isnan(value):
                continue
            yield Reading(
                tag=str(rows["tag"][place]),
                visit=visit.visit,
                date=visit.date,
                stage=str(rows["stage"][place]) if staged else "",
                role=role,
                table=table,
                column=column,
                unit=TABLES[table].unit(column),
                value=value,
                bound=_bound(rows, column, place),
                file=str(rows["file"][place]),
                row=int(rows["row"][place]),
            )


def _bound(rows: Rows, column: str, place: int) -> str:
    if BOUNDS not in rows.columns:
        return ""
    found = (each.partition(":") for each in str(rows[BOUNDS][place]).split())
    return next((bound for name, _, bound in found if name == column), "")


def _recorded(source: RecordingFile, roles: tuple[Role, ...], visit: Visit) -> Iterator[Reading]:
    recording = source.recording
    if recording is None:
        return
    for column, role in RECORDED.items():
        values = getattr(recording, column)
        if role not in roles or values is None or not np.isfinite(values).any():
            continue
        yield Reading(
            tag=source.tag,
            visit=visit.visit,
            date=visit.date,
            stage=source.stage,
            role=role,
            table=LOGS,
            column=column,
            unit=TABLES[LOGS].unit(column),
            value=None,
            bound="",
            file=source.file,
            row=None,
            samples=int(np.isfinite(values).sum()),
            least=float(np.nanmin(values)),
            greatest=float(np.nanmax(values)),
            from_s=float(recording.time_s[0]),
            to_s=float(recording.time_s[-1]),
        )
