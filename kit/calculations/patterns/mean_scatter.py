"""How well the means of a calibration are known: by its repeats, by how evenly up and down differ, and by the usual."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.both_ways import compare_ways
from kit.calculations.patterns.recognise import READING_SCATTER_PCT, USUAL_FREEDOM
from kit.calculations.position import Runs
from kit.calculations.scatter import groups_of, within_groups

_MOST_FREEDOM: Final = 8.0  # House definition: no valve is an ideal device, however well its readings repeat
_NO_IDEAL_PCT: Final = 0.15  # House definition: what a sound valve departs from an ideal one by, at any point
_INNER_PCT: Final = (15.0, 85.0)  # House definition: of command, where no stop hides the difference of up and down


@dataclass(frozen=True, slots=True, eq=False)
class MeanScatter:
    """What one calibration says of its scatter and of its up and down."""

    reading_pct: float  # standard deviation of one reading [% of travel]
    point_pct: FloatArray  # (m,) of the mean at each test point [% of travel]
    freedom: float
    lost_pct: (
        float | None
    )  # mean of down less up between the ends [% of travel]; None: nothing was read both ways there
    lost_deviation_pct: float  # its standard deviation


def mean_scatter(runs: Runs) -> MeanScatter:
    """Scatter of one reading and of the means at the m test points, and how far down lies above up between the ends.

    Parameters
    ----------
    runs : Runs
        Brought to test points by :func:`~kit.calculations.position.reduce_runs`.

    Notes
    -----
    **House definition**: the usual scatter of a reading, 0.3 % with 4 degrees of freedom, pooled (JCGM 100:2008, 4.2.4)
    with what the repeats show about their means, and with what the differences of up and down between 15 and 85 %
    command show about theirs. The first and the last point, which are come to from one side only, may lie off by half
    of that difference: a rectangle more. Each may lie off an ideal valve by 0.15 %.

    Examples
    --------
    >>> from kit.calculations.position import reduce_runs
    >>> runs = reduce_runs([0, 50, 100, 50], [0.0, -0.5, 0.0, 0.5], [True, True, True, False], [1] * 4)
    >>> found = mean_scatter(runs)
    >>> found.lost_pct, found.reading_pct, found.point_pct.round(3).tolist()
    (1.0, 0.3, [0.443, 0.26, 0.443])
    """
    squares, freedom = within_groups(runs.error_pct, groups_of(runs.point, runs.rising))
    total, known = USUAL_FREEDOM * READING_SCATTER_PCT**2 + float(squares.sum()), USUAL_FREEDOM + float(freedom.sum())
    lost, share, of_ways = _lost(runs)
    if of_ways is not None:
        total, known = total + of_ways[0], known + of_ways[1]
    reading = sqrt(total / known)
    counts = np.vstack([runs.up_count, runs.down_count]).astype(float)
    sides = (counts > 0).sum(axis=0)
    variance = np.divide(1.0, counts, out=np.zeros_like(counts), where=counts > 0).sum(axis=0) / sides**2 * reading**2
    variance += _NO_IDEAL_PCT**2
    variance[[0, -1]] += (lost or 0.0) ** 2 / 12.0
    return MeanScatter(reading, np.sqrt(variance), min(known, _MOST_FREEDOM), lost, reading * share)


def _lost(runs: Runs) -> tuple[float | None, float, tuple[float, float] | None]:
    """Mean of down less up, its deviation for a scatter of 1, and sum of squares and freedom about it."""
    ways = compare_ways(runs)
    command = runs.point_command_pct[ways.point]
    inner = (command > _INNER_PCT[0]) & (command < _INNER_PCT[1])
    if not inner.any():
        return None, 0.0, None
    difference = -ways.difference_pct[inner]
    point = ways.point[inner]
    share = 1.0 / np.maximum(runs.up_count[point], 1) + 1.0 / np.maximum(runs.down_count[point], 1)
    mean = float(np.average(difference, weights=1.0 / share))
    squares = float(((difference - mean) ** 2 / share).sum())
    return mean, float(1.0 / np.sqrt((1.0 / share).sum())), (squares, float(difference.size - 1))
