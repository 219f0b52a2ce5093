"""Signals as percentages of their range, the ideal position for a command, and when a signal is lost."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import BoolArray, CalculationInputError, FloatArray, floats
from kit.basis.signals import SignalRange

CurrentState = Literal["failure_low", "measuring", "failure_high", "undefined"]

_ROUNDING_PCT: Final = 1e-9  # 3.92 mA on 4-20 mA is -0.5 %, whatever its last binary digit

_FAILURE_LOW_MA: Final = 3.6
_FAILURE_LOW_SHARE: Final = 0.9  # of a live zero in volts; house definition: 3.6 of 4
_MEASURING_MA: Final = (3.8, 20.5)
_FAILURE_HIGH_MA: Final = 21.0


def to_percent(value: ArrayLike, low: float, high: float) -> FloatArray:
    """Share of its range that a signal stands at, elementwise.

    Parameters
    ----------
    value : array, any shape
        Signal in the unit of the range [mA or V]. nan gives nan.
    low, high : float
        What stands for 0 % and for 100 % [same unit]. ``high`` may be the lower of the two.

    Returns
    -------
    array
        Same shape [% of range]. Not clipped.

    References
    ----------
    T. R. Kuphaldt, Lessons In Industrial Instrumentation, section 13.2.

    Examples
    --------
    >>> round(float(to_percent(8.55, 4, 20)), 9)
    28.4375
    """
    _require_span(low, high)
    return 100.0 * (floats(value) - low) / (high - low)


def from_percent(pct: ArrayLike, low: float, high: float) -> FloatArray:
    """Signal that stands for a share of its range, elementwise: the inverse of :func:`to_percent`.

    Parameters
    ----------
    pct : array, any shape
        Share of the range [% of range]. nan gives nan.
    low, high : float
        What stands for 0 % and for 100 % [mA or V].

    References
    ----------
    T. R. Kuphaldt, Lessons In Industrial Instrumentation, section 13.2.

    Examples
    --------
    >>> round(float(from_percent(34.7, 4, 20)), 3)
    9.552
    """
    _require_span(low, high)
    return low + floats(pct) / 100.0 * (high - low)


def ideal_position_pct(
    command_pct: ArrayLike,
    *,
    reverse: bool = False,
    rangeability: float | None = None,
    shut_below_pct: float | None = None,
    open_above_pct: float | None = None,
) -> FloatArray:
    """Position that a command asks for, elementwise: within 0 to 100 %, whatever the command.

    Parameters
    ----------
    command_pct : array, any shape
        Command [% of command range]. nan gives nan.
    reverse : bool
        100 % command asks for closed: the command is turned round, x becomes 100 - x, before all else.
    rangeability : float or None
        R of the equal percentage characteristic 100 R^(x - 1) of the command fraction x [-], above 1.
        None: linear.
    shut_below_pct, open_above_pct : float or None
        Tight shut-off: a command below the one asks for 0 %, above the other for 100 % [% of command range, turned
        round where the action is reverse]. None: the characteristic alone.

    Returns
    -------
    array
        Same shape [% of travel]. Equal percentage asks for 100/R at 0 % command, and for shut with ``shut_below_pct``
        alone.

    References
    ----------
    IEC 60534-2-4:2009, equal percentage flow characteristic, with the smallest relative flow
    coefficient 1/R. **House definition**: it is applied to travel; the ideal is held at the ends, so that a valve on
    its stop at 3.93 mA has no error.

    Examples
    --------
    >>> ideal_position_pct([-0.4, 25, 100.2, 110]).tolist()
    [0.0, 25.0, 100.0, 100.0]
    >>> round(float(ideal_position_pct(50, rangeability=50)), 3)
    14.142
    >>> ideal_position_pct([0, 1, 2, 99], rangeability=50, shut_below_pct=2, open_above_pct=98).round(2).tolist()
    [0.0, 0.0, 2.16, 100.0]
    """
    turned = _turned_pct(command_pct, reverse)
    asked = np.clip(turned, 0.0, 100.0)
    if rangeability is not None:
        _require_rangeability(rangeability)
        asked = 100.0 * rangeability ** (asked / 100.0 - 1.0)
    shut, opened = _at_a_stop(turned, shut_below_pct, open_above_pct)
    ideal: FloatArray = np.where(shut, 0.0, np.where(opened, 100.0, asked))
    return ideal


def ideal_slope(
    command_pct: ArrayLike,
    *,
    reverse: bool = False,
    rangeability: float | None = None,
    shut_below_pct: float | None = None,
    open_above_pct: float | None = None,
) -> FloatArray:
    """Change of the ideal position with the command, elementwise: how a command error shows in position.

    Parameters
    ----------
    command_pct : array, any shape
        Command [% of command range]. nan gives nan.
    reverse, rangeability, shut_below_pct, open_above_pct
        As for :func:`ideal_position_pct`.

    Returns
    -------
    array
        Same shape [% of travel per % of command]; 0 where the ideal is held at an end. At 0 and at 100 % itself it is
        that of the inside.

    References
    ----------
    The derivative of :func:`ideal_position_pct`: R^(x - 1) ln R for equal percentage.

    Examples
    --------
    >>> ideal_slope([50, 100, 100.2], reverse=True).tolist()
    [-1.0, -1.0, 0.0]
    """
    turned = _turned_pct(command_pct, reverse)
    outside = (turned < -_ROUNDING_PCT) | (turned > 100.0 + _ROUNDING_PCT)
    shut, opened = _at_a_stop(turned, shut_below_pct, open_above_pct)
    slope = np.where(outside | shut | opened, 0.0, -1.0 if reverse else 1.0)
    slope = np.where(np.isnan(turned), np.nan, slope)
    if rangeability is None:
        return slope
    _require_rangeability(rangeability)
    steepness: FloatArray = rangeability ** (np.clip(turned, 0.0, 100.0) / 100.0 - 1.0) * np.log(rangeability)
    return slope * steepness


def ne43_state(current_ma: float) -> CurrentState:
    """What a current on a 4-20 mA loop says about the signal.

    Parameters
    ----------
    current_ma : float
        Loop current [mA]. nan is "undefined", and so are the gaps between the levels.

    References
    ----------
    NAMUR NE 43: failure at 3.6 mA and below or 21.0 mA and above, measurement from 3.8 to 20.5 mA.

    Examples
    --------
    >>> ne43_state(3.6), ne43_state(3.7), ne43_state(12.0)
    ('failure_low', 'undefined', 'measuring')
    """
    if current_ma <= _FAILURE_LOW_MA:
        return "failure_low"
    if current_ma >= _FAILURE_HIGH_MA:
        return "failure_high"
    low, high = _MEASURING_MA
    return "measuring" if low <= current_ma <= high else "undefined"


def is_lost(signal_pct: ArrayLike, signal: SignalRange) -> BoolArray:
    """Where a signal says that its source has failed, its wire is broken or shorted, elementwise.

    Parameters
    ----------
    signal_pct : array, any shape
        Signal [% of range]. nan is no signal, and lost.
    signal : SignalRange
        Without a live zero, only an absent signal is known to be lost.

    References
    ----------
    NAMUR NE 43: failure at 3.6 mA and below, and at 21 mA and above. **House definition**: a range in volts fails at
    0.9 of its live zero, as 3.6 mA is of 4 mA; its upper end shows no failure.

    Examples
    --------
    >>> is_lost([-2.6, -2.5, -2.4, 106.2, 106.3, np.nan], SignalRange(4.0, 20.0, "mA", "4-20 mA")).tolist()
    [True, True, False, False, True, True]
    """
    found = floats(signal_pct)
    lost: BoolArray = np.isnan(found)
    if not signal.has_live_zero:
        return lost
    level = _FAILURE_LOW_MA if signal.unit == "mA" else _FAILURE_LOW_SHARE * signal.low
    lost = lost | (found <= to_percent(level, signal.low, signal.high) + _ROUNDING_PCT)
    if signal.unit == "mA":
        lost = lost | (found >= to_percent(_FAILURE_HIGH_MA, signal.low, signal.high) - _ROUNDING_PCT)
    return lost


def _turned_pct(command_pct: ArrayLike, reverse: bool) -> FloatArray:
    command = floats(command_pct)
    return 100.0 - command if reverse else command


def _at_a_stop(
    turned_pct: FloatArray, shut_below_pct: float | None, open_above_pct: float | None
) -> tuple[BoolArray, BoolArray]:
    """Where tight shut-off asks for closed, and where for open."""
    shut: BoolArray = turned_pct < (-np.inf if shut_below_pct is None else shut_below_pct - _ROUNDING_PCT)
    opened: BoolArray = turned_pct > (np.inf if open_above_pct is None else open_above_pct + _ROUNDING_PCT)
    return shut, opened


def _require_span(low: float, high: float) -> None:
    if not (np.isfinite(low) and np.isfinite(high) and low != high):
        raise CalculationInputError(f"A range from {low:g} to {high:g} has no span; give two different finite ends.")


def _require_rangeability(rangeability: float) -> None:
    if not 1.0 < rangeability < np.inf:
        raise CalculationInputError(
            f"A rangeability of {rangeability:g} gives no equal percentage curve; give a finite number above 1."
        )
