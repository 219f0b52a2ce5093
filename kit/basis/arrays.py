"""Array types, the error class and the conversions that every calculation shares."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.intp]
BoolArray = NDArray[np.bool_]


class CalculationInputError(ValueError):
    """Arguments that no calculation can be made from: a caller's mistake, never a bad reading."""


def floats(values: ArrayLike) -> FloatArray:
    """``values`` as a float array of its own shape."""
    return np.asarray(values, dtype=np.float64)


def series(values: ArrayLike, name: str, *, length: int | None = None) -> FloatArray:
    """``values`` as a float array, shape (n,), of ``length`` if one is given; else the error says so."""
    array = np.atleast_1d(np.asarray(values, dtype=np.float64))
    if array.ndim != 1:
        raise CalculationInputError(f"{name} has {array.ndim} dimensions; give one value a reading.")
    if length is not None and array.size != length:
        raise CalculationInputError(
            f"{name} has {array.size} values beside {length} readings; give one value a reading."
        )
    return array


def difference(minuend: FloatArray, subtrahend: FloatArray) -> FloatArray:
    """``minuend`` less ``subtrahend``, elementwise; nan wherever one of them is a nan or an infinity."""
    usable = np.isfinite(minuend) & np.isfinite(subtrahend)
    left = np.full(usable.shape, np.nan)
    np.subtract(minuend, subtrahend, out=left, where=usable)
    return left


def single(index: int, length: int, weight: float = 1.0) -> FloatArray:
    """Weights, shape (length,), of a figure that rests on one reading alone."""
    weights = np.zeros(length)
    weights[index] = weight
    return weights
