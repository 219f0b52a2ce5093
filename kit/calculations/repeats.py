"""One quantity out of repeated readings: the greatest error, the mean."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import series, single
from kit.basis.quantity import Quantity


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
