"""Means over as many samples after a place as before it, at every place of a series."""

from __future__ import annotations

import numpy as np

from kit.basis.arrays import FloatArray, IntArray


def mean_change(values: FloatArray, width: int) -> tuple[FloatArray, IntArray, IntArray]:
    """Mean after a place less the mean before it, and how many samples each is of.

    Parameters
    ----------
    values : array, shape (n,)
        Finite, n of at least 2.
    width : int
        Samples on either side; fewer at the ends of the series.

    Returns
    -------
    tuple of array, shape (n - 1,) each
        Change at each place between two samples [unit of the values]; samples before; samples after.

    Notes
    -----
    Arithmetic alone: differences of running sums. **House definition** that a change is looked for so.

    Examples
    --------
    >>> change, before, after = mean_change(np.array([1.0, 1.0, 3.0, 3.0]), 2)
    >>> change.tolist(), before.tolist(), after.tolist()
    ([1.0, 2.0, 1.0], [1, 2, 2], [2, 2, 1])
    """
    size = values.size
    total = np.concatenate(([0.0], np.cumsum(values - values[0])))
    place = np.arange(1, size)
    low, high = np.maximum(place - width, 0), np.minimum(place + width, size)
    before, after = place - low, high - place
    return (total[high] - total[place]) / after - (total[place] - total[low]) / before, before, after
