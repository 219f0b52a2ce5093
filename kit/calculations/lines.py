"""Least-squares line with its standard uncertainties."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import CalculationInputError, FloatArray, series


@dataclass(frozen=True, slots=True)
class LeastSquaresLine:
    """y = intercept + slope x, by ordinary least squares."""

    slope: float
    intercept: float
    u_slope: float | None  # standard uncertainties; None where no reading is left to estimate the scatter
    u_intercept: float | None
    covariance: float | None  # of intercept and slope
    residual_sd: float | None
    residual_sum_of_squares: float
    degrees_of_freedom: int

    def at(self, x: float) -> tuple[float, float | None]:
        """The line at ``x`` and its standard uncertainty there, in the unit of y.

        References
        ----------
        JCGM 100:2008, H.3.4, equation (H.15).
        """
        value = self.intercept + self.slope * x
        if self.u_slope is None or self.u_intercept is None or self.covariance is None:
            return value, None
        variance = self.u_intercept**2 + (x * self.u_slope) ** 2 + 2.0 * x * self.covariance
        return value, sqrt(max(variance, 0.0))


def least_squares_line(
    x: ArrayLike, y: ArrayLike, *, through_origin: bool = False, u_y: float | None = None
) -> LeastSquaresLine:
    """Ordinary least-squares line through points of equal weight.

    Parameters
    ----------
    x, y : array, shape (m,)
        Points. A pair with a nan or an infinity is left out. At least two different x are needed, or one
        x other than 0 for a line through the origin.
    through_origin : bool
        Hold the intercept at 0.
    u_y : float or None
        Known standard uncertainty of every y [unit of y]. None: it is estimated by the residuals.

    Returns
    -------
    LeastSquaresLine
        Uncertainties are None where no degree of freedom is left and ``u_y`` is not given.

    References
    ----------
    JCGM 100:2008, H.3.2, equations (H.13a) to (H.13f). ISO/TS 28037:2010, 6.3, for a known ``u_y``.

    Examples
    --------
    >>> line = least_squares_line([1, 2, 3, 4, 5, 6], [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], u_y=0.5)
    >>> round(line.intercept, 3), round(line.slope, 3), round(line.u_intercept, 3), round(line.u_slope, 2)
    (1.867, 1.757, 0.465, 0.12)
    """
    xs, ys = _pairs(x, y)
    centre, centre_y = (0.0, 0.0) if through_origin or xs.size == 0 else (float(xs.mean()), float(ys.mean()))
    from_centre = xs - centre
    spread = float(from_centre @ from_centre)
    if spread == 0.0:
        raise CalculationInputError("The points give no slope: no two x differ, or all are 0 on a line through 0.")
    slope = float(from_centre @ (ys - centre_y)) / spread
    residual = ys - centre_y - slope * from_centre
    squares = float(residual @ residual)
    freedom = xs.size - (1 if through_origin else 2)
    residual_sd = sqrt(squares / freedom) if freedom > 0 else None
    scatter = residual_sd if u_y is None else u_y
    share = 0.0 if through_origin else 1.0 / xs.size + centre**2 / spread
    return LeastSquaresLine(
        slope=slope,
        intercept=centre_y - slope * centre,
        u_slope=None if scatter is None else scatter / sqrt(spread),
        u_intercept=None if scatter is None else scatter * sqrt(share),
        covariance=None if scatter is None else -(scatter**2) * centre / spread,
        residual_sd=residual_sd,
        residual_sum_of_squares=squares,
        degrees_of_freedom=freedom,
    )


def _pairs(x: ArrayLike, y: ArrayLike) -> tuple[FloatArray, FloatArray]:
    xs = series(x, "x")
    ys = series(y, "y", length=xs.size)
    usable = np.isfinite(xs) & np.isfinite(ys)
    return xs[usable], ys[usable]
