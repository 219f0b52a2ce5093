"""Loop checks: from the operator's station to the valve and back."""

from __future__ import annotations

from numpy.typing import ArrayLike

from kit.basis.arrays import difference, series
from kit.basis.quantity import Quantity
from kit.calculations.repeats import greatest

__all__ = ["greatest", "loop_command_error", "loop_feedback_error"]


def loop_command_error(position_pct: ArrayLike, ideal_pct: ArrayLike) -> Quantity:
    """Greatest valve position minus the ideal for the station output.

    Parameters
    ----------
    position_pct, ideal_pct : array, shape (n,)
        Where the valve stood and where the station output asked it to stand [% of travel]. A pair with
        a nan or an infinity is skipped.

    Returns
    -------
    Quantity
        As :func:`~kit.calculations.repeats.greatest` [% of travel span].

    References
    ----------
    **House definition**: of several, the error of greatest magnitude counts.

    Examples
    --------
    >>> loop_command_error([0.5, 49.0, 100.0], [0.0, 50.0, 100.0]).value
    -1.0
    """
    position = series(position_pct, "position_pct")
    return greatest(difference(position, series(ideal_pct, "ideal_pct", length=position.size)))


def loop_feedback_error(station_feedback_pct: ArrayLike, position_pct: ArrayLike) -> Quantity:
    """Greatest station display minus valve position.

    Parameters
    ----------
    station_feedback_pct, position_pct : array, shape (n,)
        What the station showed and where the valve stood [% of travel]. A pair with a nan or an infinity
        is skipped.

    Returns
    -------
    Quantity
        As :func:`~kit.calculations.repeats.greatest` [% of travel span].

    References
    ----------
    **House definition**: of several, the error of greatest magnitude counts.

    Examples
    --------
    >>> loop_feedback_error([1.0, 50.0], [0.5, 50.0]).value
    0.5
    """
    station = series(station_feedback_pct, "station_feedback_pct")
    return greatest(difference(station, series(position_pct, "position_pct", length=station.size)))
