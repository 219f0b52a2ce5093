"""What a table that is not read holds: the table that its headings fit, and the tags that it names."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import Final

from kit.basis.tables import MEASUREMENTS, TABLES
from kit.basis.tables.columns import Table
from kit.records.cells.lookalikes import Lookalikes
from kit.records.files.raw import RawTable, as_texts, header_key

_FEWEST: Final = 3  # filled cells of a line above the headings that may be a row
_NUMBER: Final = re.compile(r"[<>~+-]?\s*\d+(?:[.,]\d+)?\s*[%°Ωa-zA-Z]{0,4}")  # with its unit


def table_that_fits(raw: RawTable) -> str | None:
    """The table whose columns the headings name; "": several alike; None: none.

    Notes
    -----
    House definition: a table fits whose numbers some heading names, or whose columns that must be there are all there;
    of those the one with most columns named.
    """
    keys = {header_key(heading) for heading in raw.header} - {""}
    scores = {table.name: _score(table, keys) for table in TABLES.values() if table.name != "punch"}  # any list fits it
    best = max(scores.values())
    if not best:
        return None
    fitting = [name for name, score in scores.items() if score == best]
    return fitting[0] if len(fitting) == 1 else ""


def measured_in(raw: RawTable, tags: Iterable[str]) -> str | None:
    """The table of measurements that a list of another kind holds; "": nobody can say which; None: none.

    Notes
    -----
    House definition: its headings fit one, or one of them is a number of one and heads a filled cell, or it has no
    headings and holds values, or a line above them names a tag among three filled cells at least.
    """
    fitting = table_that_fits(raw)
    if fitting in (*MEASUREMENTS, "logs", ""):
        return fitting
    numbers = {header_key(name) for each in MEASUREMENTS for name in TABLES[each].columns if _is_number(each, name)}
    headed = (place for place, heading in enumerate(raw.header) if header_key(heading) in numbers)
    is_filled = any(str(cell).strip() not in ("", "nan") for place in headed for cell in raw.columns[place].tolist())
    known = {tag.casefold() for tag in tags}
    above = ([cell.strip().casefold() for cell in cells if cell.strip()] for _, cells in raw.above)
    is_row_above = any(len(filled) >= _FEWEST and not known.isdisjoint(filled) for filled in above)
    return "" if is_filled or is_row_above or holds_values(raw, tags) else None


def _is_number(table: str, column: str) -> bool:
    return TABLES[table].kind(column) == "number"


def holds_values(raw: RawTable, tags: Iterable[str]) -> bool:
    """Whether a table without headings names a tag and holds a number."""
    if any(heading.strip() for heading in raw.header):
        return False
    cells = list(_cells(raw))
    known = {tag.casefold() for tag in tags}
    return any(cell.casefold() in known for cell in cells) and any(_NUMBER.fullmatch(cell) for cell in cells)


def tags_in(raw: RawTable, tags: Iterable[str]) -> tuple[str, ...]:
    """The registered tags that a table names in its column tag or, without one, anywhere, and those that look so."""
    looking = Lookalikes(tags)
    known = {tag.casefold(): tag for tag in tags}
    headed = [place for place, heading in enumerate(raw.header) if header_key(heading) == "tag"]
    cells = set(_cells(raw, headed or range(len(raw.header))))
    exact = {known[cell.casefold()] for cell in cells if cell.casefold() in known}
    alike = {tag for cell in cells if headed and cell.casefold() not in known for tag in looking.of(cell)}
    return tuple(sorted(exact | alike))


def _score(table: Table, keys: set[str]) -> int:
    named = [name for name in table.columns if header_key(name) in keys]
    whole = all(any(name in named for name in group) for group in table.needed)
    return len(named) if whole or any(table.kind(name) == "number" for name in named) else 0


def _cells(raw: RawTable, places: Iterable[int] | None = None) -> Iterator[str]:
    wanted = range(len(raw.header)) if places is None else places
    for place in wanted:
        column = raw.columns[place]
        texts = as_texts([]) if column.dtype == float else column
        yield from (cell.strip() for cell in texts.tolist())
        yield from (cells[place].strip() for _, cells in raw.above)
