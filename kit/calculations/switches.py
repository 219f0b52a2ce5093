"""Where the end switches make, and how far before the travel stops."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import CalculationInputError, difference, series, single
from kit.basis.quantity import Quantity
from kit.calculations.repeats import mean


def switch_position(makes_at_pct: ArrayLike) -> Quantity:
    """Mean position at which a switch makes.

    Parameters
    ----------
    makes_at_pct : array, shape (n,)
        Positions at which it made [% of travel]. A nan or an infinity is skipped.

    Returns
    -------
    Quantity
        [% of travel]. None without a reading.

    References
    ----------
    JCGM 100:2008, 4.2.1. **House definition**: all readings of a switch are averaged.

    Examples
    --------
    >>> switch_position([2.0, 2.5]).value
    2.25
    """
    return mean(makes_at_pct, "no position recorded at which the switch makes")


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
        return Quantity(None, "no switch reading beside a stop reading")
    reading = int(np.where(usable, lead, np.inf).argmin())
    return Quantity(float(lead[reading]), reading=reading, weights=single(reading, lead.size, sign))
