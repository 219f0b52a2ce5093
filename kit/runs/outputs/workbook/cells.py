"""Rows of a worksheet written out fast: texts kept once, numbers and dates as such, nothing that runs."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from math import isfinite
from typing import Final
from xml.sax.saxutils import escape

from kit.runs.outputs.csv_tables import RUNS_AS_FORMULA
from kit.runs.outputs.workbook.columns import Column, Kind

Value = str | int | float | None

MOST_ROWS: Final = 1_048_576  # of a worksheet, its headings among them: ECMA-376 names no limit, spreadsheets have this
LONGEST: Final = 32_767  # characters of a cell, in the same way
_CUT: Final = " ... (cut)"
_DAY_ZERO: Final = datetime.date(1899, 12, 30).toordinal()  # from which a spreadsheet counts its days
_BLANK: Final = "<c/>"
_ESCAPED: Final = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")  # what reads as an escape and is none
_NO_XML: Final = re.compile("[\x00-\x08\x0b\x0c\x0d\x0e-\x1f\ufffe\uffff]")


@dataclass(frozen=True, slots=True)
class Styles:
    """Numbers of cell styles: by kind of column, of a heading, of a text that a spreadsheet would run as a formula."""

    kinds: Mapping[Kind, int]
    head: int
    kept_text: int


@dataclass
class Texts:
    """The texts of a workbook, each one once."""

    known: dict[str, int] = field(default_factory=dict)

    def number(self, text: str) -> int:
        return self.known.setdefault(text, len(self.known))

    def xml(self) -> Iterator[str]:
        """The part that holds them, piece by piece."""
        yield '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
        yield f'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" uniqueCount="{len(self.known)}">'
        yield from (f'<si><t xml:space="preserve">{xml_text(text)}</t></si>' for text in self.known)
        yield "</sst>"


def xml_text(text: str) -> str:
    r"""A text as XML can hold it; a sign that it cannot becomes its escape (ECMA-376 part 1, 22.4.2.4).

    Examples
    --------
    >>> xml_text("a<b\x07 _x0041_")
    'a&lt;b_x0007_ _x005F_x0041_'
    """
    kept = text if len(text) <= LONGEST else text[: LONGEST - len(_CUT)] + _CUT
    return escape(_NO_XML.sub(lambda found: f"_x{ord(found[0]):04X}_", _ESCAPED.sub("_x005F_", kept)))


def line_xml(values: Sequence[Value], style: int, texts: Texts, styles: Styles) -> str:
    """A row in one style: headings, or what stands above a table."""
    own = Styles({"text": style, "whole": styles.kinds["whole"]}, style, style)
    kinds: list[Kind] = ["whole" if isinstance(each, int) else "text" for each in values]
    writers = [_writer(each, texts, own, str) for each in kinds]
    return f"<row>{''.join(write(each) for write, each in zip(writers, values, strict=True))}</row>"


def rows_xml(
    rows: Iterable[Sequence[Value]],
    columns: Sequence[Column],
    texts: Texts,
    styles: Styles,
    read: Callable[[str], str] = str,
) -> Iterator[str]:
    """Each row, its cells in the order of ``columns``; ``read``: what a text of ``rows`` says.

    A cell of a column of numbers or dates that holds neither is a text. Each different text of a column is worked out
    once: ten thousand tags have few. Numbers seldom come twice, and are not kept.
    """
    writers = [_writer(each.kind, texts, styles, read) for each in columns]
    for row in rows:
        yield f"<row>{''.join([write(cell) for write, cell in zip(writers, row, strict=True)])}</row>"


def _writer(kind: Kind, texts: Texts, styles: Styles, read: Callable[[str], str]) -> Callable[[Value], str]:
    """What makes the cells of one column of what they hold."""
    other = _Cells(kind, texts, styles, read).__getitem__
    if kind in ("text", "date"):
        return other
    begin = f'<c s="{styles.kinds[kind]}"><v>'

    def write(value: Value) -> str:
        if value == "" or value is None:
            return _BLANK
        try:
            number = isfinite(float(value))
        except ValueError:
            number = False
        return f"{begin}{value}</v></c>" if number else other(value)

    return write


class _Cells(dict[Value, str]):
    """The cells of one column by what they hold: texts, and dates in a column of dates."""

    def __init__(self, kind: Kind, texts: Texts, styles: Styles, read: Callable[[str], str]) -> None:
        super().__init__({None: _BLANK, "": _BLANK})
        self._kind, self._texts, self._styles, self._read = kind, texts, styles, read

    def __missing__(self, value: Value) -> str:
        day = _day(value) if self._kind == "date" else None
        if day is not None:
            cell = f'<c s="{self._styles.kinds["date"]}"><v>{day}</v></c>'
        else:
            text = self._read(str(value))
            style = self._styles.kept_text if text.startswith(RUNS_AS_FORMULA) else self._styles.kinds["text"]
            cell = f'<c s="{style}" t="s"><v>{self._texts.number(text)}</v></c>'
        self[value] = cell
        return cell


def _day(value: Value) -> int | None:
    """A date as a spreadsheet counts its days; None: it is none."""
    try:
        return datetime.date.fromisoformat(str(value)).toordinal() - _DAY_ZERO
    except ValueError:
        return None
