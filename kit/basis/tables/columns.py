"""How a column of a table is declared: kind, unit, bounds, allowed words and one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

Kind = Literal["number", "text", "word", "date", "time"]
Place = Literal["register", "records", "logs"]
Takes = Literal[
    "",
    "bounds",  # > 60, < 0.1
    "no_arrival",  # these, and did not open, no movement
    "no_make",  # these, and did not make
    "over_range",  # these, and OL: over the instrument's range
    "open_circuit",  # OL or open alone: an open circuit
]

STAGES: Final = ("as_found", "as_left")
YES_NO: Final = ("yes", "no")


@dataclass(frozen=True, slots=True)
class Column:
    """One column. Its pandera form is made in ``schemas.py``, where a table is validated."""

    kind: Kind
    description: str
    bold: bool  # whether the column must be there
    filled: bool  # whether each of its cells must hold a value
    unit: str = ""
    low: float | None = None  # least possible value; None: not bounded
    high: float | None = None
    words: tuple[str, ...] = ()  # the words that it allows
    one_of: str = ""  # names a group of columns of which a row needs one
    blank: str = ""  # what a blank cell means, where it means more than that nothing was recorded
    usual: tuple[float, float] | None = None  # a value beyond is used and flagged
    takes: Takes = ""  # what else than a number says something certain in it


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """One table of a unit: its columns, and what the readers ask about them."""

    name: str
    place: Place
    description: str
    declared: Mapping[str, Column]
    is_test: bool = False  # whether a limit set may ask for it
    parts_by: str = ""  # the column by whose words a limit set may ask for a part of it

    @property
    def tests(self) -> tuple[str, ...]:
        """What a limit set may ask for: the table, and each of its parts, such as "strokes:open"."""
        if not self.is_test:
            return ()
        parts = self.words(self.parts_by) if self.parts_by else ()
        return self.name, *(f"{self.name}:{part}" for part in parts)

    @property
    def columns(self) -> tuple[str, ...]:
        return tuple(self.declared)

    def kind(self, column: str) -> Kind:
        return self.declared[column].kind

    def unit(self, column: str) -> str:
        return self.declared[column].unit

    def words(self, column: str) -> tuple[str, ...]:
        """The words that a column allows; none for the other kinds."""
        return self.declared[column].words

    def blank(self, column: str) -> str:
        """What a blank cell of the column means."""
        return self.declared[column].blank

    def about(self, column: str) -> str:
        return self.declared[column].description

    def is_bold(self, column: str) -> bool:
        """Whether the column must be there."""
        return self.declared[column].bold

    def bounds(self, column: str) -> tuple[float | None, float | None]:
        """Least and greatest possible value; None: not bounded on that side."""
        return self.declared[column].low, self.declared[column].high

    def usual(self, column: str) -> tuple[float, float] | None:
        """Between which values a column usually lies; beyond them it is used and flagged. None: nothing is unusual."""
        return self.declared[column].usual

    def takes(self, column: str) -> Takes:
        """What else than a number says something certain in a column."""
        return self.declared[column].takes

    @property
    def needed(self) -> tuple[tuple[str, ...], ...]:
        """What a row must bring: each group holds a bold column, or columns of which one is enough."""
        groups: dict[str, list[str]] = {}
        for column in self.columns:
            if self.is_bold(column):
                groups[column] = [column]
            elif self.declared[column].one_of:
                groups.setdefault(self.declared[column].one_of, []).append(column)
        return tuple(tuple(group) for group in groups.values())


def table(
    name: str,
    description: str,
    columns: dict[str, Column],
    *,
    place: Place = "records",
    is_test: bool = False,
    parts_by: str = "",
) -> Table:
    """Declare a table. ``is_test``: a limit set may ask for it, or by ``parts_by`` for a part of it."""
    return Table(name, place, description, columns, is_test or bool(parts_by), parts_by)


def number(
    unit: str,
    description: str,
    low: float | None = None,
    high: float | None = None,
    *,
    bold: bool = False,
    one_of: str = "",
    usual: tuple[float, float] | None = None,
    takes: Takes = "",
) -> Column:
    """Declare a number in ``unit``. ``one_of`` names a group of columns of which a row needs one.

    ``low`` and ``high`` are the least and greatest value that an instrument could show; ``usual`` says beyond which
    values it is flagged; ``takes`` what else is understood.
    """
    return Column(
        "number", description, bold, bold, unit=unit, low=low, high=high, one_of=one_of, usual=usual, takes=takes
    )


def text(description: str, *, bold: bool = False) -> Column:
    """Declare a free text."""
    return Column("text", description, bold, bold)


def date(description: str, *, bold: bool = False) -> Column:
    """Declare an ISO 8601 date."""
    return Column("date", description, bold, bold)


def time(description: str, *, bold: bool = False, one_of: str = "") -> Column:
    """Declare an ISO 8601 date or date-time. ``one_of`` names a group of columns of which a row needs one."""
    return Column("time", description, bold, bold, one_of=one_of)


def word(words: tuple[str, ...], description: str, *, bold: bool = False, blank: bool = False) -> Column:
    """Declare a column that allows certain words only, in any letter case.

    ``blank`` allows blank cells in a bold column.
    """
    return Column("word", description, bold, bold and not blank, words=words)


def blank_means(column: Column, meaning: str) -> Column:
    """The column with what a blank cell of it means; that is fixed here and is no inference."""
    return replace(column, blank=meaning)


def key_columns(*, stage: bool = True) -> dict[str, Column]:
    """Declare what every measurement begins with: tag, visit and, where it has one, stage."""
    columns = {
        "tag": text("The valve, as the register writes it.", bold=True),
        "visit": text("The visit, as visits calls it.", bold=True),
    }
    if stage:
        columns["stage"] = blank_means(word(STAGES, "Before or after adjustment."), "as_left")
    return columns


def at_column() -> dict[str, Column]:
    """Declare the optional time of a measurement row."""
    return {"at": time("When the row was taken.")}
