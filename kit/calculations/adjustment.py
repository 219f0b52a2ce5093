"""What zero and span can reach: the trim that brings the greatest error of the readings to its least."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import BoolArray, FloatArray, IntArray, series
from kit.calculations.linearity import minimax_line

ON_STOP_PCT: Final = 0.1  # House definition: a reading within this of a stop rests on it
_FEWEST: Final = 3  # different positions; two points always lie on a line
_SPANS: Final = (-40.0, 60.0)  # House definition: a trim beyond these is no trim: range, action or coupling is wrong

TOO_FEW: Final = "what zero and span can reach is not known: fewer than three different positions off the stops"
NO_TRIM: Final = "no trim of zero and span mends it: the travel does not follow the command as registered"


@dataclass(frozen=True, slots=True, eq=False)
class Trim:
    """A change of zero and span, and what it would leave of n readings."""

    zero_pct: float  # to a position of p % come zero + span p / 100 [% of travel]
    span_pct: float  # [% of travel]
    before_pct: float  # greatest error of the readings that took part [% of travel span]
    after_pct: float  # the same with the trim, 0 or above
    error_pct: FloatArray  # (n,) with the trim, every reading [% of travel span]
    taken: BoolArray  # (n,) took part; the rest stood on a stop
    decide: IntArray  # the readings that hold it there, of the n


@dataclass(frozen=True, slots=True)
class NoTrim:
    """Why there is none."""

    why_not: str


def best_trim(
    position_pct: ArrayLike, error_pct: ArrayLike, *, stops_pct: tuple[float, float] = (0.0, 100.0)
) -> Trim | NoTrim:
    """The change of zero and span that brings the greatest error of single readings to its least.

    Parameters
    ----------
    position_pct : array, shape (n,)
        Measured position of each reading [% of travel].
    error_pct : array, shape (n,)
        Measured less ideal [% of travel span]. A reading with a nan on either side takes no part.
    stops_pct : tuple of two floats
        Closed and open travel stop [% of travel]; 0 and 100 where they were not measured.

    Returns
    -------
    Trim or NoTrim
        ``NoTrim`` for fewer than three different positions off the stops, and for a trim that would be none.

    References
    ----------
    E. W. Cheney, Introduction to Approximation Theory, 1966, chapter 2: the line of least greatest deviation, as
    :func:`~kit.calculations.linearity.minimax_line` finds it, exactly. **House definition**: a reading within 0.1 % of
    a stop, or beyond, shows the stop and not the setting, and is left out; a span of less than -40 or more than +60 %
    is no trim.

    Examples
    --------
    By hand: at 24 % the error of -1 lies 0.79 below the line through (1, +1) and (96, -4); half of that is left.

    >>> trim = best_trim([1.0, 24.0, 48.0, 72.0, 96.0], [1.0, -1.0, -2.0, -3.0, -4.0])
    >>> round(trim.before_pct, 3), round(trim.after_pct, 3), round(trim.zero_pct, 2), round(trim.span_pct, 2)
    (4.0, 0.395, -0.66, 5.26)
    """
    position = series(position_pct, "position_pct")
    error = series(error_pct, "error_pct", length=position.size)
    inside = (position > stops_pct[0] + ON_STOP_PCT) & (position < stops_pct[1] - ON_STOP_PCT)
    taken: BoolArray = inside & np.isfinite(position) & np.isfinite(error)
    if np.unique(position[taken]).size < _FEWEST:
        return NoTrim(TOO_FEW)
    line = minimax_line(position[taken], error[taken])
    zero, span = 0.0 - line.intercept, 0.0 - 100.0 * line.slope
    if not _SPANS[0] <= span <= _SPANS[1]:
        return NoTrim(NO_TRIM)
    after = error + zero + span / 100.0 * position
    return Trim(
        zero_pct=zero,
        span_pct=span,
        before_pct=float(np.abs(error[taken]).max()),
        after_pct=float(np.abs(after[taken]).max()),
        error_pct=after,
        taken=taken,
        decide=np.flatnonzero(taken)[line.active],
    )
