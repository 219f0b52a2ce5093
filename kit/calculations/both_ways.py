"""Up and down runs held against each other, command by command."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.basis.quantity import Quantity
from kit.calculations.points import WITHIN_PCT
from kit.calculations.position import Runs

__all__ = ["Ways", "commands_both_ways", "compare_ways", "hysteretic_error"]

WIDEST_GAP_PCT: Final = 30.0  # House definition: a curve is not interpolated across more [% of command range]
_ROUNDING_PCT: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """The way up less the way down at k test points, in rising order of command."""

    point: IntArray  # (k,) test point
    up_pct: FloatArray  # (k,) error on the way up [% of travel span]
    down_pct: FloatArray  # (k,) error on the way down
    share: FloatArray  # (k, m) how far the mean of each test point enters, on the way that was not read at ``point``
    interpolated: IntArray  # (k,) 0: read both ways; 1: the way up is interpolated to it; -1: the way down

    @property
    def difference_pct(self) -> FloatArray:
        """The way up less the way down, shape (k,) [% of travel span]."""
        difference: FloatArray = self.up_pct - self.down_pct
        return difference


def compare_ways(runs: Runs) -> Ways:
    """Hold the way up against the way down wherever both are known.

    Parameters
    ----------
    runs : Runs
        Brought to test points by :func:`~kit.calculations.position.reduce_runs`.

    Returns
    -------
    Ways
        Empty arrays where the two ways have no command in common and none lies within the span of the other.

    Notes
    -----
    **House definition**: at a test point that was read both ways, the two means. At one that was read one way only, the
    error curve of the other way is interpolated to its command, linearly between that way's two neighbouring points,
    within its span, and where they lie no more than 30 % of command range apart.

    Examples
    --------
    Up at 0, 50 and 100 %, down at 60 and 40 %: 50 % lies between these.

    >>> from kit.calculations.position import reduce_runs
    >>> up = [True, True, True, False, False]
    >>> ways = compare_ways(reduce_runs([0, 50, 100, 60, 40], [0, 0, 0, 2, 1], up, [1, 1, 1, 1, 1]))
    >>> ways.point.tolist(), ways.difference_pct.tolist()
    ([2], [-1.5])
    """
    up, down = runs.up_mean_pct.copy(), runs.down_mean_pct.copy()
    share = np.zeros((up.size, up.size))
    interpolated = np.zeros(up.size, dtype=np.intp)
    for way, (mean, other) in ((1, (up, runs.down_count > 0)), (-1, (down, runs.up_count > 0))):
        known = np.isfinite(mean)
        for point in np.flatnonzero(~known & other).tolist():
            of_neighbours = _share(runs.point_command_pct, known, point)
            if of_neighbours is not None:
                share[point], interpolated[point] = of_neighbours, way
                mean[point] = float(of_neighbours[known] @ mean[known])
    both = np.flatnonzero(np.isfinite(up) & np.isfinite(down))
    return Ways(both, up[both], down[both], share[both], interpolated[both])


def hysteretic_error(runs: Runs) -> Quantity:
    """Greatest difference between the way up and the way down at one command.

    Parameters
    ----------
    runs : Runs
        Brought to test points by :func:`~kit.calculations.position.reduce_runs`.

    Returns
    -------
    Quantity
        0 or above [% of travel span]; hysteresis plus dead band. None unless some command is known both ways.

    References
    ----------
    IEC 61298-2:2008, hysteresis: greatest difference of up and down averages. Where up and down commands do not meet:
    **House definition**, as :func:`compare_ways` interpolates.

    Examples
    --------
    >>> from kit.calculations.position import reduce_runs
    >>> runs = reduce_runs([0, 50, 50], [0, -0.25, 0.5], [True, True, False], [1, 1, 1])
    >>> hysteretic_error(runs).value
    0.75
    """
    ways = compare_ways(runs)
    if ways.point.size == 0:
        return Quantity(None, "no command with readings in both directions")
    widest = int(np.abs(ways.difference_pct).argmax())
    value, point = float(ways.difference_pct[widest]), int(ways.point[widest])
    sign = -1.0 if value < 0 else 1.0
    return Quantity(abs(value), point=point, weights=sign * _weights(runs, ways, widest), averaged=True)


def commands_both_ways(runs: Runs, *, end_within_pct: float = WITHIN_PCT) -> int:
    """At how many commands between the ends the way up can be held against the way down.

    Notes
    -----
    **House definition**: between the ends is farther than ``end_within_pct`` from 0 and from 100 % command. Where
    commands do not meet, those of the way with more of them that lie within the span of the other; never more than
    either way has.

    Examples
    --------
    Up at 25, 50 and 75 %, down at 74, 49 and 24 %: three commands of the way down lie among those of the way up.

    >>> from kit.calculations.position import reduce_runs
    >>> commands, up = [0, 25, 50, 75, 100, 74, 49, 24, 0], [True] * 5 + [False] * 4
    >>> commands_both_ways(reduce_runs(commands, [0.0] * 9, up, [1] * 9))
    3
    """
    ways = compare_ways(runs)
    edge = end_within_pct + _ROUNDING_PCT
    inner = (runs.point_command_pct > edge) & (runs.point_command_pct < 100.0 - edge)
    at_up = np.count_nonzero(inner[ways.point] & (ways.interpolated <= 0))
    at_down = np.count_nonzero(inner[ways.point] & (ways.interpolated >= 0))
    read_up, read_down = (np.count_nonzero(inner & (count > 0)) for count in (runs.up_count, runs.down_count))
    return int(min(max(at_up, at_down), read_up, read_down))


def _share(command: FloatArray, known: BoolArray, point: int) -> FloatArray | None:
    """How far the two known neighbours enter at a test point, shape (m,); None: it cannot be interpolated."""
    below, above = np.flatnonzero(known[:point]), np.flatnonzero(known[point + 1 :]) + point + 1
    if not below.size or not above.size:
        return None
    low, high = int(below[-1]), int(above[0])
    gap = float(command[high] - command[low])
    if gap > WIDEST_GAP_PCT + _ROUNDING_PCT:
        return None
    share = np.zeros(command.size)
    share[high] = float(command[point] - command[low]) / gap
    share[low] = 1.0 - share[high]
    return share


def _weights(runs: Runs, ways: Ways, place: int) -> FloatArray:
    """d(up less down)/d(error of each reading), shape (n,)."""
    here, point = int(ways.point[place]), runs.point
    share, way = ways.share[place], int(ways.interpolated[place])
    up = share if way > 0 else np.where(np.arange(share.size) == here, 1.0, 0.0)
    down = share if way < 0 else np.where(np.arange(share.size) == here, 1.0, 0.0)
    of_up = up[point] / np.maximum(runs.up_count[point], 1)
    of_down = down[point] / np.maximum(runs.down_count[point], 1)
    weights: FloatArray = np.where(runs.rising, of_up, -of_down)
    return weights
