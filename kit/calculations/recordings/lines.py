"""Straight lines through samples that rise."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import Noise


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line through samples that rise, in their own unit over seconds."""

    centre_s: float
    height: float
    slope: float
    spread: float  # sum of squares of the times about their centre
    count: int

    def at(self, time_s: FloatArray) -> FloatArray:
        """Its heights at times, shape (n,)."""
        line: FloatArray = self.height + self.slope * (time_s - self.centre_s)
        return line

    def meets(self, level: float) -> float:
        """The time at which it comes to a level [s]."""
        return self.centre_s + (level - self.height) / self.slope

    def deviation_at(self, level: float, noise: Noise) -> float:
        """Standard deviation of the time at a level [s]."""
        away = self.meets(level) - self.centre_s
        return noise.deviation / self.slope * sqrt(1.0 / self.count + away**2 / self.spread)

    def slope_deviation(self, noise: Noise) -> float:
        """Standard deviation of its slope."""
        return noise.deviation / sqrt(self.spread)


def line_through(time_s: FloatArray, values: FloatArray) -> Line | None:
    """The line of least squares through samples, shape (n,) each; None where it does not rise.

    References
    ----------
    Least squares, and what noise leaves open in it: any textbook of statistics.

    Examples
    --------
    >>> import numpy as np
    >>> line_through(np.array([0.0, 1.0, 2.0]), np.array([1.0, 3.0, 5.0])).meets(0.0)
    -0.5
    """
    if time_s.size < 2:
        return None
    centre, height = float(time_s.mean()), float(values.mean())
    spread = float(((time_s - centre) ** 2).sum())
    slope = float(((time_s - centre) * (values - height)).sum()) / spread
    return Line(centre, height, slope, spread, int(time_s.size)) if slope > 0.0 else None
