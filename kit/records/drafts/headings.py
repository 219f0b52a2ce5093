"""Headings: which column of a table each one is, and which of the others was most likely meant for one."""

from __future__ import annotations

import unicodedata
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from rapidfuzz.distance import Levenshtein

from kit.basis.tables.columns import Table
from kit.records.cells.typed_texts import read_dates, read_words
from kit.records.files.raw import Cells, RawTable, header_key

_LETTERS: Final = 4  # so many at its beginning make a heading close to a known one
_YES_NO: Final = frozenset({"yes", "no", "na"})  # too common in columns of a plant's own
REMEDY: Final = "Correct the heading, or name it under own_columns in unit.toml."


@dataclass(frozen=True, slots=True)
class Slip:
    """A column that is not read, although it may well be one of the table's."""

    heading: str  # as it stands in the file
    meant: tuple[str, ...]  # the columns that it may be, the likeliest first; (): nobody can say
    text: str  # what is wrong and what to do


@dataclass(frozen=True, slots=True)
class Headings:
    """The columns of a file: those of its table, by name, and the others."""

    columns: Mapping[str, Cells]
    slips: tuple[Slip, ...]
    others: tuple[str, ...]  # headings of columns that are neither the table's nor named in unit.toml


def match_headings(table: Table, raw: RawTable, own_columns: Collection[str] = ()) -> Headings:
    """Find a table's columns in a file.

    Notes
    -----
    House definition. A heading is close to a known one that is the same but for case and marks, or one edit away from
    it, or begins with the same four letters. A column whose cells are all words of a word column that is missing is
    taken for a slip too; yes and no tell nothing in records, and do in a register, as dates do.
    """
    names = {header_key(name): name for name in table.columns}
    own = {header_key(each) for each in own_columns}
    columns: dict[str, Cells] = {}
    strange: list[tuple[str, Cells]] = []
    slips: list[Slip] = []
    for heading, cells in zip(raw.header, raw.columns, strict=True):
        key = header_key(heading)
        if key in names and names[key] not in columns:
            columns[names[key]] = cells
        elif key in names:
            slips.append(_twice(names[key]))
        elif key and key not in own:
            strange.append((heading.strip(), cells))
        elif not key and _filled(cells):
            slips.append(Slip("", (), "A column of filled cells has no heading, so it is not read. Give it one."))
    for slip in slips:
        for name in slip.meant:
            columns.pop(name, None)
    missing = [name for name in table.columns if name not in columns]
    judged = [(heading, _slip(table, heading, cells, missing)) for heading, cells in strange]
    return Headings(
        columns,
        (*slips, *(slip for _, slip in judged if slip is not None)),
        tuple(heading for heading, slip in judged if slip is None),
    )


def close_to(heading: str, columns: Iterable[str]) -> tuple[str, ...]:
    """The columns that a heading is close to, as far as they are equally close.

    Examples
    --------
    >>> close_to("Makes at", ["tag", "makes_at_pct", "breaks_at_pct"])
    ('makes_at_pct',)
    >>> close_to("dutty", ["duty"]), close_to("remark", ["duty"])
    (('duty',), ())
    """
    key = _folded(heading)
    ranked = [(rank, name) for name in columns if (rank := _closeness(key, _folded(name)))]
    best = max((rank for rank, _ in ranked), default=0)
    return tuple(name for rank, name in ranked if rank == best)


def all_words(cells: Cells, words: tuple[str, ...]) -> bool:
    """Whether a column holds some of these words and nothing else."""
    if cells.dtype == float or not _filled(cells):
        return False
    read = read_words(cells, words)
    return not read.faults and bool(np.any(read.values != ""))


def _all_dates(cells: Cells) -> bool:
    if cells.dtype == float or not _filled(cells):
        return False
    read = read_dates(cells)
    return not read.faults and bool(np.any(read.values != ""))


def _slip(table: Table, heading: str, cells: Cells, missing: list[str]) -> Slip | None:
    close = close_to(heading, missing) or close_to(heading, table.columns)
    if close:
        text = f"{table.name} has no column {heading!r}, so it is not read. Was {close[0]} meant? {REMEDY}"
        return Slip(heading, close, text)
    telling = [name for name in missing if table.place == "register" or not _YES_NO.issuperset(table.words(name))]
    fitting = tuple(name for name in telling if table.words(name) and all_words(cells, table.words(name)))
    words = f"its cells are words of {' or '.join(fitting)}"
    if not fitting and table.place == "register":
        fitting = tuple(name for name in missing if table.kind(name) == "date" and _all_dates(cells))
        words = f"its cells are dates, as those of {' and '.join(fitting)} are"
    if not fitting:
        return None
    return Slip(heading, fitting, f"{table.name} has no column {heading!r}, so it is not read, and {words}. {REMEDY}")


def _twice(name: str) -> Slip:
    """Nobody can say which of two columns holds."""
    return Slip(name, (name,), f"The file has two columns {name}: neither is read. Remove one of them.")


def _folded(heading: str) -> str:
    plain = unicodedata.normalize("NFKD", heading.casefold())
    return "".join(char for char in plain if char.isalnum())


def _closeness(key: str, name: str) -> int:
    """0: not close; else the more, the closer."""
    if key == name:
        return 1000
    if Levenshtein.distance(key, name, score_cutoff=1) <= 1:
        return 999
    shared = next((place for place, (one, other) in enumerate(zip(key, name, strict=False)) if one != other), None)
    shared = min(len(key), len(name)) if shared is None else shared
    return shared if shared >= _LETTERS else 0


def _filled(cells: Cells) -> bool:
    if cells.dtype == float:
        return bool(np.any(~np.isnan(cells)))
    return any(cell and not cell.isspace() for cell in cells.tolist())
