"""Damages of a row and of a heading: short, shifted, doubled, unknown."""

from __future__ import annotations

from random import Random
from typing import Final

from kit.basis.tables import TABLES
from tests.damages.damage import REGISTERS, Damage, Damager, Spot, draw_row, draw_sheet
from tests.damages.made_files import Line, MadeFile, MadeUnit, Sheet


def _of_file(unit: MadeUnit, file: MadeFile, sheet: Sheet) -> frozenset[str]:
    """What a damage that hides whose a row is may reach."""
    return frozenset(unit.tags if sheet.table in REGISTERS else file.tags)


def _told(kind: str, unit: MadeUnit, spot: Spot, *, whose: bool) -> Damage:
    return Damage(kind, spot.place(), spot.hidden_reach(unit) if whose else spot.own_reach(unit))


def _filled(cells: list[str]) -> int:
    """How far to the right a row has a filled cell."""
    return max((place for place, cell in enumerate(cells, start=1) if cell), default=0)


def _cell_too_many(unit: MadeUnit, rng: Random) -> Damage | None:
    spot = draw_row(unit, rng)
    if spot is None:
        return None
    place = rng.randrange(_filled(spot.line.cells))
    found = _told("row with a cell too many", unit, spot, whose=place == 0)
    spot.line.cells.insert(place, rng.choice(("", "", "1")))
    return found


def _cell_too_few(unit: MadeUnit, rng: Random) -> Damage | None:
    spot = draw_row(unit, rng)
    if spot is None or _filled(spot.line.cells) < 3:
        return None
    place = rng.randrange(_filled(spot.line.cells) - 1)
    found = _told("row with a cell too few", unit, spot, whose=place == 0)
    del spot.line.cells[place]
    return found


def _run_together(unit: MadeUnit, rng: Random) -> Damage | None:
    spot = draw_row(unit, rng)
    if spot is None:
        return None
    cells = spot.line.cells
    places = [place for place in range(len(cells) - 1) if cells[place] and cells[place + 1]]
    if not places:
        return None
    place = rng.choice(places)
    found = _told("row with two cells run together", unit, spot, whose=place == 0)
    cells[place : place + 2] = [cells[place] + cells[place + 1]]
    return found


def _cut_short(unit: MadeUnit, rng: Random) -> Damage | None:
    spot = draw_row(unit, rng)
    if spot is None or _filled(spot.line.cells) < 3:
        return None
    keep = rng.randrange(1, _filled(spot.line.cells) - 1)
    if not any(name not in ("at", "remark") for name in spot.sheet.header[keep:]):
        return None
    found = _told("row cut short", unit, spot, whose=False)
    del spot.line.cells[keep:]
    return found


def _twice(unit: MadeUnit, rng: Random) -> Damage | None:
    spot = draw_row(unit, rng)
    if spot is None:
        return None
    spot.sheet.lines.insert(spot.row - 1, spot.line.copy())
    return _told("row twice", unit, spot, whose=False)


def _header_again(unit: MadeUnit, rng: Random) -> Damage | None:
    spot = draw_row(unit, rng)
    if spot is None:
        return None
    spot.sheet.lines.insert(spot.row - 2, Line(list(spot.sheet.header)))
    return _told("header in the middle", unit, spot, whose=True)


def _above_the_header(unit: MadeUnit, rng: Random) -> Damage | None:
    """The first row stands above the header."""
    spot = draw_row(unit, rng, records=True)
    if spot is None:
        return None
    header = Line(spot.sheet.header)
    found = _told("row above the header", unit, spot, whose=True)
    spot.sheet.header = spot.sheet.lines[0].cells
    spot.sheet.lines[0] = header
    return found


def _column_down(unit: MadeUnit, rng: Random) -> Damage | None:
    """The cells of one column stand a row too low from some row of a tag on; the last of them is lost."""
    spot = draw_row(unit, rng, records=True)
    if spot is None:
        return None
    lines = [line for line in spot.sheet.lines[spot.row - 2 :] if line.tag == spot.line.tag]
    names = [
        name
        for name in spot.sheet.header
        if TABLES[spot.sheet.table].is_bold(name) and TABLES[spot.sheet.table].kind(name) in ("number", "word", "date")
    ]
    if not names:
        return None
    column = spot.sheet.column(rng.choice(names))
    cells = ["", *(line.cells[column] for line in lines[:-1])]
    found = _told("column shifted down", unit, Spot(spot.file, spot.sheet, spot.line, spot.row, column), whose=False)
    for line, cell in zip(lines, cells, strict=True):
        line.cells[column] = cell
    return found


def _heading(kind: str, unit: MadeUnit, rng: Random) -> Damage | None:
    found = draw_sheet(unit, rng)
    if found is None:
        return None
    file, sheet = found
    names = [name for name in sheet.header if name in TABLES[sheet.table].columns and _has_cells(sheet, name)]
    name = rng.choice(names)
    other = _other_heading(kind, name, sheet, rng)
    if other == name:
        return None
    sheet.header[sheet.column(name)] = other
    return Damage(f"heading {kind}", f"{file.name} {sheet.table}: {name} -> {other!r}", _of_file(unit, file, sheet))


def _has_cells(sheet: Sheet, name: str) -> bool:
    column = sheet.column(name)
    return any(column < len(line.cells) and line.cells[column] for line in sheet.lines)


def _other_heading(kind: str, name: str, sheet: Sheet, rng: Random) -> str:
    place = rng.randrange(len(name))
    if kind == "mistyped":
        return rng.choice((name[:place] + name[place + 1 :], name[:place] + name[place] + name[place:]))
    if kind == "without its unit":
        return name.rpartition("_")[0] or name
    return {"blank": "", "unknown": rng.choice(("col7", "Wert", "x")), "twice": rng.choice(sheet.header)}[kind]


def _heading_damage(kind: str) -> Damager:
    return lambda unit, rng: _heading(kind, unit, rng)


ROW_DAMAGES: Final[tuple[Damager, ...]] = (
    _cell_too_many,
    _cell_too_few,
    _run_together,
    _cut_short,
    _twice,
    _header_again,
    _above_the_header,
    _column_down,
)
HEADING_DAMAGES: Final[tuple[Damager, ...]] = tuple(
    _heading_damage(kind) for kind in ("mistyped", "without its unit", "blank", "unknown", "twice")
)
