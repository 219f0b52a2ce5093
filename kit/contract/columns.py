"""How a column of a table is declared: kind, unit, bounds, allowed words and one sentence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final, Literal

import pandera.pandas as pa

Kind = Literal["number", "text", "word", "date", "time"]
Place = Literal["register", "records", "logs"]

STAGES: Final = ("as_found", "as_left")
YES_NO: Final = ("yes", "no")


@dataclass(frozen=True, slots=True)
class Table:
    """One table of a unit: its pandera schema, and what the readers ask about it."""

    name: str
    place: Place
    schema: pa.DataFrameSchema

    @property
    def columns(self) -> tuple[str, ...]:
        return tuple(self.schema.columns)

    @property
    def description(self) -> str:
        return str(self.schema.description)

    def kind(self, column: str) -> Kind:
        kind: Kind = self._of(column, "kind")
        return kind

    def unit(self, column: str) -> str:
        return str(self._of(column, "unit"))

    def words(self, column: str) -> tuple[str, ...]:
        """The words that a column allows; none for the other kinds."""
        return tuple(self._of(column, "words"))

    def about(self, column: str) -> str:
        return str(self.schema.columns[column].description)

    def is_bold(self, column: str) -> bool:
        """Whether the column must be there."""
        return bool(self._of(column, "bold"))

    def must_be_filled(self, column: str) -> bool:
        """Whether each of the column's cells must hold a value."""
        return bool(self._of(column, "filled"))

    def bounds(self, column: str) -> tuple[float | None, float | None]:
        """Least and greatest possible value; None: not bounded on that side."""
        return self._of(column, "low"), self._of(column, "high")

    @property
    def needed(self) -> tuple[tuple[str, ...], ...]:
        """What a row must bring: each group holds a bold column, or columns of which one is enough."""
        groups: dict[str, list[str]] = {}
        for column in self.columns:
            if self.is_bold(column):
                groups[column] = [column]
            elif self._of(column, "one_of"):
                groups.setdefault(self._of(column, "one_of"), []).append(column)
        return tuple(tuple(group) for group in groups.values())

    def _of(self, column: str, key: str) -> Any:
        return self.schema.columns[column].metadata[key]


def table(name: str, description: str, columns: dict[str, pa.Column], *, place: Place = "records") -> Table:
    """Declare a table."""
    return Table(name, place, pa.DataFrameSchema(columns, name=name, description=description))


def number(
    unit: str,
    description: str,
    low: float | None = None,
    high: float | None = None,
    *,
    bold: bool = False,
    one_of: str = "",
) -> pa.Column:
    """Declare a number in ``unit``. ``one_of`` names a group of columns of which a row needs one."""
    checks = []
    if low is not None:
        checks.append(pa.Check.ge(low))
    if high is not None:
        checks.append(pa.Check.le(high))
    metadata = _metadata("number", bold, unit=unit, low=low, high=high, one_of=one_of)
    return pa.Column(float, checks, nullable=not bold, description=description, metadata=metadata)


def text(description: str, *, bold: bool = False) -> pa.Column:
    """Declare a free text."""
    return _filled("text", description, bold)


def date(description: str, *, bold: bool = False) -> pa.Column:
    """Declare an ISO 8601 date."""
    return _filled("date", description, bold)


def time(description: str, *, bold: bool = False, one_of: str = "") -> pa.Column:
    """Declare an ISO 8601 date or date-time. ``one_of`` names a group of columns of which a row needs one."""
    checks = [pa.Check.ne("")] if bold else []
    return pa.Column(object, checks, description=description, metadata=_metadata("time", bold, one_of=one_of))


def word(words: tuple[str, ...], description: str, *, bold: bool = False, blank: bool = False) -> pa.Column:
    """Declare a column that allows certain words only, in any letter case.

    ``blank`` allows blank cells in a bold column.
    """
    filled = bold and not blank
    allowed = words if filled else (*words, "")
    metadata = _metadata("word", bold, words=words, filled=filled)
    return pa.Column(object, pa.Check.isin(allowed), description=description, metadata=metadata)


def key_columns(*, stage: bool = True) -> dict[str, pa.Column]:
    """Declare what every measurement begins with: tag, visit and, where it has one, stage."""
    columns = {
        "tag": text("The valve, as the register writes it.", bold=True),
        "visit": text("The visit; numbers and dates sort as such.", bold=True),
    }
    if stage:
        columns["stage"] = word(STAGES, "Before or after adjustment; blank means as_left.")
    return columns


def at_column() -> dict[str, pa.Column]:
    """Declare the optional time of a measurement row."""
    return {"at": time("When the row was taken.")}


def _filled(kind: Kind, description: str, bold: bool) -> pa.Column:
    checks = [pa.Check.ne("")] if bold else []
    return pa.Column(object, checks, description=description, metadata=_metadata(kind, bold))


def _metadata(kind: Kind, bold: bool, **further: Any) -> dict[str, Any]:
    blank = {"unit": "", "low": None, "high": None, "words": (), "one_of": ""}
    return {**blank, "kind": kind, "bold": bold, "filled": bold, **further}
