"""Supply and loop voltages, elementwise."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, floats


def supply_deviation_pct(running_v: ArrayLike, nominal_v: ArrayLike) -> FloatArray:
    """Running supply voltage minus nominal.

    Parameters
    ----------
    running_v, nominal_v : array, any shape
        Voltages [V]. nan gives nan, and so does a nominal of 0 or below.

    Returns
    -------
    array
        Broadcast shape, signed [% of nominal].

    References
    ----------
    **House definition**: deviation over the nominal value.

    Examples
    --------
    >>> float(supply_deviation_pct(207.0, 230.0))
    -10.0
    """
    nominal = _above_zero(nominal_v)
    return 100.0 * (floats(running_v) - nominal) / nominal


def supply_dip_pct(idle_v: ArrayLike, running_v: ArrayLike) -> FloatArray:
    """Fall of the supply voltage from idle to running.

    Parameters
    ----------
    idle_v, running_v : array, any shape
        Voltages with the motor at rest and running [V]. nan gives nan, and so does an idle of 0 or below.

    Returns
    -------
    array
        Broadcast shape; negative where the voltage rises [% of idle].

    References
    ----------
    **House definition**: the fall over the idle value.

    Examples
    --------
    >>> round(float(supply_dip_pct(24.0, 22.8)), 9)
    5.0
    """
    idle = _above_zero(idle_v)
    return 100.0 * (idle - floats(running_v)) / idle


def loop_margin_v(
    loop_supply_v: ArrayLike, loop_ohm: ArrayLike, device_min_v: ArrayLike, *, current_ma: float = 20.0
) -> FloatArray:
    """Voltage left at the device beyond what it needs.

    Parameters
    ----------
    loop_supply_v, device_min_v : array, any shape
        Supply of the loop and the least voltage that the device works with [V].
    loop_ohm : array, any shape
        Resistance of the whole loop without the device [ohm]. nan in any of the three gives nan.
    current_ma : float
        Current at which the margin is wanted [mA].

    Returns
    -------
    array
        Broadcast shape, signed [V]; negative where the loop can't drive the current.

    References
    ----------
    Ohm's law round the loop, the rearrangement of :func:`loop_resistance_max_ohm`.

    Examples
    --------
    >>> float(loop_margin_v(24.0, 250.0, 12.0))
    7.0
    """
    return floats(loop_supply_v) - floats(loop_ohm) * current_ma / 1000.0 - floats(device_min_v)


def loop_resistance_max_ohm(supply_v: ArrayLike, device_min_v: ArrayLike, current_ma: ArrayLike) -> FloatArray:
    """Greatest loop resistance that leaves the device its least voltage.

    Parameters
    ----------
    supply_v, device_min_v : array, any shape
        Supply of the loop and the least voltage that the device works with [V].
    current_ma : array, any shape
        Loop current [mA]. nan gives nan, and so does a current of 0 or below.

    Returns
    -------
    array
        Broadcast shape [ohm]; negative where the supply is below the device's least voltage.

    References
    ----------
    R_max = (V_supply - V_device,min) / I, Ohm's law round the loop.

    Examples
    --------
    >>> float(loop_resistance_max_ohm(24.0, 12.0, 20.0))
    600.0
    """
    return 1000.0 * (floats(supply_v) - floats(device_min_v)) / _above_zero(current_ma)


def _above_zero(values: ArrayLike) -> FloatArray:
    array = floats(values)
    return np.where(array > 0, array, np.nan)
