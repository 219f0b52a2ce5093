"""What a field sheet consists of, before it is laid out as a workbook."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from kit.basis.registers import Role, Tag

Printed = str | int | float


@dataclass(frozen=True, slots=True)
class FormRow:
    """One row to be filled in: what is printed in its cells, and what guides whoever fills in the others."""

    cells: Mapping[str, Printed] = field(default_factory=dict)  # by column, tag and visit apart
    set_to: str = ""
    allowed: str = ""
    now: str = ""  # formulas, as kit.sheets.rules has them
    feedback_now: str = ""
    spare: bool = False  # nobody misses it where it is left blank


@dataclass(frozen=True, slots=True)
class FormTable:
    """One table of a sheet."""

    table: str
    columns: tuple[str, ...]  # tag and visit apart
    rows: tuple[FormRow, ...]
    told: tuple[str, ...] = ()  # sentences above it: limits, and why it is asked for


@dataclass(frozen=True, slots=True)
class Pick:
    """An instrument that a visit may name for a role."""

    role: Role
    instrument: str
    description: str
    measures: str
    due_on: str  # ISO 8601; "": it holds without end


@dataclass(frozen=True, slots=True)
class FieldSheet:
    """A tag's sheet for one visit."""

    tag: Tag
    unit_title: str
    document: str
    visit: str
    continues: str  # "": it stands alone
    on: str  # ISO 8601 date of the visit; "": to be filled in
    tables: tuple[FormTable, ...]
    picks: tuple[Pick, ...]
    told: tuple[str, ...] = ()  # sentences on its first page
