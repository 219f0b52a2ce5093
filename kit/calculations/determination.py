"""What a calculation hands on: one figure drawn from readings, or the reason why there is none."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, series, single


@dataclass(frozen=True, slots=True, eq=False)
class Determination:
    """One figure drawn from readings.

    ``value`` is None where the readings cannot give it; ``why_not`` then says why. ``point`` and
    ``reading`` are the indices of the deciding test point and reading. ``weights``, shape (n,), holds
    d(value)/d(error of each reading) with the deciding points held: what the uncertainty goes through.
    ``averaged`` says that repeats were averaged, so that their scatter adds a type A component.
    """

    value: float | None
    why_not: str = ""
    point: int | None = None
    reading: int | None = None
    weights: FloatArray | None = None
    averaged: bool = False
    greatest_positive: float | None = None  # of the errors; None where no error is positive
    greatest_negative: float | None = None  # of the errors; None where no error is negative


def greatest(error_pct: ArrayLike) -> Determination:
    """Error of greatest magnitude, with its sign; of equals, the first.

    Parameters
    ----------
    error_pct : array, shape (n,)
        Errors, measured minus ideal [% of travel span]. A nan or an infinity is skipped.

    Returns
    -------
    Determination
        ``reading`` is the index into ``error_pct``. The greatest positive and the greatest negative
        error stand beside the value; they are None where no error has that sign.

    References
    ----------
    ANSI/ISA-51.1, Process Instrumentation Terminology, "accuracy, measured": the maximum positive and
    negative deviation observed in testing. **House definition**: the greater of the two is the value.

    Examples
    --------
    >>> found = greatest([0.3, -0.8, float("nan"), 0.5])
    >>> found.value, found.reading, found.greatest_positive
    (-0.8, 1, 0.5)
    """
    errors = series(error_pct, "error_pct")
    usable = np.isfinite(errors)
    if not usable.any():
        return Determination(None, "no readings")
    reading = int(np.where(usable, np.abs(errors), -1.0).argmax())
    highest, lowest = float(errors[usable].max()), float(errors[usable].min())
    return Determination(
        float(errors[reading]),
        reading=reading,
        weights=single(reading, errors.size),
        greatest_positive=highest if highest > 0 else None,
        greatest_negative=lowest if lowest < 0 else None,
    )


def mean(values: ArrayLike, why_not: str) -> Determination:
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
        return Determination(None, why_not)
    return Determination(float(readings[usable].mean()), weights=usable / count, averaged=True)
