"""Responses that textbooks give in closed form, sampled wherever one likes: first order, two lags, second order."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, floats
from tests.making.valves.virtual_valve import VirtualValveError


def first_order_response(time_s: ArrayLike, *, lag_s: float, dead_time_s: float = 0.0) -> FloatArray:
    """Unit step response of a first-order lag behind a dead time, elementwise.

    Parameters
    ----------
    time_s : array, any shape
        Time since the step of the command [s]; before the step it is negative. nan gives nan.
    lag_s, dead_time_s : float
        Time constant and dead time [s].

    Returns
    -------
    array
        Same shape [share of the step]: it reaches a share p at dead time - lag ln(1 - p).

    References
    ----------
    1 - exp(-(t - Td) / tau), any textbook of process control.

    Examples
    --------
    >>> round(float(first_order_response(3.5, lag_s=3.0, dead_time_s=0.5)), 6)
    0.632121
    """
    _require_positive(lag_s=lag_s)
    return -np.expm1(-_since(time_s, dead_time_s) / lag_s)


def two_lag_response(
    time_s: ArrayLike, *, first_lag_s: float, second_lag_s: float, dead_time_s: float = 0.0
) -> FloatArray:
    """Unit step response of two first-order lags in series, elementwise.

    Parameters
    ----------
    time_s, dead_time_s
        As for :func:`first_order_response`.
    first_lag_s, second_lag_s : float
        Time constants [s]; equal ones are allowed.

    References
    ----------
    1 - (a exp(-t/a) - b exp(-t/b)) / (a - b), and 1 - (1 + t/a) exp(-t/a) for equal lags: any textbook of process
    control.

    Examples
    --------
    >>> round(float(two_lag_response(1.0, first_lag_s=1.0, second_lag_s=1.0)), 6)
    0.264241
    """
    _require_positive(first_lag_s=first_lag_s, second_lag_s=second_lag_s)
    time = _since(time_s, dead_time_s)
    if math.isclose(first_lag_s, second_lag_s, rel_tol=1e-6):
        return 1.0 - (1.0 + time / first_lag_s) * np.exp(-time / first_lag_s)
    fades = first_lag_s * np.exp(-time / first_lag_s) - second_lag_s * np.exp(-time / second_lag_s)
    response: FloatArray = 1.0 - fades / (first_lag_s - second_lag_s)
    return response


def second_order_response(
    time_s: ArrayLike, *, damping: float, natural_rad_s: float, dead_time_s: float = 0.0
) -> FloatArray:
    """Unit step response of a second-order system that swings, elementwise.

    Parameters
    ----------
    time_s, dead_time_s
        As for :func:`first_order_response`.
    damping : float
        Damping ratio [-], above 0 and below 1; two lags do not swing.
    natural_rad_s : float
        Undamped natural frequency [rad/s].

    References
    ----------
    1 - exp(-z w t) (cos wd t + z / sqrt(1 - z^2) sin wd t) with wd = w sqrt(1 - z^2): any textbook of control. It
    overshoots by exp(-pi z / sqrt(1 - z^2)) at pi / wd.

    Examples
    --------
    >>> round(float(second_order_response(1.813799, damping=0.5, natural_rad_s=2.0)), 6)
    1.163034
    """
    _require_positive(natural_rad_s=natural_rad_s)
    if not 0.0 < damping < 1.0:
        raise VirtualValveError(
            f"second_order_response: a damping of {damping:g} does not swing; give one above 0 and below 1, "
            "or use two_lag_response."
        )
    time = _since(time_s, dead_time_s)
    root = math.sqrt(1.0 - damping**2)
    phase = natural_rad_s * root * time
    swings = np.cos(phase) + damping / root * np.sin(phase)
    response: FloatArray = 1.0 - np.exp(-damping * natural_rad_s * time) * swings
    return response


def constant_speed_response(time_s: ArrayLike, *, duration_s: float, dead_time_s: float = 0.0) -> FloatArray:
    """Unit step response of a motor of constant speed, elementwise.

    Parameters
    ----------
    time_s, dead_time_s
        As for :func:`first_order_response`.
    duration_s : float
        From the first motion to the end of travel [s].

    References
    ----------
    Uniform motion: it reaches a share p at dead time + p duration.

    Examples
    --------
    >>> constant_speed_response([0.5, 5.5, 20], duration_s=10, dead_time_s=0.5).tolist()
    [0.0, 0.5, 1.0]
    """
    _require_positive(duration_s=duration_s)
    return np.minimum(_since(time_s, dead_time_s) / duration_s, 1.0)


def _since(time_s: ArrayLike, dead_time_s: float) -> FloatArray:
    return np.maximum(floats(time_s) - dead_time_s, 0.0)


def _require_positive(**parameters: float) -> None:
    for name, value in parameters.items():
        if not 0.0 < value < math.inf:
            raise VirtualValveError(f"{name} is {value:g}; give a finite number above 0.")
