"""The sheet's own rules: formulas that say at once, offline, that a typed value lies beyond its limit.

A formula names the columns of its row in braces, ``{command_mA}``; whoever lays the sheet out puts the cells in. They
are a help while somebody stands at the valve: the verdict, with its uncertainty, is the report's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from kit.assessment.conformity import Tolerance
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange

OUT: Final = "OUT"  # how the text of a value beyond its limit begins
_UNCLEAR: Final = "see report"  # the cell holds no plain number: the report may well read it
_ROUNDED_TO: Final = 6  # decimals; what binary rounding adds moves no value beyond its limit


def in_pct(column: str, signal: SignalRange | None) -> str:
    """A cell of a signal as % of its range; one that is in % already as it stands."""
    if signal is None:
        return f"{{{column}}}"
    return f"(({{{column}}}-{_number(signal.low)})/{_number(signal.span)}*100)"


def travel_pct(column: str, tag: Tag) -> str:
    """A cell of a position as % of travel."""
    if not tag.travel or column.endswith("_pct"):
        return f"{{{column}}}"
    return f"({{{column}}}/{_number(tag.travel)}*100)"


def ideal(command_pct: str, tag: Tag) -> str:
    """Position that a command asks for, both in %, as :func:`kit.calculations.signal.ideal_position_pct` has it."""
    turned = f"(100-{command_pct})" if tag.action == "reverse" else command_pct
    asked = f"MAX(0,MIN(100,{turned}))"
    if tag.characteristic == "equal_percentage":
        asked = f"(100*POWER({_number(tag.rangeability)},{asked}/100-1))"
    if tag.open_above_pct is not None:
        asked = f"IF(ROUND({turned},{_ROUNDED_TO})>{_number(tag.open_above_pct)},100,{asked})"
    if tag.shut_below_pct is not None:
        asked = f"IF(ROUND({turned},{_ROUNDED_TO})<{_number(tag.shut_below_pct)},0,{asked})"
    return asked


def told(value: str, columns: Iterable[str], tolerance: Tolerance | None, unit: str, name: str = "") -> str:
    """A text of a value in a row: nothing while one of its cells is blank, OUT before it beyond its limit."""
    blank = ",".join(f'{{{column}}}=""' for column in columns)
    beyond = ",".join(_beyond(value, tolerance))
    word = f'IF(OR({beyond}),"{OUT}: ","")&' if beyond else ""
    before = f'"{name} "&' if name else ""
    return f'IF(OR({blank}),"",IFERROR({word}{before}ROUND({value},2)&" {unit}","{_UNCLEAR}"))'


def formula(texts: Sequence[str]) -> str:
    """Several texts of a row as one formula; those that say OUT say it wherever they stand."""
    joined = '&" "&'.join(texts)
    return f"=TRIM({joined})" if texts else ""


def count(now: str) -> int:
    """How many texts a formula may show at once."""
    return now.count("IFERROR(")


def _beyond(value: str, tolerance: Tolerance | None) -> list[str]:
    if tolerance is None:
        return []
    sides = (("<", tolerance.lower), (">", tolerance.upper))
    return [f"ROUND({value},{_ROUNDED_TO}){sign}{_number(limit)}" for sign, limit in sides if limit is not None]


def _number(value: float) -> str:
    return f"{value:.12g}"
