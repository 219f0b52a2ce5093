"""Report parts that are sentences and tables and no more."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from kit.views.pieces.parts import Section, render
from kit.views.pieces.text_tables import Table


@dataclass(frozen=True, slots=True)
class Sheet:
    """A part, ready to be placed; ``name`` is the class that the stylesheet knows it by."""

    name: str
    lines: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    missing: str = ""  # what to say in place of the tables; "" when there is something to show


def placed(sheet: Sheet) -> Section:
    """A sheet as a part of the page."""
    return render("sheet.html.j2", sheet)


def missing(reason: str) -> Section:
    """The sentence that stands where there is nothing to show."""
    return placed(Sheet("missing", missing=reason))


def placed_tables(name: str, tables: Iterable[Table | None], *lines: str) -> Section:
    """Tables, those that there are, below some sentences."""
    return placed(Sheet(name, lines=lines, tables=tuple(each for each in tables if each is not None)))


def tables_or(name: str, tables: Iterable[Table], reason: str) -> Sheet:
    """A sheet of tables, or the reason why there is none."""
    shown = tuple(tables)
    return Sheet(name, tables=shown, missing="" if shown else reason)
