"""Where a series turns."""

from __future__ import annotations

import numpy as np

from kit.basis.arrays import FloatArray, IntArray


def zigzag(values: FloatArray, least: float) -> IntArray:
    """Places where a series turns by more than ``least``, without its ends.

    Parameters
    ----------
    values : array, shape (n,)
        Finite.
    least : float
        A turn counts once the series has come back by more than this, in its own unit.

    Notes
    -----
    **House definition**.

    Examples
    --------
    >>> zigzag(np.array([0.0, 2.0, 1.9, 4.0, 1.0, 1.1, 3.0]), 0.5).tolist()
    [3, 4]
    """
    turns: list[int] = []
    heading, extreme, low, high = 0, 0, 0, 0
    for place, value in enumerate(values.tolist()):
        if heading == 0:
            low = place if value < values[low] else low
            high = place if value > values[high] else high
            if value > values[low] + least:
                heading, extreme = 1, place
            elif value < values[high] - least:
                heading, extreme = -1, place
        elif heading * (value - values[extreme]) >= 0.0:
            extreme = place
        elif heading * (values[extreme] - value) > least:
            turns.append(extreme)
            heading, extreme = -heading, place
    return np.array(turns, dtype=np.intp)
