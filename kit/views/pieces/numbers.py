"""Numbers as a page prints them: decimals, signs and units."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import Final

MINUS: Final = "\u2212"
NONE: Final = "\u2013"  # stands in a cell that has no value

_UNITS: Final[dict[str, str]] = {
    "% of travel": "%",
    "% of travel span": "%",
    "% of track": "%",
    "% of nominal": "%",
    "% of idle": "%",
    "count": "",
    "deg": "°",
    "ohm": "Ω",
}
_DECIMALS: Final[dict[str, int]] = {"%": 2, "s": 1, "V": 2, "MΩ": 1, "Ω": 2, "1/h": 1, "%/%": 3, "": 0}
MOST_DECIMALS: Final = 9
_NEGATIVE_ZERO: Final = re.compile(r"(?<![\w.\-])-(?=0(?:\.0+)?(?![\d.]))")
_NEGATIVE: Final = re.compile(r"(?<![\w.\-])-(?=\d)")


def unit_of(measure: str) -> str:
    """The short unit of a check's measure, as it stands beside a number.

    Examples
    --------
    >>> unit_of("% of travel span"), unit_of("s")
    ('%', 's')
    """
    return _UNITS.get(measure, measure)


def decimals_for(measure: str, expanded_uncertainty: float | None) -> int:
    """Decimals to print: two significant digits of the uncertainty, else a fixed number for the unit.

    Negative: tens (-1), hundreds (-2) and so on. House definition; two digits after JCGM 100:2008, 7.2.6.

    Examples
    --------
    >>> decimals_for("s", 0.21), decimals_for("s", None), decimals_for("MΩ", 153.0)
    (2, 1, -1)
    """
    if not expanded_uncertainty or not math.isfinite(expanded_uncertainty):
        return _DECIMALS.get(unit_of(measure), 2)
    leading = math.floor(math.log10(abs(float(f"{expanded_uncertainty:.1e}"))))
    return min(1 - leading, MOST_DECIMALS)


def number(value: float | None, decimals: int, *, sign: bool = False) -> str:
    """A number with so many decimals and a true minus sign; no value is a dash.

    Examples
    --------
    >>> number(-0.4149, 2), number(0.4, 1, sign=True), number(-0.001, 1), number(None, 1)
    ('−0.41', '+0.4', '0.0', '–')
    """
    if value is None or math.isnan(value):
        return NONE
    if math.isinf(value):
        return f"{MINUS if value < 0 else ''}∞"
    text = f"{round(value, decimals):.{max(decimals, 0)}f}"
    if not text.strip("-0."):
        return text.lstrip("-")
    return text.replace("-", MINUS) if value < 0 else f"{'+' if sign else ''}{text}"


def plain(value: float | None) -> str:
    """A number as a person wrote it: ten significant digits at most, no trailing zeros.

    Examples
    --------
    >>> plain(16.500000000000004), plain(-250.0), plain(float("nan"))
    ('16.5', '−250', '–')
    """
    if value is None or math.isnan(value):
        return NONE
    return ("∞" if value == math.inf else f"{value:.10g}").replace("-", MINUS)


def significant(value: float, digits: int = 3) -> str:
    """A number to so many significant digits, written out without a power of ten.

    Examples
    --------
    >>> significant(0.0054321), significant(5182340.0), significant(-2.0), significant(0.0)
    ('0.00543', '5180000', '−2.00', '0')
    """
    if value == 0 or not math.isfinite(value):
        return plain(value)
    decimals = digits - 1 - math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}"))))
    return number(value, min(decimals, 12))


def range_text(values: Sequence[float], decimals: int, unit: str = "") -> str:
    """Several values as the place or the range where they lie; none are a dash.

    Examples
    --------
    >>> range_text([0.5, 0.61], 2), range_text([1.0, 1.001], 2, "%"), range_text([], 2)
    ('0.50 to 0.61', '1.00 %', '–')
    """
    if not values:
        return NONE
    low, high = number(min(values), decimals), number(max(values), decimals)
    return with_unit(low if low == high else f"{low} to {high}", unit)


def signed(text: str) -> str:
    """A sentence with true minus signs before its numbers; hyphens between words and digits stay.

    Examples
    --------
    >>> signed("stop at -0.6 %, visit 2026-03-02, range 4-20 mA")
    'stop at −0.6 %, visit 2026-03-02, range 4-20 mA'
    >>> signed("-0.0 % command"), signed("-0.04 %")
    ('0.0 % command', '−0.04 %')
    """
    return _NEGATIVE.sub(MINUS, _NEGATIVE_ZERO.sub("", text))


def sentence_case(text: str) -> str:
    """A text that begins a sentence, with true minus signs; without the full stop.

    Examples
    --------
    >>> sentence_case("no instrument named")
    'No instrument named'
    """
    return signed(text[:1].upper() + text[1:])


def with_unit(text: str, unit: str) -> str:
    """A printed number and its unit, kept together by a space that does not break."""
    if not unit or text == NONE:
        return text
    return f"{text}{unit}" if unit == "°" else f"{text} {unit}"
