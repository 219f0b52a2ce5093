"""What the rows of a unit's tables hold, as short marks: alike where every cell is, whatever table they stand in."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

import numpy as np

from kit.basis.rows import Rows
from kit.records.remembered import Remembered

Columns = tuple[str, ...] | None  # None: every column of a table


class Contents:
    """The marks of tables, by tag; of a table that is the very one that is remembered they are not made again.

    Examples
    --------
    >>> rows = Rows({"tag": np.array(["A", "B"], dtype=object), "row": np.array([2, 3])})
    >>> contents = Contents({"visits": rows}, ("A", "B"), Remembered())
    >>> contents.of("A", {"visits": None}) == contents.of("B", {"visits": None})
    False
    """

    def __init__(self, tables: Mapping[str, Rows], tags: Sequence[str], remembered: Remembered) -> None:
        self._tables, self._tags, self._remembered = tables, tuple(tags), remembered
        self._known: dict[tuple[str, Columns], dict[str | None, bytes]] = {}

    def of(self, tag: str, reads: Mapping[str, Columns]) -> tuple[bytes, ...]:
        """Of a tag's rows of some tables, and of some of their columns."""
        return tuple(self._marks(name, columns)[tag] for name, columns in reads.items())

    def of_all(self, reads: Mapping[str, Columns]) -> tuple[bytes, ...]:
        """Of every row of some tables."""
        return tuple(self._marks(name, columns)[None] for name, columns in reads.items())

    def _marks(self, name: str, columns: Columns) -> dict[str | None, bytes]:
        if (name, columns) not in self._known:
            rows = self._tables[name]
            names = tuple(each for each in rows.columns if columns is None or each in columns)
            key = "contents", rows, names, self._tags
            self._known[name, columns] = self._remembered.recall(key, lambda: _marks(rows, names, self._tags))
        return self._known[name, columns]


def _marks(rows: Rows, names: tuple[str, ...], tags: Sequence[str]) -> dict[str | None, bytes]:
    """By tag, and under None of the whole table, which is sorted by tag."""
    lists = [rows[name].tolist() for name in names]
    first = np.searchsorted(rows["tag"], np.array(tags, dtype=object), side="left").tolist()
    last = np.searchsorted(rows["tag"], np.array(tags, dtype=object), side="right").tolist()
    found: dict[str | None, bytes] = {}
    for tag, start, end in zip(tags, first, last, strict=True):
        found[tag] = _mark([names, *(cells[start:end] for cells in lists)])
    found[None] = hashlib.sha256(b"".join(found.values())).digest()
    return found


def _mark(cells: list[object]) -> bytes:
    return hashlib.sha256(repr(cells).encode("utf-8", "surrogatepass")).digest()
