"""Numbers as people type them: decimal commas, units in the cell, placeholders, spreadsheet errors."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.basis.rows import Bound
from kit.basis.tables.columns import Takes
from kit.records.cells.typed_bounds import bound_of, is_open_circuit
from kit.records.files.raw import Cells

DASHES: Final = frozenset({"", "-", "–", "—", "--", "---", "/"})  # what a form has where nothing was to be written
BLANKS: Final = DASHES | frozenset(
    {"?", "n/a", "na", "n.a.", "n.a", "nan", "none", "null", "nil", "nt", "n.t."}
    | {"not tested", "not measured", "not done", "not applicable", "blank"}
)
_CELL: Final = re.compile(r"(?P<body>[+-]?[\d.,]*\d[\d.,]*(?:[eE][+-]?\d+)?)\s*(?P<unit>[^\d\s.,+-].*)?")
_TO_A_SLIP: Final = 8
_THOUSANDS: Final = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")
_COMMA: Final = re.compile(r"[+-]?(?:\d*|\d{1,3}(?:\.\d{3})+),\d+(?:[eE][+-]?\d+)?")
_POINT: Final = re.compile(r"[+-]?(?:\d*|\d{1,3}(?:,\d{3})+)\.\d*(?:[eE][+-]?\d+)?")
_SPACES: Final = str.maketrans(
    {"\u00a0": " ", "\u202f": " ", "\u2007": " ", "\u2009": " ", "\u2212": "-", "\ufeff": ""}
)
UNIT_WORDS: Final[dict[str, frozenset[str]]] = {
    "mA": frozenset({"ma"}),
    "V": frozenset({"v", "volt", "volts", "vdc", "v dc", "vac", "v ac"}),
    "deg": frozenset({"°", "º", "deg", "degree", "degrees"}),
    "mm": frozenset({"mm"}),
    "%": frozenset({"%", "pct", "percent"}),
    "s": frozenset({"s", "sec", "secs", "second", "seconds"}),
    "Ω": frozenset({"ω", "ohm", "ohms"}),
    "°C": frozenset({"°c", "ºc", "c", "degc", "deg c"}),
    "1/h": frozenset({"1/h", "/h"}),
}
_MEGOHM: Final = frozenset({"MΩ", "M\u2126", "MOhm", "Mohm", "Mohms", "MOHM", "megohm", "megohms"})

NOT_A_NUMBER: Final = "{cell!r} is not a number. Enter the number."


@dataclass(frozen=True, slots=True)
class NumberColumn:
    """One column's numbers (nan: blank or faulty), what is wrong with the faulty cells, and the bounds, by position."""

    values: NDArray[np.float64]
    faults: Mapping[int, str]
    bounds: Mapping[int, Bound]


@dataclass(frozen=True, slots=True)
class _Read:
    """One cell: its number (nan: blank; infinite: none that is known), its bound, what is wrong with it."""

    value: float
    bound: Bound | None = None
    fault: str = ""


@dataclass(frozen=True, slots=True)
class _Style:
    """How a column writes its decimals, as far as its own cells and the file's tell."""

    has_comma: bool
    has_point: bool
    file_has_comma: bool

    @property
    def comma_is_decimal(self) -> bool:
        return not self.has_point and (self.has_comma or self.file_has_comma)

    @property
    def point_is_doubtful(self) -> bool:
        return self.has_comma or (self.file_has_comma and not self.has_point)


def clean_text(cell: str) -> str:
    """A cell without what people cannot see: odd blanks, the smart minus, blanks at its ends."""
    return cell.translate(_SPACES).strip()


def read_numbers(
    cells: Mapping[str, Cells], units: Mapping[str, str], *, comma_separated: bool, takes: Mapping[str, Takes]
) -> dict[str, NumberColumn]:
    """Read the number columns of one file together, because one column's decimal commas tell about another's.

    ``takes`` says what else than a number each column takes. A bound stands with its number; an open circuit, a value
    over the range and what never happened are infinite.
    """
    quick = {name: _quick(column) for name, column in cells.items()}
    slow = {name: _unread(column, quick[name]) for name, column in cells.items()}
    styles = _styles(cells, slow, comma_separated)
    read = {
        name: _read_column(column, quick[name], slow[name], styles[name], units[name], takes.get(name, ""))
        for name, column in cells.items()
    }
    return {name: _without_split_decimals(cells[name], one) for name, one in read.items()} if comma_separated else read


def _quick(column: Cells) -> NDArray[np.float64]:
    if column.dtype == float:
        return column.astype(np.float64)
    return np.asarray(pd.to_numeric(pd.Series(column, dtype=object), errors="coerce"), dtype=np.float64)


def _unread(column: Cells, values: NDArray[np.float64]) -> NDArray[np.bool_]:
    filled = ~np.isnan(column) if column.dtype == float else np.asarray(column != "", dtype=bool)
    return np.asarray(filled & ~np.isfinite(values), dtype=bool)


def _styles(
    cells: Mapping[str, Cells], slow: Mapping[str, NDArray[np.bool_]], comma_separated: bool
) -> dict[str, _Style]:
    """Without a comma in any cell nothing is doubtful, and no cell is looked at twice.

    Notes
    -----
    House definition: a mark that stands in an eighth as many cells as the other, or in fewer, is a slip in these, and
    tells nothing of how the others are meant.
    """
    with_comma = {
        name: column.dtype != float and any("," in str(cell) for cell in column[slow[name]])
        for name, column in cells.items()
    }
    if not any(with_comma.values()):
        return {name: _Style(False, False, False) for name in cells}
    marks = {name: _marks(column) for name, column in cells.items()}
    commas, points = sum(each.commas for each in marks.values()), sum(each.points for each in marks.values())
    told = any(each.clear_comma for each in marks.values()) or not comma_separated
    return {name: _Style(*each.usual, told and not _are_slips(commas, points)) for name, each in marks.items()}


@dataclass(slots=True)
class _Marks:
    """How the cells of a column write decimals: how many with each mark, and whether some can only be decimal."""

    commas: int = 0
    points: int = 0
    clear_comma: bool = False
    clear_point: bool = False

    @property
    def usual(self) -> tuple[bool, bool]:
        """Whether decimals have a comma, and whether they have a point, slips apart."""
        commas, points = self.commas, self.points
        return self.clear_comma and not _are_slips(commas, points), self.clear_point and not _are_slips(points, commas)


def _are_slips(few: int, many: int) -> bool:
    return few * _TO_A_SLIP <= many


def _marks(column: Cells) -> _Marks:
    if column.dtype == float:
        return _Marks(points=len(column), clear_point=True)
    found = _Marks()
    for cell in column:
        matched = _CELL.fullmatch(clean_text(cell))
        body = matched["body"] if matched else ""
        found.commas += "," in body
        found.points += "." in body
        if ("," in body or "." in body) and not _THOUSANDS.fullmatch(body):
            found.clear_comma = found.clear_comma or _COMMA.fullmatch(body) is not None
            found.clear_point = found.clear_point or _POINT.fullmatch(body) is not None
    return found


def _read_column(
    column: Cells,
    values: NDArray[np.float64],
    slow: NDArray[np.bool_],
    style: _Style,
    unit: str,
    takes: Takes,
) -> NumberColumn:
    values = values.copy()
    faults: dict[int, str] = {}
    bounds: dict[int, Bound] = {}
    for place in np.flatnonzero(slow).tolist():
        read = _read_cell(str(column[place]), style, unit, takes)
        values[place] = read.value
        if read.fault:
            faults[place] = read.fault
        if read.bound:
            bounds[place] = read.bound
    if style.point_is_doubtful and column.dtype != float:
        for place, cell in enumerate(column.tolist()):
            if "." in cell and _THOUSANDS.fullmatch(cell.strip()):
                values[place] = np.nan
                faults[place] = _doubtful(cell.strip())
    return NumberColumn(values, faults, bounds)


def _without_split_decimals(column: Cells, read: NumberColumn) -> NumberColumn:
    """Set aside what a decimal comma leaves behind where commas separate cells: 12,04 becomes 12 and 04."""
    if column.dtype == float:
        return read
    split = [
        place
        for place, cell in enumerate(column.tolist())
        if cell[:1] == "0" and cell[1:2].isdigit() and cell.isdigit()
    ]
    if not split:
        return read
    values = read.values.copy()
    values[split] = np.nan
    text = "{!r}: a decimal comma seems to have split a number in two. Write a decimal point."
    return NumberColumn(values, {**read.faults, **{place: text.format(column[place]) for place in split}}, read.bounds)


def _read_cell(cell: str, style: _Style, unit: str, takes: Takes) -> _Read:
    text = clean_text(cell)
    if takes == "open_circuit" and is_open_circuit(text):
        return _Read(np.inf)
    bound, rest = bound_of(text, takes)
    if bound in ("over", "never"):
        return _Read(np.inf, bound)
    if text.casefold() in BLANKS or not text:
        return _Read(np.nan)
    found = _CELL.fullmatch(rest if bound else text)
    if found is None:
        return _Read(np.nan, fault=_why_not(text))
    typed = (found["unit"] or "").strip()
    if typed and not any(char.isalpha() or char in "%°" for char in typed):
        return _Read(np.nan, fault=_why_not(text))
    if typed and not _is_own_unit(typed, unit):
        where = f"{typed!r}, the column in {unit or 'no unit'}"
        return _Read(np.nan, fault=f"{text!r} is in {where}. Enter it in the column of its unit.")
    read = _read_body(found["body"], style)
    return _Read(np.nan, fault=read) if isinstance(read, str) else _Read(read, bound)


def _why_not(text: str) -> str:
    if text.startswith("#"):
        return f"{text!r} is a spreadsheet error. Repair the formula or enter what was read."
    if text.startswith("="):
        return "A formula without a stored value. Open the workbook, let it calculate, and save it."
    if text[0] in "<>~≈≤≥±":
        return f"{text!r} is a bound or an estimate, which says nothing certain here. Enter the number."
    if re.match(r"\d{4}-\d{2}-\d{2}", text):
        return f"{text!r} is a date: the spreadsheet turned the reading into one. Enter the reading again as a number."
    return NOT_A_NUMBER.format(cell=text)


def _is_own_unit(found: str, unit: str) -> bool:
    if unit == "MΩ":
        return found in _MEGOHM
    own = "%" if unit.startswith("%") else unit
    return found.casefold() in UNIT_WORDS.get(own, frozenset())


def _read_body(body: str, style: _Style) -> float | str:
    if _THOUSANDS.fullmatch(body):
        decimal = style.comma_is_decimal if "," in body else not style.point_is_doubtful
        return float(body.replace(",", ".")) if decimal else _doubtful(body)
    if _COMMA.fullmatch(body):
        return float(body.replace(".", "").replace(",", "."))
    if _POINT.fullmatch(body):
        return float(body.replace(",", ""))
    try:
        value = float(body)
    except ValueError:
        return NOT_A_NUMBER.format(cell=body)
    return value if np.isfinite(value) else NOT_A_NUMBER.format(cell=body)


def _doubtful(body: str) -> str:
    mark = "comma" if "," in body else "point"
    return (
        f"{body!r} is ambiguous: the {mark} may mark decimals or thousands. "
        "Use one decimal mark throughout the file and none for thousands."
    )
