"""Rows that do not stand under their headings: above them, with a cell too many, or cut short."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from typing import Final, TypeVar

import numpy as np
from numpy.typing import NDArray

from kit.basis.tables.columns import Table
from kit.records.files.raw import RawTable, as_texts, header_key, is_blank

Reads = Callable[[RawTable], tuple[NDArray[np.bool_], NDArray[np.int64]]]  # which rows are sound; cells understood

_ABOVE: Final = "It stands above the headings, so it is not read. Move it below them."
_AMBIGUOUS: Final = (
    "{found} cells under {wanted} headings, and nobody can say which belong together. Write decimal points, "
    "and as many cells as headings."
)
_MENDED: Final = "{one} and the cell after it are read as {read}: a decimal comma split them. Write a decimal point."
_FEWEST: Final = 3  # filled cells of a line above the headings that may be a row
_UNDERSTOOD: Final = 2  # house definition: so many cells that fit their headings make such a line a row
_MOST_JOINTS: Final = 2
_Anything = TypeVar("_Anything")
_WHOLE: Final = re.compile(r"\s*[+-]?(?:0|[1-9]\d*)")
_DECIMALS: Final = re.compile(r"\d+\s*")


def with_rows_above(raw: RawTable, reads: Reads) -> RawTable:
    """The table with those lines above its headings that are rows.

    Notes
    -----
    House definition: a line is a row that has as many filled cells as some row below, and three at least, or two
    cells that fit the headings they would stand under (numbers, words, dates).
    """
    if not raw.above:
        return raw
    lines = RawTable(
        raw.header,
        tuple(as_texts(column) for column in zip(*(cells for _, cells in raw.above), strict=True)),
        np.array([number for number, _ in raw.above], dtype=np.int64),
        comma_separated=raw.comma_separated,
    )
    _, understood = reads(lines)
    headed = sum(bool(heading.strip()) for heading in raw.header)
    fewest = max(_FEWEST, int(_filled_cells(raw).min()) if len(raw) else headed)
    rows = (understood >= _UNDERSTOOD) | (_filled_cells(lines) >= fewest)
    if not rows.any():
        return raw
    more = int(rows.sum())
    return replace(
        raw,
        columns=tuple(
            np.concatenate([top[rows], below]) for top, below in zip(lines.columns, raw.columns, strict=True)
        ),
        rows=np.concatenate([lines.rows[rows], raw.rows]),
        row_faults={**dict.fromkeys(range(more), _ABOVE), **_moved(raw.row_faults, more)},
        above=(),
        beyond=_moved(raw.beyond, more),
        short=_moved(raw.short, more),
    )


def with_decimal_commas(table: Table, raw: RawTable, reads: Reads) -> tuple[RawTable, Mapping[tuple[int, str], str]]:
    """The table with rows mended that a decimal comma split, and what to say of each, by position and column.

    A row is mended only where one way of reading it, and no other, makes each of its cells valid.
    """
    if not raw.beyond or not raw.comma_separated:
        return raw, {}
    numbers = [place for place, heading in enumerate(raw.header) if _is_number(table, heading)]
    ways = {place: _ways(cells, len(raw.header), numbers) for place, cells in raw.beyond.items()}
    sound = _sound(raw, ways, reads)
    faults = dict(raw.row_faults)
    columns = [column.copy() for column in raw.columns]
    told: dict[tuple[int, str], str] = {}
    for place, cells in raw.beyond.items():
        if len(sound[place]) != 1 or len(sound[place][0].joints) > 1:
            faults[place] = _AMBIGUOUS.format(found=len(cells), wanted=len(raw.header))
            continue
        way = sound[place][0]
        faults.pop(place, None)
        for column, cell in zip(columns, way.cells, strict=True):
            column[place] = cell
        for joint in way.joints:
            told[place, header_key(raw.header[joint])] = _MENDED.format(one=cells[joint], read=way.cells[joint])
    left = {place: cells for place, cells in raw.beyond.items() if place in faults}
    return replace(raw, columns=tuple(columns), row_faults=faults, beyond=left), told


@dataclass(frozen=True, slots=True)
class _Way:
    """One way of reading a row with cells beyond its headings: which cells are joined with the next."""

    joints: tuple[int, ...]
    cells: tuple[str, ...]


def _ways(cells: Sequence[str], width: int, numbers: Sequence[int]) -> list[_Way]:
    """Every way that leaves no filled cell beyond the headings and puts joined cells under a number alone."""
    splits = [place for place in range(len(cells) - 1) if _is_split(cells[place], cells[place + 1])]
    found = []
    for count in range(min(len(cells) - width, _MOST_JOINTS) + 1):
        for joints in combinations(splits, count):
            way = _joined(cells, joints)
            headed = all(joint - earlier in numbers for earlier, joint in enumerate(joints))
            apart = all(later - joint > 1 for joint, later in pairwise(joints))
            if headed and apart and is_blank(way[width:]):
                moved = tuple(joint - earlier for earlier, joint in enumerate(joints))
                found.append(_Way(moved, tuple(way[:width])))
    return found


def _is_split(whole: str, decimals: str) -> bool:
    return _WHOLE.fullmatch(whole) is not None and _DECIMALS.fullmatch(decimals) is not None


def _joined(cells: Sequence[str], joints: Sequence[int]) -> list[str]:
    joined = list(cells)
    for joint in reversed(joints):
        joined[joint : joint + 2] = [f"{cells[joint].strip()}.{cells[joint + 1].strip()}"]
    return joined


def _sound(raw: RawTable, ways: Mapping[int, Sequence[_Way]], reads: Reads) -> dict[int, list[_Way]]:
    """Of each row's ways those that make every cell valid; a single way to which there is no other counts as it is."""
    flat = [(place, way) for place, own in ways.items() for way in own if len(own) > 1 or way.joints]
    found = {place: [way for way in own if len(own) == 1 and not way.joints] for place, own in ways.items()}
    if flat:
        columns = tuple(as_texts(column) for column in zip(*(way.cells for _, way in flat), strict=True))
        fits, _ = reads(RawTable(raw.header, columns, np.arange(len(flat)), comma_separated=True))
        for (place, way), fit in zip(flat, fits.tolist(), strict=True):
            if fit:
                found[place].append(way)
    return found


def missing_cells(raw: RawTable) -> Mapping[int, tuple[str, ...]]:
    """By position, the headings that a row ends before."""
    return {place: tuple(header_key(each) for each in raw.header[count:]) for place, count in raw.short.items()}


def _is_number(table: Table, heading: str) -> bool:
    return any(header_key(name) == header_key(heading) and table.kind(name) == "number" for name in table.columns)


def _filled_cells(raw: RawTable) -> NDArray[np.int64]:
    """How many cells of each row hold anything."""
    texts = [np.array([bool(cell) and not cell.isspace() for cell in column], dtype=np.int64) for column in raw.columns]
    return np.asarray(np.sum(texts, axis=0), dtype=np.int64)


def _moved(by_place: Mapping[int, _Anything], by: int) -> dict[int, _Anything]:
    return {place + by: each for place, each in by_place.items()}
