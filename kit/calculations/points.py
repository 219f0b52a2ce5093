"""Readings gathered into test points by their command."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import BoolArray, CalculationInputError, FloatArray, IntArray, series

WITHIN_PCT: Final = 0.5


def group_commands(command_pct: ArrayLike, *, within_pct: float = WITHIN_PCT) -> IntArray:
    """Test point of each reading: its number in rising order of command.

    Parameters
    ----------
    command_pct : array, shape (n,)
        Measured command of each reading [% of command range], finite.
    within_pct : float
        Every reading lies less than this from the mean command of its point [% of command range].

    Returns
    -------
    array of int, shape (n,)
        0 for the readings of the lowest point, and so on without gaps.

    Notes
    -----
    **House definition**: equal commands start as one point; then the two neighbouring points whose means
    lie closest are merged, as long as every reading of the merged point stays within ``within_pct``
    of its mean; of equal distances the lower goes first.

    Examples
    --------
    >>> group_commands([0.1, 50.2, 99.9, 49.8, 0.0]).tolist()
    [0, 1, 2, 1, 0]
    """
    commands = series(command_pct, "command_pct")
    if not np.isfinite(commands).all():
        raise CalculationInputError("command_pct holds a nan or an infinity; leave those readings out first.")
    if commands.size == 0:
        return np.empty(0, dtype=np.intp)
    order = commands.argsort(kind="stable")
    ordered = commands[order]
    apart = np.empty(ordered.size, dtype=bool)
    apart[:1] = True
    # Across a gap of twice the distance no merged point could hold both sides.
    np.greater_equal(ordered[1:] - ordered[:-1], 2.0 * within_pct, out=apart[1:])
    starts = np.flatnonzero(apart)
    ends = np.append(starts[1:], ordered.size) - 1
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        # A narrower stretch always ends as one point.
        if ordered[end] - ordered[start] >= within_pct:
            apart[start : end + 1] = _merge(ordered[start : end + 1], within_pct)
    point = np.empty(ordered.size, dtype=np.intp)
    point[order] = apart.cumsum() - 1
    return point


def _merge(ordered: FloatArray, within_pct: float) -> BoolArray:
    """Whether each of the rising ``ordered`` commands starts a point of its own."""
    low, start, count = np.unique(ordered, return_index=True, return_counts=True)
    high, total = low.copy(), low * count
    while low.size > 1:
        middle = (total[:-1] + total[1:]) / (count[:-1] + count[1:])
        fits = (middle - low[:-1] < within_pct) & (high[1:] - middle < within_pct)
        if not fits.any():
            break
        left = int(np.where(fits, np.diff(total / count), np.inf).argmin())
        count[left] += count[left + 1]
        total[left] += total[left + 1]
        high[left] = high[left + 1]
        low, high, total = (np.delete(part, left + 1) for part in (low, high, total))
        count, start = (np.delete(part, left + 1) for part in (count, start))
    begins = np.zeros(ordered.size, dtype=bool)
    begins[start] = True
    return begins
