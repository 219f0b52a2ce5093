"""Numbers as a page prints them: rounded to what the uncertainty supports, never across a limit."""

from __future__ import annotations

import math
import re
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
}
_DECIMALS: Final[dict[str, int]] = {"%": 2, "s": 1, "V": 2, "MΩ": 1, "Ω": 2, "1/h": 1, "%/%": 3, "": 0}
_MOST_DECIMALS: Final = 9
_ROUNDING: Final = 1e-9
_GIVEN_DECIMALS: Final = 4
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
    return min(1 - leading, _MOST_DECIMALS)


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


def value_text(
    value: float | None,
    measure: str,
    *,
    lower: float | None = None,
    upper: float | None = None,
    expanded_uncertainty: float | None = None,
    sign: bool = False,
) -> str:
    """A value of a check, rounded as its uncertainty allows, on the side of its limits where it lies.

    Rounding that would carry the value across a limit, or from outside onto it, takes more decimals.

    Examples
    --------
    >>> value_text(1.5004, "% of travel span", lower=-1.5, upper=1.5, expanded_uncertainty=0.21)
    '1.5004 %'
    >>> value_text(1.4996, "% of travel span", lower=-1.5, upper=1.5, expanded_uncertainty=0.21)
    '1.50 %'
    """
    if value is None:
        return NONE
    decimals = decimals_for(measure, expanded_uncertainty)
    while decimals < _MOST_DECIMALS and _side(round(value, decimals), lower, upper) != _side(value, lower, upper):
        decimals += 1
    return with_unit(number(value, decimals, sign=sign), unit_of(measure))


def uncertainty_text(expanded_uncertainty: float | None, measure: str) -> str:
    """An expanded uncertainty to two significant digits.

    Examples
    --------
    >>> uncertainty_text(0.2149, "% of travel span"), uncertainty_text(None, "s")
    ('0.21 %', '–')
    """
    if expanded_uncertainty is None:
        return NONE
    return with_unit(number(expanded_uncertainty, decimals_for(measure, expanded_uncertainty)), unit_of(measure))


def limit_text(lower: float | None, upper: float | None, measure: str, *, target: float | None = None) -> str:
    """Limits in words and signs, each number as it was given.

    Limits about a ``target`` that was itself measured have more digits than anybody gave: they are the target,
    rounded, and the room to both sides.

    Examples
    --------
    >>> limit_text(-1.5, 1.5, "% of travel span"), limit_text(None, 1.0, "% of travel"), limit_text(13.5, 16.5, "s")
    ('±1.5 %', '≤ 1 %', '13.5 to 16.5 s')
    >>> limit_text(47.51862745, 52.51862745, "% of travel", target=50.01862745)
    '50.02 ± 2.5 %'
    """
    unit = unit_of(measure)
    if lower is not None and upper is not None:
        if target is not None and _is_measured(lower) and _is_measured(upper):
            return with_unit(f"{number(target, 2)} ± {plain(0.5 * (upper - lower))}", unit)
        symmetrical = upper >= 0 and plain(lower) == plain(-upper)
        return with_unit(f"±{plain(upper)}" if symmetrical else f"{plain(lower)} to {plain(upper)}", unit)
    if upper is not None:
        return with_unit(f"≤ {plain(upper)}", unit)
    return NONE if lower is None else with_unit(f"≥ {plain(lower)}", unit)


def _is_measured(limit: float) -> bool:
    """Whether a limit has more decimals than anybody gives one."""
    return abs(limit - round(limit, _GIVEN_DECIMALS)) > _ROUNDING


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


def with_unit(text: str, unit: str) -> str:
    """A printed number and its unit, kept together by a space that does not break."""
    if not unit or text == NONE:
        return text
    return f"{text}{unit}" if unit == "°" else f"{text} {unit}"


def _side(value: float, lower: float | None, upper: float | None) -> int:
    """-1 below the limits, 1 above them, 0 inside or on them."""
    if upper is not None and _exceeds(value, upper):
        return 1
    return -1 if lower is not None and _exceeds(lower, value) else 0


def _exceeds(value: float, limit: float) -> bool:
    """Above by more than binary rounding explains, as the assessment sees it."""
    return value - limit > _ROUNDING * max(1.0, abs(value), abs(limit))
