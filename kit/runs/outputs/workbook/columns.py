"""What the columns of the workbook hold, and how wide they stand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final, Literal

Kind = Literal["text", "whole", "number", "share", "ratio", "chance", "date"]

FORMATS: Final[dict[Kind, str]] = {
    "text": "General",  # shown as it stands: the cell itself is a text, which no format has to make one
    "whole": "0",
    "number": "0.000",
    "share": "0.0",
    "ratio": "0.0",
    "chance": "0.0000",
    "date": "yyyy-mm-dd",
}
_KINDS: Final[dict[str, Kind]] = {
    **dict.fromkeys(("row", "open_records", "tags", "uses", "tested", "judged", "passed", "failed"), "whole"),
    **dict.fromkeys(("conditional", "conditional_failed", "incomplete", "items", "visits_as_left"), "whole"),
    **dict.fromkeys(("value", "lower_limit", "upper_limit", "expanded_uncertainty", "coverage_factor"), "number"),
    **dict.fromkeys(("range_low", "range_high", "accuracy_pct_reading", "accuracy_pct_range"), "number"),
    **dict.fromkeys(("accuracy_fixed", "resolution"), "number"),
    **dict.fromkeys(("date", "issued_on", "calibrated_on", "due_on", "on", "closed_on"), "date"),
    "due_proposed_on": "date",
    **dict.fromkeys(("share_pct", "median_pct", "upper_pct", "greatest_pct", "expected"), "share"),
    "tur": "ratio",
    **dict.fromkeys(("p_conformity", "probability"), "chance"),
}
_WIDTHS: Final = {  # characters
    **dict.fromkeys(("reason", "evidence", "suggested_action", "problem", "what", "method", "faults", "cause"), 60),
    **dict.fromkeys(("no_day_because", "stale_checks", "failing"), 60),
    **dict.fromkeys(("limit_source", "report", "place", "remark"), 34),
    **dict.fromkeys(("service", "file", "description", "instruments", "used_for"), 28),
    **dict.fromkeys(("check", "worst_check", "value (typed)", "detail", "measure"), 20),
    **dict.fromkeys(("stage", "visit", "row", "category", "status", "set_aside"), 10),
}
_WIDTH: Final = 15
_NUMBER_IS_TEXT: Final = frozenset({"problems", "open records"})  # there a value is the cell as somebody typed it


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its heading, its kind, its width in characters."""

    name: str
    kind: Kind
    width: int


def columns(sheet: str, names: Iterable[str], own: Iterable[str] = ()) -> tuple[Column, ...]:
    """The columns of a sheet; ``own`` are the register's, whose cells stay texts whatever they are called.

    Examples
    --------
    >>> [each.kind for each in columns("problems", ("tag", "row", "value"))]
    ['text', 'whole', 'text']
    """
    left = frozenset(own)

    def kind(name: str) -> Kind:
        if name in left or (name == "value" and sheet in _NUMBER_IS_TEXT):
            return "text"
        return _KINDS.get(name, "text")

    return tuple(Column(name, kind(name), _WIDTHS.get(name, _WIDTH)) for name in names)
