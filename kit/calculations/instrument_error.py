"""What an instrument showed in excess of the truth, and readings freed from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import CalculationInputError, FloatArray, floats


@dataclass(frozen=True, slots=True, eq=False)
class InstrumentError:
    """Error of an instrument, indicated minus true, in the unit of its readings: one number, or a table.

    Raises
    ------
    CalculationInputError
        For a number that is not finite, indicated readings that do not rise, or errors that rise as fast as the
        readings do: then two indications would stand for one true value.

    Notes
    -----
    JCGM 200:2012, 2.16: error is the measured value minus a reference value. Between the points of a table the error
    is interpolated linearly in the indicated reading; outside them it is not known. **House definition**.

    Examples
    --------
    >>> inclinometer = InstrumentError("deg", (0.0, 90.0), (0.0, 0.6))
    >>> inclinometer.corrected([0.0, 45.0, 90.0, 91.0])
    array([ 0. , 44.7, 89.4,  nan])
    """

    unit: str
    indicated: tuple[float, ...]  # (k,) rising; (): the error is the same at every reading
    error: tuple[float, ...]  # (k,), or one

    def __post_init__(self) -> None:
        count = max(len(self.indicated), 1)
        if len(self.error) != count or not np.isfinite([*self.indicated, *self.error]).all():
            raise CalculationInputError("An error table needs a number for every reading and every error.")
        rises = np.diff(self.indicated)
        if (rises <= 0).any():
            raise CalculationInputError("The readings of an error table must rise from row to row.")
        if (np.diff(self.error[: len(self.indicated)]) >= rises).any():
            raise CalculationInputError("The error rises as fast as the reading: two readings would be one true value.")

    @property
    def is_constant(self) -> bool:
        """Whether it is the same at every reading."""
        return not self.indicated

    @property
    def greatest(self) -> float:
        """The error farthest from zero, with its sign."""
        return max(self.error, key=abs)

    def at(self, indicated: ArrayLike) -> FloatArray:
        """The error at indicated readings, shape kept; nan at a nan, and outside a table."""
        readings = floats(indicated)
        if self.is_constant:
            return np.where(np.isnan(readings), np.nan, self.error[0])
        inside = (readings >= self.indicated[0]) & (readings <= self.indicated[-1])
        return np.where(inside, np.interp(readings, self.indicated, self.error), np.nan)

    def corrected(self, indicated: ArrayLike) -> FloatArray:
        """Reading minus error, shape kept; nan at a nan, and outside a table."""
        readings = floats(indicated)
        return np.asarray(readings - self.at(readings), dtype=float)

    def outside(self, indicated: ArrayLike) -> FloatArray:
        """Where a reading lies at which the error is not known, boolean, shape kept; a nan is no reading."""
        readings = floats(indicated)
        return np.asarray(~np.isnan(readings) & np.isnan(self.at(readings)))
