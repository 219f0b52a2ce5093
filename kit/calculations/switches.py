"""Where the end switches make, and how far before the travel stops."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import CalculationInputError, FloatArray, difference, series, single
from kit.basis.quantity import Quantity
from kit.calculations.repeats import mean, mean_within


def switch_position(makes_at_pct: ArrayLike, at_most_pct: ArrayLike | None = None) -> Quantity:
    """Mean position at which a switch makes.

    Parameters
    ----------
    makes_at_pct : array, shape (n,)
        Positions at which it made [% of travel]. A nan or an infinity is skipped.
    at_most_pct : array, shape (n,), or None
        Where some were read as a bound: what each was at most, ``makes_at_pct`` being what it was at least.

    Returns
    -------
    Quantity
        [% of travel], bounded where a reading is. None without a reading.

    References
    ----------
    JCGM 100:2008, 4.2.1. **House definition**: all readings of a switch are averaged.

    Examples
    --------
    >>> switch_position([2.0, 2.5]).value
    2.25
    """
    why_not = "no position recorded at which the switch makes"
    return mean(makes_at_pct, why_not) if at_most_pct is None else mean_within(makes_at_pct, at_most_pct, why_not)


def switch_lead(makes_at_pct: ArrayLike, stop_at_pct: ArrayLike, *, end: Literal["closed", "open"]) -> Quantity:
    """Smallest lead of a switch before its travel stop; of equals, the first.

    Parameters
    ----------
    makes_at_pct, stop_at_pct : array, shape (n,)
        Where the switch made and where the stop stands [% of travel]. A pair with a nan or an infinity
        is skipped.
    end : "closed" or "open"
        Which end: the lead is makes - stop at the closed end, stop - makes at the open end.

    Returns
    -------
    Quantity
        Signed [% of travel]; negative where the switch makes after the stop. ``weights`` are those of the
        makes readings; those of the stop readings are their negatives. None without a pair.

    References
    ----------
    **House definition**: of several, the smallest lead counts.

    Examples
    --------
    >>> switch_lead([2.0, 1.5], [0.0, 0.0], end="closed").value
    1.5
    >>> switch_lead([99.5], [99.0], end="open").value
    -0.5
    """
    if end not in ("closed", "open"):
        raise CalculationInputError(f"The end {end!r} is unknown; give closed or open.")
    sign = 1.0 if end == "closed" else -1.0
    makes = series(makes_at_pct, "makes_at_pct")
    lead = sign * difference(makes, series(stop_at_pct, "stop_at_pct", length=makes.size))
    usable = np.isfinite(lead)
    if not usable.any():
        return Quantity(None, "no switch reading beside a stop reading: write makes_at_pct and stop_at_pct in one row")
    reading = int(np.where(usable, lead, np.inf).argmin())
    return Quantity(float(lead[reading]), reading=reading, weights=single(reading, lead.size, sign))


def lead_between(
    makes_pct: tuple[FloatArray, FloatArray], stop_pct: tuple[FloatArray, FloatArray], *, end: Literal["closed", "open"]
) -> tuple[FloatArray, FloatArray]:
    """Between which values each lead lies where the switch or its stop was read as a bound.

    Parameters
    ----------
    makes_pct, stop_pct : pair of arrays, shape (n,) each
        What each was at least and at most [% of travel].
    end : "closed" or "open"
        As for :func:`switch_lead`.

    Returns
    -------
    pair of arrays, shape (n,) each
        What each lead is at least and at most [% of travel]; nan where the switch or the stop is blank.

    References
    ----------
    Interval arithmetic.

    Examples
    --------
    >>> import numpy as np
    >>> zero = np.zeros(1)
    >>> [float(each[0]) for each in lead_between((np.array([-np.inf]), np.array([0.5])), (zero, zero), end="closed")]
    [-inf, 0.5]
    """
    first, second = (makes_pct, stop_pct) if end == "closed" else (stop_pct, makes_pct)
    with np.errstate(invalid="ignore"):  # two bounds on the same side leave it open both ways
        low, high = first[0] - second[1], first[1] - second[0]
    blank = np.isnan(makes_pct[0]) | np.isnan(stop_pct[0])
    return (
        np.where(blank, np.nan, np.nan_to_num(low, nan=-np.inf, neginf=-np.inf, posinf=np.inf)),
        np.where(blank, np.nan, np.nan_to_num(high, nan=np.inf, neginf=-np.inf, posinf=np.inf)),
    )
