"""The scatter of repeats: pooled over everything that was repeated, unless one group stands out."""

from __future__ import annotations

from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import fdtri

from kit.basis.arrays import BoolArray, FloatArray, IntArray, series

OUTLIER_LEVEL: Final = 0.01


def groups_of(point: ArrayLike, rising: ArrayLike) -> IntArray:
    """Which readings repeat each other: one number for each point and direction, shape (n,). House definition.

    Examples
    --------
    >>> groups_of([0, 0, 1], [True, False, True]).tolist()
    [1, 0, 3]
    """
    return 2 * np.atleast_1d(np.asarray(point, dtype=np.intp)) + np.atleast_1d(np.asarray(rising, dtype=np.bool_))


def outlying_groups(error: ArrayLike, group: ArrayLike, *, least: float = 0.0) -> BoolArray:
    """Readings of groups that scatter more than the others together can explain.

    Parameters
    ----------
    error : array, shape (n,)
        Errors of the readings, finite.
    group : array of int, shape (n,)
        Which readings repeat each other.
    least : float
        What the resolution may hide: the least standard deviation that a group is taken to have [unit of the errors].
        Without it equal readings in one group would make any other stand out.

    Returns
    -------
    array of bool, shape (n,)
        The group of greatest variance is tested, set apart where it stands out, and so on.

    References
    ----------
    ISO 5725-2, Cochran's test at 1 %. For groups of unequal size: R. U. E. 't Lam, Scrutiny of variance results for
    outliers: Cochran's test optimized, Analytica Chimica Acta 659 (2010) 68-84 (from memory); of groups of one size it
    is Cochran's.

    Examples
    --------
    >>> error = [0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0, 5.0]
    >>> outlying_groups(error, [0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6]).tolist()[-3:]
    [False, True, True]
    """
    errors = series(error, "error")
    groups = np.atleast_1d(np.asarray(group, dtype=np.intp))
    squares, freedom = within_groups(errors, groups)
    squares = np.maximum(squares, freedom * least**2)
    left = freedom > 0.0
    apart = np.zeros(freedom.size, dtype=bool)
    while np.count_nonzero(left) > 1 and squares[left].sum() > 0.0:
        share = squares / squares[left].sum()
        excess = np.where(left, share - _limits(freedom, left, OUTLIER_LEVEL), -np.inf)
        worst = int(excess.argmax())
        if excess[worst] <= 0.0:
            break
        apart[worst], left[worst] = True, False
    return np.asarray(apart[groups], dtype=np.bool_)


def within_groups(error: FloatArray, group: IntArray) -> tuple[FloatArray, FloatArray]:
    """Sum of squares about the mean, and degrees of freedom, of each group by its number.

    References
    ----------
    JCGM 100:2008, 4.2.2, equation (4): the numerator and the divisor of the experimental variance.

    Examples
    --------
    >>> [part.tolist() for part in within_groups(np.array([1.0, 3.0, 5.0]), np.array([0, 0, 1]))]
    [[2.0, 0.0], [1.0, 0.0]]
    """
    count = np.bincount(group)
    centre = np.bincount(group, weights=error) / np.maximum(count, 1)
    squares = np.bincount(group, weights=(error - centre[group]) ** 2)
    return squares.astype(float), np.maximum(count - 1.0, 0.0)


def pooled_deviation(error: ArrayLike, group: ArrayLike) -> tuple[float, float] | None:
    """Standard deviation of one reading, pooled over groups of repeats, and its degrees of freedom.

    Parameters
    ----------
    error : array, shape (n,)
        Errors of the readings, finite.
    group : array of int, shape (n,)
        Which readings repeat each other.

    Returns
    -------
    tuple of two floats, or None
        In the unit of the errors; the degrees of freedom add up. None where nothing was repeated.

    References
    ----------
    JCGM 100:2008, 4.2.4 and H.5: pooled estimate of variance.

    Examples
    --------
    >>> deviation, freedom = pooled_deviation([1.0, 3.0], [0, 0])
    >>> round(deviation, 3), freedom
    (1.414, 1.0)
    """
    squares, freedom = within_groups(series(error, "error"), np.atleast_1d(np.asarray(group, dtype=np.intp)))
    total = float(freedom.sum())
    return None if total == 0.0 else (sqrt(float(squares.sum()) / total), total)


def cochran_limit(groups: int, size: int, *, level: float = OUTLIER_LEVEL) -> float:
    """Greatest share of one variance in the sum of all, for groups of one size [-].

    References
    ----------
    ISO 5725-2:1994, 7.3.3 and Table 4, by the F distribution at ``level`` over the number of groups.

    Examples
    --------
    >>> round(cochran_limit(5, 3), 3)
    0.789
    """
    freedom = np.full(groups, size - 1.0)
    return float(_limits(freedom, freedom > 0.0, level)[0])


def _limits(freedom: FloatArray, left: BoolArray, level: float) -> FloatArray:
    """The greatest share of the sum of squares that each group may have by chance."""
    own = np.where(left, freedom, 1.0)
    others = np.maximum(freedom[left].sum() - own, 1e-9)
    ratio = fdtri(own, others, 1.0 - level / np.count_nonzero(left))
    return np.asarray(1.0 / (1.0 + others / own / ratio), dtype=float)
