"""Tables with every text ready, and the words that stand for verdicts, stages and checks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from markupsafe import Markup

from kit.assessment.results import CheckResult, StageResult
from kit.assessment.wording import check_words
from kit.basis.checks import CHECKS
from kit.basis.records import TagRecords
from kit.basis.rows import Rows
from kit.basis.verdicts import VERDICT_WORDS
from kit.views.pieces.numbers import NONE, limit_text, uncertainty_text, value_text

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
    """One cell: a text, a line of small print below it, or a verdict."""

    text: str = ""
    small: str = ""
    verdict: Verdict | None = None
    href: str = ""


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

    @property
    def classes(self) -> tuple[Markup, ...]:
        """The class attribute of each column's cells; running text needs none."""
        return tuple(Markup(' class="{}"').format(each.kind) if each.kind else Markup("") for each in self.columns)


@dataclass(frozen=True, slots=True)
class Sheet:
    """A report part that is sentences and tables and no more."""

    name: str
    lines: tuple[str, ...] = ()
    tables: tuple[Table, ...] = ()
    missing: str = ""  # what to say in place of the tables; "" when there is something to show


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


def check_title(result: CheckResult) -> str:
    return check_words(result.check, result.detail)


def check_value(result: CheckResult) -> str:
    """A check's value, rounded and with its unit."""
    check = CHECKS[result.check]
    return value_text(
        result.value,
        check.measure,
        lower=result.lower_limit,
        upper=result.upper_limit,
        expanded_uncertainty=check_uncertainty(result),
        sign=check.signed,
    )


def check_limit(result: CheckResult) -> str:
    """A check's limit in words and signs."""
    return limit_text(result.lower_limit, result.upper_limit, CHECKS[result.check].measure, target=result.target)


def check_uncertainty(result: CheckResult) -> float | None:
    """The expanded uncertainty of a check; None where it has none."""
    return None if result.budget is None else result.budget.expanded_uncertainty


def check_uncertainty_text(result: CheckResult) -> str:
    return uncertainty_text(check_uncertainty(result), CHECKS[result.check].measure)


def stage_word(stage: str) -> str:
    return STAGE_WORDS.get(stage, stage)


def stage_rows(records: TagRecords, name: str, stage: StageResult) -> Rows:
    """One table's rows of one stage; a table that knows no stage belongs to as left."""
    rows = records.tables[name].only("visit", stage.visit)
    if "stage" in rows.columns:
        return rows.only("stage", stage.stage)
    return rows if stage.stage == "as_left" else rows.only("visit", "\0")


def pairs(fields: Mapping[str, str]) -> tuple[tuple[str, str], ...]:
    """Labels and texts, those without a text left out."""
    return tuple((label, text) for label, text in fields.items() if text)


def _column(title: str) -> Column:
    return Column(title[:-1], "n") if title.endswith(":") else Column(title)
