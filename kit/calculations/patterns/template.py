"""One plain fault as a function of what is asked for, and how it is fitted."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.lines import least_squares_line

_GRID: Final = 121  # coarse search; the best cell is then narrowed
_NARROWINGS: Final = 4
_SLOPES: Final = (0.3, 2.5)  # House definition: flatter or steeper is another fault
_OFF_STOPS_PCT: Final = 0.5  # House definition: a mean nearer to a stop may rest on it
_FEWEST: Final = 3  # points off the stops, or no line is fitted

Fitted = tuple[float, ...]  # () where there is nothing to fit
Stops = tuple[float, float]
FREE: Final[Stops] = (-np.inf, np.inf)  # of a signal, which no stop holds


@dataclass(frozen=True, slots=True)
class Template:
    """One plain fault: what is shown as a function of what is asked for, and of one parameter at most."""

    pattern: str
    model: Callable[[FloatArray, float | FloatArray], FloatArray]
    low: float = 0.0
    high: float = 0.0  # equal to low: nothing to fit
    parameter: str = ""  # how the fitted parameter reads, "{:.1f} % of travel"

    @property
    def parameters(self) -> int:
        return int(self.high > self.low)

    @property
    def is_general(self) -> bool:
        """Whether others are special cases of it, so that it lies near each of them."""
        return False

    def at(self, asked: FloatArray, fitted: Fitted, stops: Stops = FREE) -> FloatArray:
        """What the fault shows between the stops, shape as ``asked`` [% of travel]."""
        return np.clip(self.model(asked, fitted[0] if fitted else self.low), *stops)

    def reads(self, fitted: Fitted) -> str:
        """The fitted parameter in words; "" where there is none."""
        return self.parameter.format(*fitted) if fitted else ""

    def fit(self, asked: FloatArray, shown: FloatArray, whitened: FloatArray, stops: Stops = FREE) -> Fitted | None:
        """Least squares by narrowing a grid, since clipping leaves kinks in the sum of squares.

        ``whitened``, shape (n, n), turns what is left at the n points into parts that do not hang together, each of
        deviation 1.
        """
        if not self.parameters:
            return ()
        low, high, best = self.low, self.high, self.low
        for _ in range(_NARROWINGS):
            tried = np.linspace(low, high, _GRID)
            left = np.clip(self.model(asked, tried[:, np.newaxis]), *stops) - shown
            squares = ((left @ whitened.T) ** 2).sum(axis=1)
            best = float(tried[int(np.argmin(squares))])
            step = float(tried[1] - tried[0])
            low, high = max(self.low, best - step), min(self.high, best + step)
        return (best,)


@dataclass(frozen=True, slots=True)
class LineTemplate(Template):
    """Zero and span both off: the line through what does not rest on a stop, held between the stops."""

    @property
    def parameters(self) -> int:
        return 2

    @property
    def is_general(self) -> bool:
        return True

    def at(self, asked: FloatArray, fitted: Fitted, stops: Stops = FREE) -> FloatArray:
        return np.clip(fitted[0] + fitted[1] * asked, *stops)

    def fit(self, asked: FloatArray, shown: FloatArray, whitened: FloatArray, stops: Stops = FREE) -> Fitted | None:
        """Least squares over the points off the stops; None: too few of them, or a slope that is another fault."""
        free = (shown > stops[0] + _OFF_STOPS_PCT) & (shown < stops[1] - _OFF_STOPS_PCT)
        if np.unique(asked[free]).size < _FEWEST:
            return None
        line = least_squares_line(asked[free], shown[free])
        return (line.intercept, line.slope) if _SLOPES[0] <= line.slope <= _SLOPES[1] else None
