"""Errors over a calibration: zero, span, inaccuracy and repeatability."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import BoolArray, CalculationInputError, FloatArray, IntArray, series, single
from kit.basis.quantity import Quantity
from kit.calculations.points import WITHIN_PCT, group_commands
from kit.calculations.repeats import greatest

__all__ = [
    "Runs",
    "curve_weights",
    "group_commands",
    "inaccuracy",
    "reduce_runs",
    "repeatability",
    "span_error",
    "zero_error",
]

_ROUNDING_PCT: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Up and down runs brought to test points: n readings, m points in rising order of command."""

    input_pct: FloatArray  # (n,) what the error is a function of: command, or position for feedback
    error_pct: FloatArray  # (n,)
    rising: BoolArray  # (n,) taken on the way up
    cycle: FloatArray  # (n,) nan: not recorded
    point: IntArray  # (n,) test point of the reading
    kept: IntArray  # (n,) which of the readings given this one was
    point_command_pct: FloatArray  # (m,) mean command
    point_input_pct: FloatArray  # (m,) mean input
    up_mean_pct: FloatArray  # (m,) mean error of the up readings; nan where there is none
    down_mean_pct: FloatArray  # (m,)
    curve_pct: FloatArray  # (m,) mean of up mean and down mean, or the one there is
    up_count: IntArray  # (m,)
    down_count: IntArray  # (m,)


def reduce_runs(
    command_pct: ArrayLike,
    error_pct: ArrayLike,
    rising: ArrayLike,
    cycle: ArrayLike,
    *,
    input_pct: ArrayLike | None = None,
) -> Runs:
    """Bring readings to test points and average them by direction.

    Parameters
    ----------
    command_pct : array, shape (n,)
        Measured command [% of command range].
    error_pct : array, shape (n,)
        Measured minus ideal, each for its own command [% of travel span].
    rising : array of bool, shape (n,)
        True on the way up, False on the way down.
    cycle : array, shape (n,)
        Number of the cycle; nan where it was not recorded.
    input_pct : array, shape (n,), or None
        What the error is a function of, such as the measured position for a feedback error
        [% of travel]. None: the command.

    Returns
    -------
    Runs
        A reading with a nan or an infinity in command, error or input is left out; ``kept`` says which
        stayed. No reading left: empty arrays.

    References
    ----------
    ANSI/ISA-51.1, calibration curve: the mean of upscale and downscale readings. **House definition**:
    test points as in :func:`~kit.calculations.points.group_commands`; up mean and down mean weigh the
    same whatever their counts.

    Examples
    --------
    >>> runs = reduce_runs([0, 50, 100, 50], [0.1, -0.2, 0.3, 0.2], [True, True, True, False], [1, 1, 1, 1])
    >>> runs.point_command_pct.tolist(), runs.curve_pct.tolist()
    ([0.0, 50.0, 100.0], [0.1, 0.0, 0.3])
    """
    command = series(command_pct, "command_pct")
    error = series(error_pct, "error_pct", length=command.size)
    up = np.atleast_1d(np.asarray(rising, dtype=np.bool_))
    cycles = series(cycle, "cycle", length=command.size)
    inputs = command if input_pct is None else series(input_pct, "input_pct", length=command.size)
    if up.shape != command.shape:
        raise CalculationInputError(f"rising has shape {up.shape} beside {command.size} readings; give one a reading.")
    kept = np.flatnonzero(np.isfinite(command) & np.isfinite(error) & np.isfinite(inputs))
    if kept.size < command.size:
        command, error, up, cycles, inputs = command[kept], error[kept], up[kept], cycles[kept], inputs[kept]
    return _average(command, error, up, cycles, inputs, kept)


def zero_error(runs: Runs, *, at_command_pct: float = 0.0, within_pct: float = WITHIN_PCT) -> Quantity:
    """Mean error of the readings at 0 % command.

    Parameters
    ----------
    runs : Runs
        Brought to test points by :func:`reduce_runs`.
    at_command_pct : float
        The command asked about [% of command range]; 100 for the closed end of a reverse action.
    within_pct : float
        How near to it a test point has to lie [% of command range].

    Returns
    -------
    Quantity
        Signed [% of travel span]. None without a test point there.

    References
    ----------
    ANSI/ISA-51.1, "zero error". **House definition**: the plain mean of all readings of the point.

    Examples
    --------
    >>> runs = reduce_runs([0, 100, 0], [0.25, 0.5, 0.75], [True, True, False], [1, 1, 1])
    >>> zero_error(runs).value
    0.5
    """
    point = _point_at(runs, at_command_pct, within_pct)
    if point is None:
        return Quantity(None, _no_readings_at(at_command_pct, within_pct))
    value, weights = _mean_error(runs, point)
    return Quantity(value, point=point, weights=weights, averaged=True)


def span_error(
    runs: Runs, *, from_command_pct: float = 0.0, to_command_pct: float = 100.0, within_pct: float = WITHIN_PCT
) -> Quantity:
    """Mean error at 100 % command minus mean error at 0 % command.

    Parameters
    ----------
    runs : Runs
        Brought to test points by :func:`reduce_runs`.
    from_command_pct, to_command_pct : float
        The two commands [% of command range].
    within_pct : float
        How near to each of them a test point has to lie [% of command range].

    Returns
    -------
    Quantity
        Signed [% of travel span]. None without test points at both.

    References
    ----------
    ANSI/ISA-51.1, "span error": difference between actual span and ideal span. **House definition**:
    from the plain means of all readings of the two points.

    Examples
    --------
    >>> runs = reduce_runs([0, 100, 0], [0.25, 0.75, 0.75], [True, True, False], [1, 1, 1])
    >>> span_error(runs).value
    0.25
    """
    start, end = (_point_at(runs, at, within_pct) for at in (from_command_pct, to_command_pct))
    if start is None or end is None:
        missing = from_command_pct if start is None else to_command_pct
        return Quantity(None, _no_readings_at(missing, within_pct))
    start_error, start_weights = _mean_error(runs, start)
    end_error, end_weights = _mean_error(runs, end)
    return Quantity(end_error - start_error, point=end, weights=end_weights - start_weights, averaged=True)


def inaccuracy(runs: Runs) -> Quantity:
    """Error of greatest magnitude of any single reading, with its sign.

    Parameters
    ----------
    runs : Runs
        Brought to test points by :func:`reduce_runs`.

    Returns
    -------
    Quantity
        As :func:`~kit.calculations.repeats.greatest`, with the test point of the reading.

    References
    ----------
    ANSI/ISA-51.1, "accuracy, measured". IEC 61298-2:2008, inaccuracy.

    Examples
    --------
    >>> inaccuracy(reduce_runs([0, 50], [0.25, -0.5], [True, True], [1, 1])).value
    -0.5
    """
    found = greatest(runs.error_pct)
    if found.value is None or found.reading is None:
        return found
    return Quantity(
        found.value,
        point=int(runs.point[found.reading]),
        reading=found.reading,
        weights=found.weights,
        beside=found.beside,
    )


def repeatability(runs: Runs) -> Quantity:
    """Greatest spread of same-direction readings at one test point over the cycles.

    Parameters
    ----------
    runs : Runs
        Brought to test points by :func:`reduce_runs`.

    Returns
    -------
    Quantity
        0 or above [% of travel span]. ``reading`` is the higher of the two that decide. None unless some
        point has two readings in one direction, from two cycles where cycles are recorded.

    References
    ----------
    43 CFR 3175.135 (US), repeatability: the greatest difference among the ascending, or among the
    descending, values at one input. **House definition**: a reading without a cycle is a cycle of its own.

    Examples
    --------
    >>> runs = reduce_runs([50, 50, 50], [0.25, 0.5, 0.0], [True, True, False], [1, 2, 1])
    >>> repeatability(runs).value
    0.25
    """
    groups: dict[int, list[int]] = {}
    for reading, group in enumerate((2 * runs.point + runs.rising).tolist()):
        groups.setdefault(group, []).append(reading)
    cycles, errors = runs.cycle.tolist(), runs.error_pct.tolist()
    widest: tuple[float, int, int] | None = None
    for readings in groups.values():
        # A nan equals nothing, itself included: every blank cycle counts as one of its own.
        if len(readings) < 2 or all(cycles[reading] == cycles[readings[0]] for reading in readings):
            continue
        lowest, *_, highest = sorted(readings, key=errors.__getitem__)
        spread = errors[highest] - errors[lowest]
        if widest is None or spread > widest[0]:
            widest = spread, highest, lowest
    if widest is None:
        return Quantity(None, "no command with two readings in one direction from two cycles")
    spread, highest, lowest = widest
    weights = single(highest, runs.error_pct.size) - single(lowest, runs.error_pct.size)
    return Quantity(spread, point=int(runs.point[highest]), reading=highest, weights=weights)


def curve_weights(runs: Runs) -> FloatArray:
    """Share of each reading in the mean error curve at its own point, shape (n,) [-].

    References
    ----------
    ANSI/ISA-51.1, calibration curve, as :func:`reduce_runs` averages it.

    Examples
    --------
    >>> runs = reduce_runs([0, 50, 50, 50], [0, 0, 0, 0], [True, True, True, False], [1, 1, 2, 1])
    >>> curve_weights(runs).tolist()
    [1.0, 0.25, 0.25, 0.5]
    """
    directions = (runs.up_count > 0).astype(np.intp) + (runs.down_count > 0)
    count = np.where(runs.rising, runs.up_count[runs.point], runs.down_count[runs.point])
    return 1.0 / (count * directions[runs.point])


def _average(
    command: FloatArray, error: FloatArray, up: BoolArray, cycle: FloatArray, inputs: FloatArray, kept: IntArray
) -> Runs:
    point = group_commands(command)
    points = int(point.max()) + 1 if point.size else 0
    count = np.bincount(point)
    side = 2 * point + up
    side_count = np.bincount(side, minlength=2 * points)
    side_sum = np.bincount(side, weights=error, minlength=2 * points)
    side_mean = np.full(2 * points, np.nan)
    np.divide(side_sum, side_count, out=side_mean, where=side_count > 0)
    down_mean, up_mean = side_mean[0::2], side_mean[1::2]
    down_count, up_count = side_count[0::2], side_count[1::2]
    curve = np.where(up_count == 0, down_mean, np.where(down_count == 0, up_mean, 0.5 * (up_mean + down_mean)))
    point_command = np.bincount(point, weights=command) / count
    point_input = point_command if inputs is command else np.bincount(point, weights=inputs) / count
    return Runs(
        input_pct=inputs,
        error_pct=error,
        rising=up,
        cycle=cycle,
        point=point,
        kept=kept,
        point_command_pct=point_command,
        point_input_pct=point_input,
        up_mean_pct=up_mean,
        down_mean_pct=down_mean,
        curve_pct=curve,
        up_count=up_count,
        down_count=down_count,
    )


def _point_at(runs: Runs, command_pct: float, within_pct: float) -> int | None:
    """The test point nearest to a command, if it lies near enough."""
    if runs.point_command_pct.size == 0:
        return None
    distance = np.abs(runs.point_command_pct - command_pct)
    nearest = int(distance.argmin())
    return nearest if distance[nearest] <= within_pct + _ROUNDING_PCT else None


def _no_readings_at(command_pct: float, within_pct: float) -> str:
    return f"no readings within {within_pct:g} % of {command_pct:g} % command: read there too"


def _mean_error(runs: Runs, point: int) -> tuple[float, FloatArray]:
    here = runs.point == point
    weights = here / np.count_nonzero(here)
    return float(runs.error_pct[here].mean()), weights
