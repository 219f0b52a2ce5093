"""A table being read: its columns so far, which rows have been set aside and why, what is open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

from kit.basis.records import Problem, RowCount, Scope, Status
from kit.basis.tables.columns import Table
from kit.basis.verdicts import Stage
from kit.records.files.raw import Cells
from kit.records.files.workbooks import cell_text

Mask = NDArray[np.bool_]

# Rows that so much hangs on are kept with a cell that cannot be read, as long as these can.
_KEPT_BY: Final[Mapping[str, frozenset[str]]] = {
    "tags": frozenset({"tag"}),
    "instruments": frozenset({"instrument", "measures"}),
    "visits": frozenset({"tag", "visit"}),
}
# What the rows of a table feed, where that is not the checks of their own table; "": every check.
FEEDS: Final = {"tags": "", "visits": "", "adjustments": "", "settings": "strokes", "segments": "logs"}
BOUND_TO_NO_TAG: Final = frozenset({"instruments", "dispositions", "punch"})
_OF_THE_WHOLE_TAG: Final = frozenset({"tags", "visits"})
_GRAVITY: Final[Mapping[Status, int]] = {"flag": 0, "answered": 0, "blank": 1, "open": 2}
NOT_KNOWN: Final = "It is taken as not known."


@dataclass(frozen=True, slots=True)
class _Fault:
    place: int | None  # None: the file as a whole
    column: str
    value: str
    text: str
    set_aside: bool
    status: Status
    columns: tuple[str, ...] = ()  # what an open fault could have fed; (): the whole row
    is_doubt: bool = False  # of a flag: a value that is used all the same is in question
    tag: str = ""  # whose page tells what is said of the file as a whole; "": nobody's

    def is_graver_than(self, other: _Fault) -> bool:
        return (_GRAVITY[self.status], self.set_aside) > (_GRAVITY[other.status], other.set_aside)


@dataclass(slots=True)
class Draft:
    """One file's rows of one table. ``bad`` marks the rows that are set aside."""

    file: str
    table: Table
    rows: NDArray[np.int64]
    values: dict[str, NDArray[Any]]
    originals: dict[str, Cells]
    sheet: str = ""
    bad: Mask = field(default_factory=lambda: np.zeros(0, dtype=bool))
    faults: list[_Fault] = field(default_factory=list)
    flagged: dict[tuple[int, str], int] = field(default_factory=dict)  # which fault a cell has
    raw: tuple[Cells, ...] = ()  # every column of the file, those not read included
    beyond: Mapping[int, tuple[str, ...]] = field(default_factory=dict)  # all cells of rows with more than headings

    def __len__(self) -> int:
        return len(self.rows)

    def copy(self) -> Draft:
        """A draft that may be held against more without this one being told."""
        return replace(
            self,
            values={name: cells.copy() for name, cells in self.values.items()},
            bad=self.bad.copy(),
            faults=list(self.faults),
            flagged=dict(self.flagged),
        )

    def set_aside(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Set rows aside for a fault in ``column``; they are open. A cell's first fault is the one that is told."""
        for place in _places(places):
            self.bad[place] = True
            self._tell(place, column, text, set_aside=True, status="open")

    def read_once(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Set rows aside that say nothing but what another, used one says: nothing is open for them."""
        for place in _places(places):
            self.bad[place] = True
            self._tell(place, column, text, set_aside=True, status="flag")

    def leave_open(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Say that rows are used and open all the same: a cell of theirs is not known."""
        for place in _places(places):
            self._tell(place, column, text, set_aside=False, status="open")

    def lacks(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Say that used rows lack a cell: open where a check with a limit needs it."""
        for place in _places(places):
            self._tell(place, column, text, set_aside=False, status="blank", columns=(column,))

    def flag(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Say what is odd about rows that are used all the same."""
        for place in _places(places):
            self._tell(place, column, text, set_aside=False, status="flag")

    def doubt(self, places: Mask | Iterable[int], column: str, text: str | Mapping[int, str]) -> None:
        """Flag cells, or with column "" rows, that are used as they stand: what is made of them says so."""
        columns = (column,) if column else ()
        for place in _places(places):
            self._tell(place, column, text, set_aside=False, status="flag", columns=columns, is_doubt=True)

    def say(self, text: str, column: str = "", tag: str = "") -> None:
        """Say something about the file as a whole; ``tag``: on the page of that tag too."""
        self.faults.append(_Fault(None, column, "", text, False, "flag", tag=tag))

    def say_open(self, text: str, column: str = "", columns: tuple[str, ...] = ()) -> None:
        """Say what is open about all rows of the file: ``columns`` are those that it could have filled."""
        self.faults.append(_Fault(None, column, "", text, False, "open", columns))

    def is_faulty(self, column: str) -> Mask:
        """Where a cell of ``column`` has been told of already."""
        mask = np.zeros(len(self), dtype=bool)
        mask[[place for place, name in self.flagged if name == column]] = True
        return mask

    def filled(self, column: str) -> Mask:
        """Where ``column`` holds a value."""
        values = self.values[column]
        return ~np.isnan(values) if values.dtype == float else np.asarray(values != "", dtype=bool)

    def not_known(self, place: int) -> tuple[str, ...]:
        """The columns whose cell in this row is open."""
        found = (fault for fault in self.faults if fault.place == place and fault.status == "open")
        return tuple(fault.column for fault in found)

    def problems(self) -> list[Problem]:
        """What has been said so far, with each row's tag; what is open, with its scope."""
        where = f"Sheet {self.sheet}: " if self.sheet else ""
        return [
            Problem(
                self.file,
                None if fault.place is None else int(self.rows[fault.place]),
                fault.column,
                fault.value,
                where + fault.text,
                fault.tag if fault.place is None else self._known("tag", fault.place),
                fault.set_aside,
                self.table.name,
                status=fault.status,
                scope=self._scope(fault) if fault.status in ("open", "blank") or fault.is_doubt else None,
            )
            for fault in self.faults
        ]

    def texts_of(self, place: int) -> tuple[str, ...]:
        """All cells of a row as they stand in the file, in the order of its headings, those not read included."""
        return self.beyond.get(place) or tuple(_text(cells[place]) for cells in self.raw)

    def place_of(self, row: int) -> int:
        """The place of a row that the file counts as ``row``."""
        return int(np.searchsorted(self.rows, row))

    def written(self, column: str, place: int) -> str:
        """A cell as it stands in the file; "" where the file has no such column."""
        cells = self.originals.get(column)
        return "" if cells is None else _text(cells[place])

    def _scope(self, fault: _Fault) -> Scope:
        """What a fault could have fed, as far as its row can be read; what cannot be read is left blank."""
        table = FEEDS.get(self.table.name, self.table.name)
        if self.table.name in BOUND_TO_NO_TAG:
            return Scope()
        if fault.place is None:
            tags = {str(tag) for tag in self.values.get("tag", ()) if tag}
            return Scope(tuple(sorted(tags)), table=table, columns=fault.columns)
        tag = self._known("tag", fault.place)
        tags_of = (tag,) if tag else ()
        if self.table.name in _OF_THE_WHOLE_TAG:
            return Scope(tags_of)
        return Scope(tags_of, self._known("visit", fault.place), self._stage(fault.place), table, fault.columns)

    def _stage(self, place: int) -> Stage | Literal[""]:
        """The stage of a row; "" where nobody can say, or where its cells may stand in each other's place."""
        if "stage" not in self.table.columns or (place, "stage") in self.flagged or (place, "") in self.flagged:
            return ""
        return "as_found" if self._known("stage", place) == "as_found" else "as_left"

    def _known(self, column: str, place: int) -> str:
        return str(self.values[column][place]) if column in self.values else ""

    def count(self) -> RowCount:
        aside = int(self.bad.sum())
        return RowCount(self.file, self.table.name, len(self), len(self) - aside, aside)

    def _tell(
        self,
        place: int,
        column: str,
        text: str | Mapping[int, str],
        *,
        set_aside: bool,
        status: Status,
        columns: tuple[str, ...] = (),
        is_doubt: bool = False,
    ) -> None:
        told = text if isinstance(text, str) else text[place]
        fault = _Fault(place, column, self.written(column, place), told, set_aside, status, columns, is_doubt)
        number = self.flagged.setdefault((place, column), len(self.faults))
        if number == len(self.faults):
            self.faults.append(fault)
        elif fault.is_graver_than(self.faults[number]):
            self.faults[number] = fault


def _text(cell: Any) -> str:
    if isinstance(cell, float):
        return "" if np.isnan(cell) else cell_text(float(cell))
    return str(cell)


def costs_the_row(table: Table, column: str) -> bool:
    """Whether a row of ``table`` is of no use without this cell."""
    kept_by = _KEPT_BY.get(table.name)
    return kept_by is None or column in kept_by


def _places(places: Mask | Iterable[int]) -> list[int]:
    if isinstance(places, np.ndarray) and places.dtype == bool:
        return [int(place) for place in np.flatnonzero(places)]
    return [int(place) for place in places]
