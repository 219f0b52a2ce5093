"""A table as it stands in a file, before anything is understood."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.tables import TABLES

HEADER_WITHIN: Final = 20  # lines or rows of a file
Cells = NDArray[Any]  # object array of texts, or float array with nan for blank


class UnreadableFileError(ValueError):
    """A file of a unit that cannot be read; the message says why, for a technician."""


class VanishedFileError(UnreadableFileError):
    """A file that was there when the folder was listed, and is gone."""


@dataclass(frozen=True, slots=True)
class FileBytes:
    """A file's content and its SHA-256."""

    name: str  # relative to the unit's folder, with forward slashes
    data: bytes

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.data).hexdigest()


@dataclass(frozen=True, slots=True, eq=False)
class RawTable:
    """Header, cells and row numbers of one sheet or file; wholly blank rows are left out.

    ``row_faults`` names, by position, the rows that cannot be told apart into cells, ``beyond`` all cells of those
    that have more than headings, ``short`` how many cells those have that end before the last heading. ``above`` are
    the filled lines above the headings, each with its number. ``is_field_sheet``: lines as printed are left out, of
    which ``left_blank`` are the rows that were there to be filled in. A table equals nothing but itself.
    """

    header: tuple[str, ...]
    columns: tuple[Cells, ...]
    rows: NDArray[np.int64]
    row_faults: Mapping[int, str] = field(default_factory=dict)
    sheet: str = ""
    hidden: bool = False
    comma_separated: bool = False
    above: tuple[tuple[int, tuple[str, ...]], ...] = ()
    beyond: Mapping[int, tuple[str, ...]] = field(default_factory=dict)
    short: Mapping[int, int] = field(default_factory=dict)
    is_field_sheet: bool = False
    left_blank: tuple[int, ...] = ()

    @property
    def is_blank_form(self) -> bool:
        """Whether it is a field sheet of which nobody filled in a line."""
        return self.is_field_sheet and not len(self) and not self.above

    def __len__(self) -> int:
        return len(self.rows)

    def cut_down(self, places: Sequence[int], columns: Sequence[int]) -> RawTable:
        """The rows and columns at some places, without what stands above or beside them."""
        rows = np.array(places, dtype=np.int64)
        moved = {int(old): new for new, old in enumerate(rows)}
        return replace(
            self,
            header=tuple(self.header[number] for number in columns),
            columns=tuple(self.columns[number][rows] for number in columns),
            rows=self.rows[rows],
            row_faults={moved[place]: text for place, text in self.row_faults.items() if place in moved},
            above=(),
            beyond={},
            short={},
        )


@dataclass(frozen=True, slots=True)
class RawFile:
    """What one file holds, and what must be said about the file as a whole."""

    tables: tuple[RawTable, ...]
    remarks: tuple[str, ...] = ()


def is_blank(cells: Iterable[str]) -> bool:
    """Whether no cell holds anything but blanks."""
    return not any(cell and not cell.isspace() for cell in cells)


def as_texts(cells: Sequence[str]) -> Cells:
    """An object array of texts."""
    column = np.empty(len(cells), dtype=object)
    column[:] = cells
    return column


def header_key(cell: str) -> str:
    """How a column's heading is compared: without surrounding blanks, in any letter case."""
    return cell.replace("\u00a0", " ").replace("\ufeff", "").strip().casefold()


def known_headings() -> frozenset[str]:
    """Every column name of every table, as headings are compared."""
    return frozenset(header_key(column) for table in TABLES.values() for column in table.columns)


def find_header(lines: Sequence[Sequence[str]], known: frozenset[str]) -> int | None:
    """Position of the header: the filled line that names most columns; where none names any, the first."""
    filled = [place for place, line in enumerate(lines) if not is_blank(line)]
    return max(filled, key=lambda place: sum(header_key(cell) in known for cell in lines[place]), default=None)
