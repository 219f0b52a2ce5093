"""Tables with every text ready, and the words that stand for verdicts, stages and tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from kit.basis.verdicts import VERDICT_WORDS
from kit.views.pieces.numbers import NONE

STAGE_WORDS: Final = {"as_left": "as left", "as_found": "as found"}
TABLE_WORDS: Final = {
    "readings": "Readings",
    "strokes": "Strokes",
    "fail_tests": "Fail tests",
    "switches": "Switches",
    "potentiometer": "Potentiometer",
    "electrical": "Electrical",
    "loop_checks": "Loop checks",
    "prechecks": "Prechecks",
}


@dataclass(frozen=True, slots=True)
class Verdict:
    """A verdict as it is printed: a word, and a class that gives it its mark and its weight."""

    word: str
    kind: str


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell: a text, a line of small print below it, or a verdict; ``ways`` lead on, each a word and an address.

    ``names`` stand before the text, each a word and the address that it leads to, on paper too.
    ``view`` is the view of the unit's list of tags that scripts show where ``href`` leads.
    The anchor of a row is that of its first cell.
    """

    text: str = ""
    small: str = ""
    verdict: Verdict | None = None
    href: str = ""
    view: str = ""
    anchor: str = ""
    ways: tuple[tuple[str, str], ...] = ()
    names: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Column:
    title: str
    kind: str = ""  # "n": numbers, "word": verdicts, "fixed": dates and names that do not break, "": running text


@dataclass(frozen=True, slots=True)
class Table:
    """A table, ready to be placed."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]
    kind: str = ""
    notes: tuple[str, ...] = ()
    notes_anchor: str = ""

    @property
    def kinds(self) -> str:
        """The classes of the table: its kind, and which of its columns hold numbers: "wide n2 n5"."""
        numbers = (f"n{count}" for count, each in enumerate(self.columns, start=1) if each.kind == "n")
        return " ".join((*([self.kind] if self.kind else []), *numbers))

    @property
    def tags(self) -> tuple[tuple[Markup, Markup], ...]:
        """What opens and what closes each column's cells: the first one is the head of its row.

        Numbers need no class of their own: the table's say which columns hold them.
        """
        kinds = ["" if each.kind == "n" else each.kind for each in self.columns]
        classes = [Markup(' class="{}"').format(each) if each else Markup("") for each in kinds]
        heads = [(Markup('<th{} scope="row">').format(each), Markup("</th>")) for each in classes[:1]]
        return (*heads, *((Markup("<td{}>").format(each), Markup("</td>")) for each in classes[1:]))


def table(
    caption: str,
    columns: Sequence[str] | Sequence[str | Column],
    rows: Iterable[Sequence[str] | Sequence[str | Cell]],
    *notes: str,
    kind: str = "",
) -> Table:
    """A table from plain texts. A column title that ends in a colon holds numbers: the colon is dropped."""
    return Table(
        caption,
        tuple(column if isinstance(column, Column) else _column(column) for column in columns),
        tuple(tuple(cell if isinstance(cell, Cell) else Cell(cell or NONE) for cell in row) for row in rows),
        kind,
        tuple(note for note in notes if note),
    )


def verdict_of(name: str) -> Verdict:
    """The printed verdict for a verdict's name; "" is a tag whose report failed."""
    return Verdict(VERDICT_WORDS.get(name, "No verdict"), name.replace("_", "-") or "no-verdict")


def verdict_cell(name: str) -> Cell:
    return Cell(verdict=verdict_of(name))


def stage_word(stage: str) -> str:
    return STAGE_WORDS.get(stage, stage)


def pairs(fields: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Labels and texts, those without a text left out."""
    return tuple((label, text) for label, text in fields.items() if text)


def _column(title: str) -> Column:
    return Column(title[:-1], "n") if title.endswith(":") else Column(title)
