"""Stroke times."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, floats
from kit.basis.quantity import Quantity
from kit.calculations.repeats import mean, mean_within


def stroke_time(time_s: ArrayLike, at_most_s: ArrayLike | None = None) -> Quantity:
    """Mean time of the runs of one direction.

    Parameters
    ----------
    time_s : array, shape (n,)
        From the command to the end of travel [s]. A nan or an infinity is skipped.
    at_most_s : array, shape (n,), or None
        Where some runs were read as a bound: what each took at most, ``time_s`` being what it took at least [s].

    Returns
    -------
    Quantity
        The mean [s], bounded where a run is; None without a run.

    References
    ----------
    JCGM 100:2008, 4.2.1. **House definition**: all runs of a direction are averaged.

    Examples
    --------
    >>> stroke_time([29.0, 30.0, float("nan")]).value
    29.5
    >>> stroke_time([60.0, 30.0], [float("inf"), 30.0]).within
    (45.0, inf)
    """
    if at_most_s is None:
        return mean(time_s, "no timed run")
    return mean_within(time_s, at_most_s, "no timed run")


def expected_stroke_time_s(full_speed_time_s: ArrayLike, speed_setting_pct: ArrayLike) -> FloatArray:
    """Stroke time that a speed setting should give, elementwise.

    Parameters
    ----------
    full_speed_time_s : array, any shape
        Stroke time at full speed [s].
    speed_setting_pct : array, any shape
        Speed setting [% of full speed]. 0 or below gives nan, and so does a nan.

    Returns
    -------
    array
        Broadcast shape [s].

    References
    ----------
    **House definition**: speed is proportional to its setting, so that time goes with 100 / setting.

    Examples
    --------
    >>> float(expected_stroke_time_s(20.0, 40.0))
    50.0
    """
    setting = floats(speed_setting_pct)
    return floats(full_speed_time_s) * 100.0 / np.where(setting > 0, setting, np.nan)
