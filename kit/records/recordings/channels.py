"""A recording's columns as arrays, and places in them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from kit.basis.records import Problem, Status


@dataclass(slots=True)
class RecordingColumns:
    """The columns of a recording, as far as they are there; shape (n,) each. ``bad`` rows are set aside."""

    rows: NDArray[np.int64]
    numbers: dict[str, NDArray[np.float64]]
    time_s: NDArray[np.float64]  # nan: no time
    start: str  # the first time stamp with its zone; "" where the recording has time_s
    bad: NDArray[np.bool_]
    problems: list[Problem] = field(default_factory=list)
    midnights: tuple[int, ...] = ()  # places before which a time of day passed midnight

    @property
    def has_travel(self) -> bool:
        """Whether some column of position or feedback is there."""
        return any(name.startswith(("position_", "feedback_")) for name in self.numbers)

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
    is_open: bool | None = None,
) -> Problem:
    """One problem for neighbouring rows: it stands at the first and names the last.

    ``is_open``: whether it waits for an answer; None: as soon as its rows are set aside.
    """
    first, last = int(rows[place[0]]), int(rows[place[1]])
    where = f"{text} (to row {last})" if last > first else text
    status: Status = "open" if (set_aside if is_open is None else is_open) else "flag"
    return Problem(file, first, column, value, where, "", set_aside, status=status)


def open_problem(file: str, text: str, column: str = "") -> Problem:
    """A whole file, or a column of it, that is not used."""
    return Problem(file, None, column, "", text, status="open")
