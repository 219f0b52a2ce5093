"""One quantity out of repeated readings: the greatest error, the mean."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri

from kit.basis.arrays import FloatArray, series, single
from kit.basis.quantity import Quantity

_COVERED: Final = 0.95  # JCGM 100:2008, 6.3.3: what two standard uncertainties of one normal value cover, nearly


def greatest(error_pct: ArrayLike) -> Quantity:
    """Error of greatest magnitude, with its sign; of equals, the first.

    Parameters
    ----------
    error_pct : array, shape (n,)
        Errors, measured minus ideal [% of travel span]. A nan or an infinity is skipped.

    Returns
    -------
    Quantity
        ``reading`` is the index into ``error_pct``. The greatest positive and the greatest negative
        error stand ``beside`` the value; one that no error has the sign of is not there.

    References
    ----------
    ANSI/ISA-51.1, Process Instrumentation Terminology, "accuracy, measured": the maximum positive and
    negative deviation observed in testing. **House definition**: the greater of the two is the value.

    Examples
    --------
    >>> found = greatest([0.3, -0.8, float("nan"), 0.5])
    >>> found.value, found.reading, dict(found.beside)
    (-0.8, 1, {'greatest_positive': 0.5, 'greatest_negative': -0.8})
    """
    errors = series(error_pct, "error_pct")
    usable = np.isfinite(errors)
    if not usable.any():
        return Quantity(None, "no readings")
    reading = int(np.where(usable, np.abs(errors), -1.0).argmax())
    highest, lowest = float(errors[usable].max()), float(errors[usable].min())
    beside = {"greatest_positive": highest} if highest > 0 else {}
    if lowest < 0:
        beside["greatest_negative"] = lowest
    return Quantity(float(errors[reading]), reading=reading, weights=single(reading, errors.size), beside=beside)


def lean_of_greatest(count: int) -> float:
    """How many times farther noise may carry the greatest of ``count`` values than one value [-].

    Parameters
    ----------
    count : int
        Values that compete, each with noise of its own.

    Notes
    -----
    A greatest of many noisy values leans outward, since it is picked where noise adds to it: by no more than the
    greatest noise among them, and inward by no more than that of the true greatest. What 95 % of the greatest
    noises stay within, over what 95 % of one do, both two-sided.

    References
    ----------
    Bonferroni's inequality; R. G. Miller, Simultaneous Statistical Inference, 1981, chapter 1 (from memory).

    Examples
    --------
    >>> [round(lean_of_greatest(count), 2) for count in (1, 9, 30)]
    [1.0, 1.41, 1.6]
    """
    one, many = (ndtri(1.0 - (1.0 - _COVERED) / (2.0 * each)) for each in (1, max(count, 1)))
    return float(many / one)


def within(exact: Quantity, low: float, high: float) -> Quantity:
    """A quantity that was read as a bound: it lies between ``low`` and ``high``, one of them infinite.

    House definition: the finite end stands as its value. Without one nothing is known, and it has none.

    Examples
    --------
    >>> within(Quantity(None), 60.0, float("inf")).value, within(Quantity(None), float("-inf"), 0.1).within
    (60.0, (-inf, 0.1))
    >>> within(Quantity(30.0), 30.0, 30.0).within is None
    True
    """
    if np.isnan(low) or np.isnan(high):
        return exact
    if low == high:
        return replace(exact, value=low)
    if np.isinf(low) and np.isinf(high):
        return Quantity(None, "its bounds leave it open; enter what was read, or > and the end of the range")
    return replace(exact, value=low if np.isfinite(low) else high, within=(low, high))


def mean_within(low: ArrayLike, high: ArrayLike, why_not: str) -> Quantity:
    """Mean of repeated readings of which some are bounds, ``why_not`` where there are none.

    Parameters
    ----------
    low, high : array, shape (n,)
        Between which values each reading lies, in its own unit: equal for a reading, one of them infinite for a
        bound. A nan is skipped and weighs 0.

    Returns
    -------
    Quantity
        As :func:`mean`; with a bound among the readings the mean is bounded too, and of two bounds on different sides
        there is none.

    References
    ----------
    JCGM 100:2008, 4.2.1, equation (3); for bounds interval arithmetic.

    Examples
    --------
    >>> mean_within([28.0, 60.0], [28.0, float("inf")], "no runs").within
    (44.0, inf)
    """
    lows, highs = series(low, "low"), series(high, "high")
    lows, highs = np.where(np.isnan(highs), np.nan, lows), np.where(np.isnan(lows), np.nan, highs)
    exact = mean(finite_end(lows, highs), why_not)
    if exact.value is None:
        return exact
    return within(exact, float(np.nanmean(lows)), float(np.nanmean(highs)))


def finite_end(low: FloatArray, high: FloatArray) -> FloatArray:
    """The number that stands for each reading or bound, shape (n,): its finite end; nan where there is none.

    House definition.
    """
    value = np.where(np.isfinite(low), low, high)
    return np.where(np.isfinite(value), value, np.nan)


def mean(values: ArrayLike, why_not: str) -> Quantity:
    """Mean of repeated readings, ``why_not`` where there are none.

    Parameters
    ----------
    values : array, shape (n,)
        Repeats of one quantity, in its own unit. A nan or an infinity is skipped and weighs 0.
    why_not : str
        The reason that stands in the place of a value where no reading is left.

    References
    ----------
    JCGM 100:2008, 4.2.1, equation (3).

    Examples
    --------
    >>> mean([30.0, 31.0], "no runs").value
    30.5
    """
    readings = series(values, "values")
    usable = np.isfinite(readings)
    count = int(np.count_nonzero(usable))
    if count == 0:
        return Quantity(None, why_not)
    return Quantity(float(readings[usable].mean()), weights=usable / count, averaged=True)
