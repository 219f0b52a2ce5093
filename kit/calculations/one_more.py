"""One more cycle of readings that scatter as those before: what it would leave of an uncertainty."""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, IntArray, series
from kit.calculations.scatter import pooled_deviation


def one_more_of_each(error: ArrayLike, group: ArrayLike) -> tuple[FloatArray, FloatArray, IntArray]:
    """The readings with one more in each group of repeats, each mean and the pooled scatter being what they were.

    Parameters
    ----------
    error : array, shape (n,)
        Errors of the readings, finite.
    group : array of int, shape (n,)
        Which readings repeat each other.

    Returns
    -------
    error : array, shape (n,)
        What the readings stand at, so that the scatter stays [unit of the errors].
    further : array, shape (g,)
        One more reading a group, in the order of their numbers.
    like : array of int, shape (g,)
        The first reading of the group of each of them.

    Notes
    -----
    **House definition**: nobody knows what the next reading will be; these stand for it so that only the number of
    readings moves an uncertainty. Of a group that was repeated the further one lies on its mean, and the deviations of
    the others widen; of one reading alone both lie s/sqrt(2) to its sides, s the pooled deviation (0 without repeats).

    Examples
    --------
    >>> error, further, like = one_more_of_each([1.0, 3.0, 1.0, 3.0], [0, 0, 1, 1])
    >>> error.round(3).tolist(), further.tolist(), like.tolist()
    ([0.586, 3.414, 0.586, 3.414], [2.0, 2.0], [0, 2])
    """
    errors = series(error, "error")
    _, like, number = np.unique(np.atleast_1d(np.asarray(group, dtype=np.intp)), return_index=True, return_inverse=True)
    count = np.bincount(number)
    mean = np.bincount(number, weights=errors) / count
    deviation, freedom = pooled_deviation(errors, number) or (0.0, 0.0)
    widened = sqrt(1.0 + np.count_nonzero(count > 1) / freedom) if freedom else 1.0
    aside = np.where(count == 1, deviation / sqrt(2.0), 0.0)
    return mean[number] + widened * (errors - mean[number]) + aside[number], mean - aside, like.astype(np.intp)
