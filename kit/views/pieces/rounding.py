"""Values in print: rounded to what the uncertainty supports, never across a limit."""

from __future__ import annotations

import math
from typing import Final

from kit.assessment.conformity import Tolerance
from kit.views.pieces.numbers import MOST_DECIMALS, NONE, decimals_for, number, plain, unit_of, with_unit

_ROUNDING: Final = 1e-9
_GIVEN_DECIMALS: Final = 4
_MOST_SHARE_DECIMALS: Final = 7
_SHARE_ROUNDING: Final = 1e-7  # of a %


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
    while decimals < MOST_DECIMALS and _side(round(value, decimals), lower, upper) != _side(value, lower, upper):
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
            return with_unit(f"{number(target, 2)} ± {plain(Tolerance(lower, upper).half_width)}", unit)
        symmetrical = upper >= 0 and plain(lower) == plain(-upper)
        return with_unit(f"±{plain(upper)}" if symmetrical else f"{plain(lower)} to {plain(upper)}", unit)
    if upper is not None:
        return with_unit(f"≤ {plain(upper)}", unit)
    return NONE if lower is None else with_unit(f"≥ {plain(lower)}", unit)


def share_text(share: float) -> str:
    """A share of a tolerance in %; just above the limit never reads as on it.

    Examples
    --------
    >>> share_text(0.5), share_text(1.0), share_text(1.0004), share_text(12.0)
    ('50 %', '100 %', '100.04 %', '1200 %')
    """
    if share == math.inf:
        return "beyond"
    decimals = 0
    beyond = 100 * share - 100 > _SHARE_ROUNDING
    while beyond and decimals < _MOST_SHARE_DECIMALS and round(100 * share, decimals) <= 100:
        decimals += 1
    return f"{number(100 * share, decimals)} %"


def probability_text(probability: float | None) -> str:
    """A probability in %; the last step to 0 and to 100 % is never rounded over.

    Examples
    --------
    >>> probability_text(0.99996), probability_text(0.5), probability_text(1e-9), probability_text(None)
    ('> 99.9 %', '50.0 %', '< 0.1 %', '–')
    """
    if probability is None:
        return NONE
    if probability > 0.999:
        return "> 99.9 %"
    return "< 0.1 %" if probability < 0.001 else f"{100 * probability:.1f} %"


def percent(share: float) -> str:
    """A share of 1 as a person gives it, in %.

    Examples
    --------
    >>> percent(0.9545)
    '95.45 %'
    """
    return f"{plain(100 * share)} %"


def left_open_text(expanded: float, decimals: int) -> str:
    """What is left open about a value, unless it does not show in the decimals that are printed.

    Examples
    --------
    >>> left_open_text(0.062, 2), left_open_text(0.004, 2)
    ('±0.06', '')
    """
    shows = math.isfinite(expanded) and expanded >= 0.5 * 10.0**-decimals
    return f"±{number(expanded, decimals)}" if shows else ""


def _is_measured(limit: float) -> bool:
    """Whether a limit has more decimals than anybody gives one."""
    return abs(limit - round(limit, _GIVEN_DECIMALS)) > _ROUNDING


def _side(value: float, lower: float | None, upper: float | None) -> int:
    """-1 below the limits, 1 above them, 0 inside or on them."""
    if upper is not None and _exceeds(value, upper):
        return 1
    return -1 if lower is not None and _exceeds(lower, value) else 0


def _exceeds(value: float, limit: float) -> bool:
    """Above by more than binary rounding explains, as the assessment sees it."""
    return value - limit > _ROUNDING * max(1.0, abs(value), abs(limit))
