"""A few rows of one table, by column: what is handed from the readers to the calculations."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.tables.columns import Table

Bound = Literal["above", "below", "over", "never"]
BOUNDS: Final = "bounds"


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """Rows of one table. Every column of the table's schema is there.

    Numbers are float arrays (nan: blank cell), texts object arrays ("": blank cell). The columns
    ``file`` and ``row`` say where each row stands, as a person counts rows in that file. ``bounds`` is there where
    some cell is a bound and no reading, and names those of each row: "time_s:above" is a time above the number
    in its cell, "below" one below it; "over" is beyond the instrument's range and "never" what did not happen, both
    infinite in their cell. A table equals nothing but itself.
    """

    columns: Mapping[str, NDArray[Any]]

    def __len__(self) -> int:
        return len(self.columns["row"])

    def __getitem__(self, column: str) -> NDArray[Any]:
        return self.columns[column]

    def where(self, keep: NDArray[Any] | slice) -> Rows:
        """The rows that a mask, an index array or a slice keeps, in order."""
        return Rows({name: values[keep] for name, values in self.columns.items()})

    def only(self, column: str, value: str) -> Rows:
        """The rows in which a text column holds ``value``."""
        return self.where(np.asarray(self.columns[column] == value, dtype=bool))

    def bounded(self, column: str, bound: Bound) -> BoolArray:
        """Where the cell of ``column`` is such a bound, shape (n,)."""
        if BOUNDS not in self.columns:
            return np.zeros(len(self), dtype=bool)
        wanted = f"{column}:{bound}"
        return np.array([wanted in each.split() for each in self.columns[BOUNDS]], dtype=bool)

    def interval(self, column: str, *, over: float = -np.inf) -> tuple[FloatArray, FloatArray]:
        """Between which values each cell of a number column lies, shape (n,) each; a reading between itself and itself.

        nan: blank, or what never happened. ``over`` is what a value over the instrument's range is at least.
        """
        values = self.columns[column].astype(float)
        above, below, beyond = (self.bounded(column, each) for each in ("above", "below", "over"))
        low = np.where(below, -np.inf, np.where(beyond, over, values))
        high = np.where(above | beyond, np.inf, values)
        never = self.bounded(column, "never")
        return np.where(never, np.nan, low), np.where(never, np.nan, high)


def empty_rows(table: Table) -> Rows:
    """A table without rows."""
    columns: dict[str, NDArray[Any]] = {
        name: np.empty(0, dtype=float if table.kind(name) == "number" else object) for name in table.columns
    }
    return Rows({**columns, "file": np.empty(0, dtype=object), "row": np.empty(0, dtype=np.int64)})
