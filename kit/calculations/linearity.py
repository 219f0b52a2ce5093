"""Linearity: independent, terminal-based and zero-based, from exact lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import BoolArray, CalculationInputError, FloatArray, IntArray, series
from kit.basis.quantity import Quantity
from kit.calculations.points import WITHIN_PCT
from kit.calculations.position import Runs, curve_weights

_ROUNDING_PCT: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A straight line through m points and their greatest deviation from it."""

    slope: float  # [unit of y per unit of x]
    intercept: float  # [unit of y]
    deviation: float  # 0 or above [unit of y]
    active: IntArray  # the points that the line touches or deviates from most, the deciding one first
    weights: FloatArray  # (m,) d(deviation)/d(y) with the active points held


def independent_linearity(runs: Runs) -> Quantity:
    """Greatest deviation of the mean error curve from its minimax line.

    Parameters
    ----------
    runs : Runs
        Up and down runs, brought to test points.

    Returns
    -------
    Quantity
        0 or above [% of travel span]. None for fewer than three points within 0 to 100 % command (to within 0.5 %)
        or an input that does not vary.

    References
    ----------
    ANSI/ISA-51.1, "linearity, independent": the line is placed to minimise the maximum deviation.

    Examples
    --------
    >>> from kit.calculations.position import reduce_runs
    >>> runs = reduce_runs([0, 50, 100], [0.0, 1.0, 0.0], [True] * 3, [1] * 3)
    >>> independent_linearity(runs).value
    0.5
    """
    return _linearity(runs, minimax_line)


def terminal_linearity(runs: Runs) -> Quantity:
    """Greatest deviation of the mean error curve from the line through its end points.

    Parameters
    ----------
    runs : Runs
        Up and down runs, brought to test points.

    Returns
    -------
    Quantity
        0 or above [% of travel span]. None for fewer than three points within 0 to 100 % command (to within 0.5 %).

    References
    ----------
    ANSI/ISA-51.1, "linearity, terminal-based". **House definition**: the ends are the lowest and the
    highest test point that take part.

    Examples
    --------
    >>> from kit.calculations.position import reduce_runs
    >>> terminal_linearity(reduce_runs([0, 50, 100], [0.0, 1.0, 0.0], [True] * 3, [1] * 3)).value
    1.0
    """
    return _linearity(runs, terminal_line)


def zero_based_linearity(runs: Runs) -> Quantity:
    """Greatest deviation of the mean error curve from the line through its start that minimises it.

    Parameters
    ----------
    runs : Runs
        Up and down runs, brought to test points.

    Returns
    -------
    Quantity
        0 or above [% of travel span]. None for fewer than three points within 0 to 100 % command (to within 0.5 %).

    References
    ----------
    ANSI/ISA-51.1, "linearity, zero-based". **House definition**: the start is the lowest test point.

    Examples
    --------
    >>> from kit.calculations.position import reduce_runs
    >>> runs = reduce_runs([0, 50, 100], [0.0, 1.5, 0.0], [True] * 3, [1] * 3)
    >>> round(zero_based_linearity(runs).value, 12)
    1.0
    """
    return _linearity(runs, zero_based_line)


def minimax_line(x: ArrayLike, y: ArrayLike) -> Line:
    """The line whose greatest deviation from the points is least.

    Parameters
    ----------
    x, y : array, shape (m,)
        Points, finite, in any order, with at least two different x.

    Returns
    -------
    Line
        Exact: not sampled and not iterated. Two different x: deviation 0 if no x repeats.

    References
    ----------
    Half the greatest vertical gap of the convex hull: E. W. Cheney, Introduction to Approximation
    Theory, 1966, chapter 2 (characterisation by alternation). **House definition**: where all points lie
    on one line, the weights are those of a point between the two ends.

    Examples
    --------
    >>> line = minimax_line([0, 1, 2], [0.0, 1.0, 0.0])
    >>> line.slope, line.intercept, line.deviation
    (0.0, 0.5, 0.5)
    """
    xs, ys = _points(x, y)
    return _minimax(xs.tolist(), ys.tolist())


def terminal_line(x: ArrayLike, y: ArrayLike) -> Line:
    """The line through the points of lowest and highest x.

    Parameters
    ----------
    x, y : array, shape (m,)
        Points, finite, in any order, with at least two x and no x twice.

    References
    ----------
    ANSI/ISA-51.1, "linearity, terminal-based".

    Examples
    --------
    >>> terminal_line([0, 1, 2], [0.0, 1.0, 1.0]).deviation
    0.5
    """
    xs, ys = _points(x, y, distinct=True)
    order = xs.argsort()
    first, last = int(order[0]), int(order[-1])
    run = xs[last] - xs[first]
    slope = float((ys[last] - ys[first]) / run)
    intercept = float(ys[first] - slope * xs[first])
    weights = np.zeros(xs.size)
    if xs.size == 2:
        return Line(slope, intercept, 0.0, np.array([first, last]), weights)
    between = order[1:-1]
    residual = ys[between] - ys[first] - slope * (xs[between] - xs[first])
    farthest = int(np.abs(residual).argmax())
    point, sign = int(between[farthest]), -1.0 if residual[farthest] < 0 else 1.0
    share = float((xs[point] - xs[first]) / run)
    weights[point], weights[first], weights[last] = sign, -sign * (1.0 - share), -sign * share
    return Line(slope, intercept, abs(float(residual[farthest])), np.array([point, first, last]), weights)


def zero_based_line(x: ArrayLike, y: ArrayLike) -> Line:
    """The line through the point of lowest x whose greatest deviation from the others is least.

    Parameters
    ----------
    x, y : array, shape (m,)
        Points, finite, in any order, with at least two x and no x twice.

    Returns
    -------
    Line
        Exact: the minimax line of the points and their mirror image about the start runs through it.

    References
    ----------
    ANSI/ISA-51.1, "linearity, zero-based".

    Examples
    --------
    >>> line = zero_based_line([0, 1, 2], [0.0, 1.5, 0.0])
    >>> round(line.slope, 12), round(line.deviation, 12)
    (0.5, 1.0)
    """
    xs, ys = _points(x, y, distinct=True)
    start = int(xs.argmin())
    right, up = xs - xs[start], ys - ys[start]
    others = np.flatnonzero(right)
    image = _minimax(
        [*(-right[others]).tolist(), 0.0, *right[others].tolist()], [*(-up[others]).tolist(), 0.0, *up[others].tolist()]
    )
    count = others.size
    weights = np.zeros(xs.size)
    weights[others] = image.weights[count + 1 :] - image.weights[:count]
    weights[start] = -weights.sum()
    source = np.concatenate((others, [start], others))
    active = np.array(list(dict.fromkeys((*source[image.active].tolist(), start))))
    return Line(image.slope, float(ys[start] - image.slope * xs[start]), image.deviation, active, weights)


def _linearity(runs: Runs, fit: Callable[[ArrayLike, ArrayLike], Line]) -> Quantity:
    inside = np.flatnonzero(_takes_part(runs))
    x, curve = runs.point_input_pct[inside], runs.curve_pct[inside]
    if curve.size < 3:
        return Quantity(None, f"{_counted(curve.size)} within 0 to 100 % command; a line needs three")
    if x.max() == x.min():
        return Quantity(None, "the input does not vary over the test points")
    if fit is not minimax_line and np.unique(x).size < x.size:
        return Quantity(None, "two test points at the same input")
    line = fit(x, curve)
    of_points = np.zeros(runs.curve_pct.size)
    of_points[inside] = line.weights
    weights = of_points[runs.point] * curve_weights(runs)
    return Quantity(line.deviation, point=int(inside[line.active[0]]), weights=weights, averaged=True)


def _takes_part(runs: Runs) -> BoolArray:
    """Points beyond the ends, where the ideal position is held, are on no line; one within 0.5 % is of the end."""
    command = runs.point_command_pct
    inside: BoolArray = np.abs(command - 50.0) <= 50.0 + WITHIN_PCT + _ROUNDING_PCT
    return inside


def _counted(points: int) -> str:
    return {0: "no test point", 1: "one test point"}.get(points, "two test points")


def _points(x: ArrayLike, y: ArrayLike, *, distinct: bool = False) -> tuple[FloatArray, FloatArray]:
    xs = series(x, "x")
    ys = series(y, "y", length=xs.size)
    if not (np.isfinite(xs).all() and np.isfinite(ys).all()):
        raise CalculationInputError("The points hold a nan or an infinity; leave those points out first.")
    different = np.unique(xs).size
    if different < 2:
        raise CalculationInputError(f"A line needs points at two different x, and there are {different}.")
    if distinct and different < xs.size:
        raise CalculationInputError(f"{xs.size} points share {different} x; average those at one x first.")
    return xs, ys


def _minimax(x: list[float], y: list[float]) -> Line:
    """Half the widest vertical gap of the hull, at one of its corners, over the edge that faces it."""
    order = sorted(range(len(x)), key=x.__getitem__)
    top, bottom = _hull(x, y, order, 1.0), _hull(x, y, order, -1.0)
    gap, *corners, sign = max(_widest(x, y, top, bottom, 1.0), _widest(x, y, bottom, top, -1.0))
    if gap <= 0.0 and len(order) > 2:
        corners = [order[min(3 * len(order) // 4, len(order) - 2)], order[0], order[-1]]
    point, left, right = (int(corner) for corner in corners)
    run = x[right] - x[left]
    at_corner = len(order) > 2 and gap > 0.0 and x[point] in (x[left], x[right])
    slope = _slope_through(x, y, top, bottom, x[point]) if at_corner else (y[right] - y[left]) / run
    deviation = max(0.5 * gap, 0.0)
    intercept = y[point] - sign * deviation - slope * x[point]
    weights = np.zeros(len(x))
    if len(order) > 2:
        share = (x[point] - x[left]) / run
        for corner, weight in ((point, 0.5), (left, -0.5 * (1.0 - share)), (right, -0.5 * share)):
            weights[corner] += sign * weight
    active = np.array(list(dict.fromkeys((point, left, right))))
    return Line(slope, intercept, deviation, active, weights)


def _slope_through(x: list[float], y: list[float], top: list[int], bottom: list[int], at: float) -> float:
    """A slope that keeps both hulls within half their gap where corners of both stand one above the other.

    House definition: the middle of the slopes that do.
    """
    before_top, after_top = _slopes_beside(x, y, top, at)
    before_bottom, after_bottom = _slopes_beside(x, y, bottom, at)
    least = max(-np.inf if after_top is None else after_top, -np.inf if before_bottom is None else before_bottom)
    most = min(np.inf if before_top is None else before_top, np.inf if after_bottom is None else after_bottom)
    return float(0.5 * (least + most))


def _slopes_beside(x: list[float], y: list[float], corners: list[int], at: float) -> tuple[float | None, float | None]:
    """Slopes of the edges of a hull that end and begin at one x; None where there is none. Within an edge: its own."""
    before = after = None
    for left, right in pairwise(corners):
        slope = (y[right] - y[left]) / (x[right] - x[left])
        if x[left] < at <= x[right]:
            before = slope
        if x[left] <= at < x[right]:
            after = slope
    return before, after


def _hull(x: list[float], y: list[float], order: Sequence[int], sign: float) -> list[int]:
    """Corners of the upper (sign 1) or the lower (sign -1) convex hull, in rising order of x."""
    corners: list[int] = []
    for point in order:
        if corners and x[point] == x[corners[-1]]:
            if sign * (y[point] - y[corners[-1]]) <= 0.0:
                continue
            corners.pop()
        while len(corners) > 1:
            a, b = corners[-2], corners[-1]
            if sign * ((x[b] - x[a]) * (y[point] - y[a]) - (y[b] - y[a]) * (x[point] - x[a])) < 0.0:
                break
            corners.pop()
        corners.append(point)
    return corners


def _widest(
    x: list[float], y: list[float], corners: list[int], facing: list[int], sign: float
) -> tuple[float, int, int, int, float]:
    """The corner farthest from the facing hull: gap, corner, ends of the edge that it faces, sign."""
    widest = (-1.0, 0, 0, 0, sign)
    edge = 0
    for corner in corners:
        while edge < len(facing) - 2 and x[facing[edge + 1]] < x[corner]:
            edge += 1
        left, right = facing[edge], facing[edge + 1]
        share = (x[corner] - x[left]) / (x[right] - x[left])
        gap = sign * (y[corner] - (1.0 - share) * y[left] - share * y[right])
        if gap > widest[0]:
            widest = (gap, corner, left, right, sign)
    return widest
