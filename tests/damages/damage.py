"""What a damage is, and how its place is drawn: where it is of use, it falls on a tag that does not pass."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random
from typing import Final

from kit.basis.tables import TABLES
from tests.damages.made_files import Line, MadeFile, MadeUnit, Sheet

_ON_ONE_THAT_FAILS: Final = 0.7
FREE: Final = frozenset(
    {"service", "description", "certificate", "remark", "remarks", "technician", "checked_by", "field_person"}
    | {"station_person", "process_state", "breaks_at_pct", "alarm", "insulation_test_v", "cycle", "travel_unit"}
)  # columns whose cells say nothing that a verdict could rest on
REGISTERS: Final = ("tags", "instruments")


@dataclass(frozen=True, slots=True)
class Damage:
    """One damage: its kind, where it was done, and the tags that it may reach."""

    kind: str
    place: str
    reach: frozenset[str]


Damager = Callable[[MadeUnit, Random], Damage | None]
"""Damages a unit in place; None: there is nothing there that it could damage."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A cell, or where only a row is wanted the row that it stands in."""

    file: MadeFile
    sheet: Sheet
    line: Line
    row: int
    column: int = 0

    @property
    def heading(self) -> str:
        return self.sheet.header[self.column]

    @property
    def text(self) -> str:
        return self.line.cells[self.column]

    @text.setter
    def text(self, text: str) -> None:
        self.line.cells[self.column] = text

    def place(self) -> str:
        return f"{self.file.name} {self.sheet.table} row {self.row} {self.heading}: {self.line.cells}"

    def reach(self, unit: MadeUnit) -> frozenset[str]:
        """What a damage of the cell may reach."""
        return self.hidden_reach(unit) if self.heading == "tag" else self.own_reach(unit)

    def own_reach(self, unit: MadeUnit) -> frozenset[str]:
        """Of a row that says whose it is: that tag; an instrument is every tag's."""
        return frozenset(unit.tags if self.sheet.table == "instruments" else {self.line.tag})

    def hidden_reach(self, unit: MadeUnit) -> frozenset[str]:
        """Of a row that no longer says whose it is: the tags of the file's other rows, and where none is left, all.

        An adjustment is of any tag: one that was never adjusted before has no other row there.
        """
        others = {line.tag for sheet in self.file.sheets for line in sheet.lines if line is not self.line}
        if self.sheet.table in (*REGISTERS, "adjustments") or not others:
            return frozenset(unit.tags)
        return frozenset({*others, self.line.tag})


def draw_sheet(unit: MadeUnit, rng: Random, *, records: bool = False) -> tuple[MadeFile, Sheet] | None:
    """A sheet with rows, each as likely as any other."""
    sheets = [found for found in unit.sheets() if found[1].lines]
    if records:
        sheets = [found for found in sheets if found[1].table not in REGISTERS]
    return rng.choice(sheets) if sheets else None


def draw_row(unit: MadeUnit, rng: Random, *, records: bool = False) -> Spot | None:
    """A row, most often one of a tag that does not pass."""
    found = draw_sheet(unit, rng, records=records)
    if found is None:
        return None
    file, sheet = found
    rows = list(enumerate(sheet.lines, start=2))
    wanted = [each for each in rows if unit.bad.get(each[1].tag) or unit.gaps.get(each[1].tag)]
    row, line = rng.choice(wanted if wanted and rng.random() < _ON_ONE_THAT_FAILS else rows)
    return Spot(file, sheet, line, row)


def draw_cell(unit: MadeUnit, rng: Random, wanted: Callable[[Spot], bool]) -> Spot | None:
    """A filled cell that a verdict could rest on; None where a few draws find none that is wanted."""
    for _ in range(30):
        row = draw_row(unit, rng)
        if row is None:
            return None
        columns = [
            column
            for column, heading in enumerate(row.sheet.header)
            if heading in TABLES[row.sheet.table].columns and heading not in FREE and row.line.cells[column]
        ]
        spots = [Spot(row.file, row.sheet, row.line, row.row, column) for column in columns]
        spots = [spot for spot in spots if wanted(spot)]
        if spots:
            return rng.choice(spots)
    return None


def kind_of(spot: Spot) -> str:
    """The kind of the cell's column."""
    return TABLES[spot.sheet.table].kind(spot.heading)
