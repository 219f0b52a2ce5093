"""Where a valve goes on loss of signal or supply, and how long it takes."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import CalculationInputError, FloatArray, difference, floats, series, single
from kit.basis.quantity import Quantity

_END_PCT: Final = {"open": 100.0, "closed": 0.0}


def fail_target_pct(action: Literal["open", "closed", "hold"], position_before_pct: float) -> float | None:
    """Position that a fail action asks for.

    Parameters
    ----------
    action : "open", "closed" or "hold"
        The fail action.
    position_before_pct : float
        Position before the loss [% of travel]; only "hold" needs it.

    Returns
    -------
    float or None
        [% of travel]. None for "hold" where the position before is nan.

    References
    ----------
    **House definition**: open is 100 %, closed is 0 %, hold is where the valve stood.

    Examples
    --------
    >>> fail_target_pct("closed", 60.0), fail_target_pct("hold", 60.0)
    (0.0, 60.0)
    """
    if action == "hold":
        return float(position_before_pct) if np.isfinite(position_before_pct) else None
    if action not in _END_PCT:
        raise CalculationInputError(f"The fail action {action!r} is unknown; give open, closed or hold.")
    return _END_PCT[action]


def farthest(value_pct: ArrayLike, target_pct: ArrayLike) -> Quantity:
    """The position farthest from its target; of equals, the first.

    Parameters
    ----------
    value_pct : array, shape (n,)
        Positions [% of travel].
    target_pct : float or array, shape (n,)
        Where each should be [% of travel]. A pair with a nan or an infinity is skipped.

    Returns
    -------
    Quantity
        The position itself [% of travel]; ``reading`` says which. None without a usable pair.

    References
    ----------
    **House definition**: of several, the worst counts.

    Examples
    --------
    >>> farthest([1.0, 3.0, 0.0], 0.0).value
    3.0
    """
    values = series(value_pct, "value_pct")
    targets = floats(target_pct)
    if targets.ndim:
        targets = series(targets, "target_pct", length=values.size)
    distance = np.abs(difference(values, targets))
    return _greatest(values, distance, "no position recorded" if not np.isfinite(values).any() else "no target known")


def longest(time_s: ArrayLike) -> Quantity:
    """The longest time; of equals, the first.

    Parameters
    ----------
    time_s : array, shape (n,)
        Times from the loss to rest [s]. A nan or an infinity is skipped.

    Returns
    -------
    Quantity
        [s]. None without a time.

    References
    ----------
    **House definition**: of several, the worst counts.

    Examples
    --------
    >>> longest([12.0, 15.5, float("nan")]).value
    15.5
    """
    times = series(time_s, "time_s")
    return _greatest(times, times, "no time recorded: write time_s")


def _greatest(values: FloatArray, size: FloatArray, why_not: str) -> Quantity:
    usable = np.isfinite(size)
    if not usable.any():
        return Quantity(None, why_not)
    reading = int(np.where(usable, size, -np.inf).argmax())
    return Quantity(float(values[reading]), reading=reading, weights=single(reading, values.size))
