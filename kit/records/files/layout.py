"""Lines and rows laid out as a table: which line holds the headings, and what does not stand under one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import numpy as np

from kit.records.files.raw import HEADER_WITHIN, RawTable, as_texts, find_header, header_key, is_blank

Line = tuple[int, list[str], str]  # as a person counts it, cells, what is wrong with it

_VALUE: Final = re.compile(r"[<>~≈≤≥±+-]?\s*\d[\d.,:/ -]*[%°Ωa-zA-Z]{0,4}")  # with its unit


def lay_out(lines: Sequence[Line], known: frozenset[str], beside: str, *, grid: bool = False) -> RawTable | None:
    """The table that the lines of a file or a sheet make; None: there is no filled one.

    Parameters
    ----------
    known
        Every heading, to find the line that holds them.
    beside
        What to say of a row with cells beyond the headings: ``{found}`` cells under ``{wanted}`` headings.
    grid
        Whether each cell stands where it was put, as in a spreadsheet: there a cell too many moves no other.
    """
    place = _header_of(lines, known)
    if place is None:
        return None
    above = [line for line in lines[:place] if not is_blank(line[1])]
    filled = [line for line in lines[place + 1 :] if line[2] or not is_blank(line[1])]
    header = list(lines[place][1])
    if _is_a_row(header, filled, known):
        above, filled, header = [], [*above, lines[place], *filled], [""] * len(header)
    width = _width(header, filled, max((len(row) for _, row, _ in filled), default=0) if grid else len(header))
    faults, beyond, short = _misfits(filled, width, beside, most=max(width, len(header)))
    cells = [_to_width(line[1], width) for line in filled]
    columns = tuple(as_texts(column) for column in zip(*cells, strict=True)) or tuple(
        as_texts([]) for _ in range(width)
    )
    return RawTable(
        tuple(_to_width(header, width)),
        columns,
        np.array([number for number, _, _ in filled], dtype=np.int64),
        faults,
        above=tuple((number, tuple(_to_width(row, width))) for number, row, _ in above),
        beyond=beyond,
        short=short,
    )


def _header_of(lines: Sequence[Line], known: frozenset[str]) -> int | None:
    place = find_header([cells for _, cells, _ in lines[:HEADER_WITHIN]], known)
    if place is None:
        place = next((number for number, line in enumerate(lines) if not is_blank(line[1])), None)
    return place


def _is_a_row(header: Sequence[str], below: Sequence[Line], known: frozenset[str]) -> bool:
    """Whether the line taken for the headings names none, and holds values: the headings were lost."""
    if any(header_key(cell) in known for cell in header):
        return False
    return any(
        _VALUE.fullmatch(cell.strip()) or any(place < len(row) and row[place] == cell for _, row, _ in below)
        for place, cell in enumerate(header)
        if cell.strip()
    )


def _width(header: Sequence[str], rows: Sequence[Line], widest: int) -> int:
    """How many columns there are: those with a heading, and those beside them that most rows fill."""
    headed = max((place + 1 for place, cell in enumerate(header) if cell.strip()), default=0)
    for width in range(widest, headed, -1):
        filled = sum(not is_blank(row[width - 1 : width]) for _, row, _ in rows)
        if 2 * filled > len(rows):
            return width
    return headed


def _misfits(
    rows: Sequence[Line], width: int, beside: str, *, most: int
) -> tuple[dict[int, str], dict[int, tuple[str, ...]], dict[int, int]]:
    """By position: what is wrong with a row; all cells of one that has too many; how many a short one has."""
    faults: dict[int, str] = {}
    beyond: dict[int, tuple[str, ...]] = {}
    short: dict[int, int] = {}
    for place, (_, row, fault) in enumerate(rows):
        if fault:
            faults[place] = fault
        elif not is_blank(row[width:]):
            faults[place] = beside.format(found=len(row), wanted=width)
            beyond[place] = tuple(row)
        elif len(row) > most:
            beyond[place] = tuple(row)
        elif len(row) < width:
            short[place] = len(row)
    return faults, beyond, short


def _to_width(row: Sequence[str], width: int) -> list[str]:
    return list(row) if len(row) == width else ([*row] + [""] * width)[:width]
