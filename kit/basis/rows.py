"""A few rows of one table, by column: what is handed from the readers to the calculations."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from kit.basis.tables.columns import Table


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of one table. Every column of the table's schema is there.

    Numbers are float arrays (nan: blank cell), texts object arrays ("": blank cell). The columns
    ``file`` and ``row`` say where each row stands, as a person counts rows in that file.
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


def empty_rows(table: Table) -> Rows:
    """A table without rows."""
    columns: dict[str, NDArray[Any]] = {
        name: np.empty(0, dtype=float if table.kind(name) == "number" else object) for name in table.columns
    }
    return Rows({**columns, "file": np.empty(0, dtype=object), "row": np.empty(0, dtype=np.int64)})
