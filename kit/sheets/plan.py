"""A tag's field sheet put together: for a visit of its own, or for one that goes on from the visit before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from kit.assessment.limits import limit_set_for
from kit.assessment.results import TagAssessment
from kit.assessment.subjects import SUBJECTS
from kit.basis.checks import CheckName
from kit.basis.records import TagRecords
from kit.basis.registers import Instrument
from kit.basis.tables import TABLES
from kit.basis.verdicts import Stage
from kit.sheets.allowed import Allowed
from kit.sheets.asked import Asked, all_tests, lacking
from kit.sheets.form import FieldSheet, FormRow, FormTable
from kit.sheets.picks import picks_for
from kit.sheets.readings_rows import readings_columns, readings_rows
from kit.sheets.rows_of_tests import ROWS, Wanted, loop_columns

_SAID_APART: Final = frozenset({"tag", "visit"})


@dataclass(frozen=True, slots=True)
class Occasion:
    """What a sheet is for: the visit's name ("": the next one) and day ("": to be filled in), stages, instruments."""

    visit: str = ""
    on: str = ""
    instruments: tuple[Instrument, ...] = ()  # of the unit
    stages: tuple[Stage, ...] = ("as_left",)


def whole_sheet(records: TagRecords, occasion: Occasion) -> FieldSheet:
    """Every test that the tag's limit set asks for, as a visit that stands alone."""
    return _sheet(records, all_tests(records.tag, records.settings), occasion, continues="")


def missing_sheet(records: TagRecords, assessment: TagAssessment, occasion: Occasion) -> FieldSheet | None:
    """What the tag's report lacks, as a visit that goes on from the one that decides; None: it lacks nothing.

    A tag without any record gets the whole sheet.
    """
    deciding = assessment.deciding
    if deciding is None:
        return whole_sheet(records, occasion)
    asked = lacking(deciding)
    if not asked.parts and not asked.by_recording:
        return None
    return _sheet(records, asked, occasion, continues=deciding.visit)


def next_visit(taken: Iterable[str]) -> str:
    """A name for another visit: a number beyond those among them and beyond their count.

    Examples
    --------
    >>> next_visit([]), next_visit(["1", "2"]), next_visit(["FAT", "SAT"]), next_visit(["FAT", "3"])
    ('1', '3', '3', '4')
    """
    named = list(taken)
    numbers = [int(each) for each in named if each.isdecimal()]
    return str(max([*numbers, len(named)]) + 1)


def _sheet(records: TagRecords, asked: Asked, occasion: Occasion, continues: str) -> FieldSheet:
    settings, tag = records.settings, records.tag
    allowed = Allowed(tag, settings)
    items = _items(records) if continues else settings.prechecks
    tables = [_table(name, asked, allowed, occasion, items) for name in asked.parts]
    if not continues:  # a setting that a visit before does not have would count as changed
        tables.append(_plain("settings", allowed, occasion))
    tables.append(_plain("adjustments", allowed, occasion))
    checks = [check for name in asked.parts for check in _checks_of(name)]
    why_not = limit_set_for(tag, settings).why_not
    return FieldSheet(
        tag,
        settings.title,
        settings.document.replace("{tag}", tag.tag).replace("{unit}", settings.unit),
        occasion.visit or next_visit(_visits(records)),
        continues,
        occasion.on,
        tuple(tables),
        picks_for(tag, checks, occasion.instruments, occasion.on),
        (
            *(f"To be recorded by a logger: {each}" for each in asked.by_recording),
            *([f"No limits: {why_not}."] if why_not else []),
        ),
    )


def _visits(records: TagRecords) -> set[str]:
    """Every name that a visit of the tag goes by, in whatever table, rows that are not used included."""
    named = {each.visit for each in records.visits}
    named |= {each.scope.visit for each in records.problems if each.scope is not None and each.scope.visit}
    named |= {str(visit) for rows in records.tables.values() for visit in rows["visit"]}
    return named | {each.visit for each in records.recordings}


def _table(name: str, asked: Asked, allowed: Allowed, occasion: Occasion, items: Sequence[str]) -> FormTable:
    told = [*asked.why.get(name, ()), *_limit_lines(name, allowed)]
    parts = asked.parts[name]
    columns = _columns(name, allowed, asked)
    stages: tuple[Stage, ...] = occasion.stages if "stage" in TABLES[name].columns else ("as_left",)
    rows: list[FormRow] = []
    for stage in stages:
        if name == "readings":
            rows += readings_rows(allowed, stage)
        else:
            wanted = Wanted(allowed, columns if name == "electrical" else parts, stage, items)
            rows += ROWS[name](wanted)
    return FormTable(name, columns, tuple(rows), tuple(told))


def _plain(name: str, allowed: Allowed, occasion: Occasion) -> FormTable:
    stages: Sequence[Stage] = occasion.stages if "stage" in TABLES[name].columns else ("as_left",)
    rows = [row for stage in stages for row in ROWS[name](Wanted(allowed, (), stage))]
    return FormTable(name, _every_column(name), tuple(rows))


def _columns(name: str, allowed: Allowed, asked: Asked) -> tuple[str, ...]:
    if name == "readings":
        return readings_columns(allowed.tag)
    if name == "loop_checks":
        return loop_columns(allowed.tag)
    if name in asked.columns:
        return (*asked.columns[name], "at")
    return _every_column(name)


def _every_column(name: str) -> tuple[str, ...]:
    return tuple(column for column in TABLES[name].columns if column not in _SAID_APART)


def _items(records: TagRecords) -> tuple[str, ...]:
    """What is to be looked at again: the unit's items, then those that were recorded.

    A visit that stands alone prints the unit's alone: of those the report misses each one that is not answered.
    """
    recorded = (str(item) for item in records.tables["prechecks"]["item"])
    by_name: Mapping[str, str] = {
        "".join(item.split()).casefold(): item for item in reversed([*records.settings.prechecks, *recorded])
    }
    return tuple(reversed(list(by_name.values())))


def _checks_of(table: str) -> tuple[CheckName, ...]:
    return tuple(check for subject in SUBJECTS if subject.table == table for check in subject.checks)


def _limit_lines(table: str, allowed: Allowed) -> list[str]:
    """The limits of the checks that a table feeds, and where they come from."""
    checks = _checks_of(table)
    words = [words for check in checks if (words := allowed.words(check))]
    if not words:
        return ["No limit is stated for what this table feeds: nothing of it can pass."]
    sources = allowed.sources(checks)
    return [f"Limits: {'; '.join(words)}.", f"Source: {'; '.join(sources)}."]
