"""A plain table of the unit's page, with fields to look through it where it is long."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from kit.views.pieces.parts import Part, render
from kit.views.pieces.sheets import placed, tables_or
from kit.views.pieces.text_tables import Table
from kit.views.unit_pages.panels import Panel, split

SHORT: Final = 15  # rows that are taken in at a glance


@dataclass(frozen=True, slots=True)
class Listing:
    """A long plain table with its fields: the rows that a browser lays out at once, and the rest."""

    name: str
    panel: Panel
    table: Table
    first: Table
    rest: Table


def listed(name: str, content: Table, reason: str, rows: str = "") -> Part:
    """A table, with fields to look through it where it is long; ``rows`` is what its rows are, in the plural."""
    if not rows or len(content.rows) <= SHORT:
        return placed(tables_or(name, [content] if content.rows else [], reason))
    panel = Panel(name, content.caption, rows, len(content.rows), f"{name}.")
    first, rest = (replace(content, rows=each) for each in split(content.rows))
    return render("unit_list.html.j2", Listing(name, panel, content, first, rest))
