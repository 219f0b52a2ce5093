"""A recording's columns as arrays, and places in them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from kit.basis.records import Problem


@dataclass(slots=True)
class RecordingColumns:
    """The columns of a recording, as far as they are there; shape (n,) each. ``bad`` rows are set aside."""

    rows: NDArray[np.int64]
    numbers: dict[str, NDArray[np.float64]]
    time_s: NDArray[np.float64]  # nan: no time
    start: str  # the first time stamp with its zone; "" where the recording has time_s
    bad: NDArray[np.bool_]
    problems: list[Problem] = field(default_factory=list)

    def __len__(self) -> int:
        return int(self.rows.size)


def extent_problem(
    file: str,
    rows: NDArray[np.int64],
    place: tuple[int, int],
    column: str,
    value: str,
    text: str,
    *,
    set_aside: bool,
) -> Problem:
    """One problem for neighbouring rows: it stands at the first and names the last."""
    first, last = int(rows[place[0]]), int(rows[place[1]])
    where = f"{text} (to row {last})" if last > first else text
    return Problem(file, first, column, value, where, "", set_aside)
