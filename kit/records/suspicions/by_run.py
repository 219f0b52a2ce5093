"""Quick answers about groups of readings: which of them a search need not look at.

A search over frames is dear however few its rows are, and most runs have nothing to ask about. What is said here
errs on the side of looking.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.arrays import BoolArray, FloatArray

SLACK: Final = 1e-9  # of a share: more than binary rounding leaves


def ranges(values: FloatArray, groups: NDArray[np.int64]) -> FloatArray:
    """Greatest less least value of its group beside each value, shape (n,); nan where the value is.

    Examples
    --------
    >>> ranges(np.array([1.0, 5.0, np.nan, 2.0]), np.array([0, 7, 7, 0]))
    array([ 1.,  0., nan,  1.])
    """
    found = np.full(len(values), np.nan)
    known = np.flatnonzero(~np.isnan(values))
    if known.size:
        codes, starts, order = _sorted(groups[known])
        own = values[known][order]
        found[known] = (np.maximum.reduceat(own, starts) - np.minimum.reduceat(own, starts))[codes]
    return found


def all_in(holds: BoolArray, groups: NDArray[np.int64]) -> NDArray[np.int64]:
    """The groups all of whose rows hold, in order.

    Examples
    --------
    >>> all_in(np.array([True, True, False, True]), np.array([3, 0, 0, 3]))
    array([3])
    """
    return np.setdiff1d(groups[holds], groups[~holds])


def numbered(*columns: NDArray[Any]) -> NDArray[np.int64]:
    """One number a row, the same for rows that are alike in all columns, shape (n,)."""
    number = np.zeros(len(columns[0]), dtype=np.int64)
    for cells in columns:
        unique, codes = np.unique(cells, return_inverse=True)
        number = np.unique(number * max(len(unique), 1) + codes, return_inverse=True)[1]
    return number


def _sorted(groups: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """The number of each row's group, where each group starts once they are in order, and that order."""
    _, codes = np.unique(groups, return_inverse=True)
    order = np.argsort(codes, kind="stable")
    starts = np.flatnonzero(np.diff(codes[order], prepend=-1))
    return codes, starts, order
