"""Drift: what became of a value from one visit to the next, and how soon a limit could be reached by it."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import CalculationInputError, series
from kit.basis.quantity import Component
from kit.calculations.uncertainty import Budget, combine

FEWEST_INTERVALS: Final = 2  # house definition: one interval cannot tell a drift from what happened once


def drift_budget(before: Sequence[Component], after: Sequence[Component], *, coverage_probability: float) -> Budget:
    """Uncertainty of the difference of two values that were measured on two visits.

    Parameters
    ----------
    before, after : sequence of Component
        The budgets' components of the two values, in one unit; each at least one.
    coverage_probability : float
        Between 0 and 1 [-].

    References
    ----------
    JCGM 100:2008, 5.1.2, equation (10), for y = x2 - x1. **House definition**: the errors of the two visits are taken
    as independent, those of one and the same instrument too: between the visits it may have moved anywhere within
    its accuracy, and nothing that a register holds rules it out. If its error stayed as it was, this U is too great.

    Examples
    --------
    >>> from kit.calculations.uncertainty import rectangular
    >>> one, other = rectangular("a", 0.3, "%"), rectangular("b", 0.4, "%")
    >>> round(drift_budget([one], [other], coverage_probability=0.9545).standard_uncertainty, 4)
    0.2887
    """
    if not before or not after:
        raise CalculationInputError("A drift is of two measured values; give the components of both.")
    return combine([*before, *after], coverage_probability=coverage_probability)


def days_to_limit(
    room: float, towards_limit: ArrayLike, expanded_uncertainty: ArrayLike, days: ArrayLike
) -> float | None:
    """Days in which a value could reach a limit, by the fastest drift that its own record does not rule out.

    Parameters
    ----------
    room : float
        From the value to the limit [unit of the value]; 0 or below: it is there already.
    towards_limit : array, shape (n,)
        Drift of each interval, above 0 towards the limit [unit of the value].
    expanded_uncertainty : array, shape (n,)
        Of each drift [unit of the value], 0 or above.
    days : array, shape (n,)
        Length of each interval [d], above 0.

    Returns
    -------
    float or None
        Infinity where every interval rules out a drift towards the limit. None: fewer than two intervals; one with a
        nan is none. A room of nan gives None.

    Notes
    -----
    **House definition**, a proposal: drift plus its U, over the interval's length, is the rate that the interval
    does not rule out; the greatest of them holds from the last value on. The worst interval counts, not their mean, so
    that a further interval never postpones it.

    Examples
    --------
    >>> round(days_to_limit(0.6, [0.1, 0.2], [0.1, 0.1], [100, 100]), 6)
    200.0
    >>> days_to_limit(0.6, [-0.5, -0.3], [0.1, 0.1], [100, 100]), days_to_limit(0.6, [0.1], [0.1], [100])
    (inf, None)
    """
    drift, open_either_way, length = (
        series(each, name)
        for each, name in (
            (towards_limit, "towards_limit"),
            (expanded_uncertainty, "expanded_uncertainty"),
            (days, "days"),
        )
    )
    if not drift.size == open_either_way.size == length.size:
        raise CalculationInputError(
            "Each interval needs a drift, its uncertainty and its length; give as many of each."
        )
    known = np.isfinite(drift) & np.isfinite(open_either_way) & np.isfinite(length)
    if np.any(length[known] <= 0.0) or np.any(open_either_way[known] < 0.0):
        raise CalculationInputError("An interval lasts longer than 0 days, and no uncertainty is below 0.")
    if np.count_nonzero(known) < FEWEST_INTERVALS or np.isnan(room):
        return None
    if room <= 0.0:
        return 0.0
    rate = float(np.max((drift + open_either_way)[known] / length[known]))
    return room / rate if rate > 0.0 else inf
