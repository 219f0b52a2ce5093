"""What a reader can look for in a long table, and choose its rows by; the view stands in the page's address."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final, Generic, Literal, NamedTuple, TypeVar

Row = TypeVar("Row")
Match = Literal["is", "has", "at", "state", "place"]

ROWS_AT_ONCE: Final = 300  # what a browser lays out without delay; tables.js has the same number
NONE_CODE: Final = "-"


@dataclass(frozen=True, slots=True)
class Option:
    """One choice: its name in the address, its words, and the code that rows carry for it."""

    value: str
    words: str
    code: str


@dataclass(frozen=True, slots=True)
class Choice:
    """A field to choose rows by, and how the code of an option is held against what a row carries.

    ``is``: the row's code is this one. ``has``: it is among the row's codes. ``at``: it is the row's code at the place
    ``at``. ``place`` and ``state`` go together: a row carries one sign a place; a place alone asks for any sign there,
    a state alone for that sign at any place.
    """

    name: str
    label: str
    of: str  # what a row carries the codes as
    match: Match
    options: tuple[Option, ...]
    at: int = 0
    words: bool = False  # its words, whole, choose it when they are looked for


@dataclass(frozen=True, slots=True)
class Panel:
    """The fields above a table."""

    table: str
    title: str
    rows: str  # what a row is, in the plural
    total: int
    prefix: str = ""  # of the fields' names in the address
    choices: tuple[Choice, ...] = ()
    within: str = ""  # the cell whose text is looked through; "": all of the row's


class Rows(NamedTuple, Generic[Row]):
    """The rows of a long table: those that a browser lays out at once, and the rest."""

    first: tuple[Row, ...]
    rest: tuple[Row, ...]


def split(rows: Sequence[Row]) -> Rows[Row]:
    return Rows(tuple(rows[:ROWS_AT_ONCE]), tuple(rows[ROWS_AT_ONCE:]))


def choice(
    name: str,
    label: str,
    of: str,
    match: Match,
    values: Iterable[tuple[str, str]],
    *,
    at: int = 0,
    words: bool = False,
    mark: str = "",
) -> Choice:
    """A field of values and their words, numbered in their order; ``mark``: before each number, where fields share."""
    options = tuple(Option(value, said, f"{mark}{code}") for code, (value, said) in enumerate(values))
    return Choice(name, label, of, match, options, at, words)


def codes(field: Choice) -> dict[str, str]:
    """The code of each value."""
    return {each.value: each.code for each in field.options}
