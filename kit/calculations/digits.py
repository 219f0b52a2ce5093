"""What the digits of typed numbers say."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import floats

_MOST_DECIMALS: Final = 6
_WHOLE: Final = 1e-6  # of a last digit; how far binary rounding may take a typed number from a whole one


def last_digit(typed: ArrayLike) -> float:
    """What the last digit of typed numbers stands for; of several, of the one with most decimals.

    Parameters
    ----------
    typed : array, any shape
        Numbers as they were typed. A nan or an infinity is skipped.

    Returns
    -------
    float
        1 for whole numbers, 0.1 for one decimal, and so on to 1e-6 [unit of the numbers]; 0 where there is none.

    Notes
    -----
    **House definition**: a number without its noughts at the end cannot be told from one that had none, so that the
    finest number of a column stands for all of them.

    Examples
    --------
    >>> last_digit([25.0, 49.8, 75.25]), last_digit([5000.0])
    (0.01, 1.0)
    """
    values = floats(typed)
    values = values[np.isfinite(values)]
    if not values.size:
        return 0.0
    for decimals in range(_MOST_DECIMALS):
        scaled = values * 10.0**decimals
        if (np.abs(scaled - np.rint(scaled)) <= _WHOLE * np.maximum(1.0, np.abs(scaled) * 1e-6)).all():
            return float(10.0**-decimals)
    return float(10.0**-_MOST_DECIMALS)
