"""Supply voltage while the motor runs."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.calculations.arrays import BoolArray
from kit.calculations.logs.figures import LogFigure, Reliance, noise, none
from kit.calculations.logs.noise import noise_of
from kit.calculations.logs.recording import Recording

_FEWEST: Final = 5


def running_supply(recording: Recording, moving: BoolArray) -> tuple[LogFigure, LogFigure]:
    """Supply voltage with the motor running, and its fall from idle.

    Parameters
    ----------
    recording : Recording
    moving : array of bool, shape (n,)
        When the valve moves.

    Returns
    -------
    tuple of LogFigure
        Running voltage [V], and dip [% of idle], positive where the voltage falls. None without the column, or
        without five samples each of rest and motion.

    Notes
    -----
    **House definition**: medians of the samples in motion and at rest.
    """
    supply = recording.supply_v
    if supply is None or not np.isfinite(supply).any():
        return none("the supply was not recorded"), none("the supply was not recorded")
    known = np.isfinite(supply)
    running, idle = supply[known & moving], supply[known & ~moving]
    if running.size < _FEWEST or idle.size < _FEWEST:
        why_not = "the supply was not recorded both at rest and in motion"
        return none(why_not), none(why_not)
    channel = noise_of(supply, recording.interval_s)
    on, off = float(np.median(running)), float(np.median(idle))
    if off <= 0.0:
        return none("the idle supply is not above 0 V"), none("the idle supply is not above 0 V")
    of_on, of_off = 1.25 * channel.of_mean(running.size), 1.25 * channel.of_mean(idle.size)
    dip = 100.0 * (off - on) / off
    slope_on, slope_off = -100.0 / off, 100.0 * on / off**2
    total = ((slope_on * of_on) ** 2 + (slope_off * of_off) ** 2) ** 0.5
    return (
        LogFigure(on, "", None, (noise(of_on, "V", "running supply"),), (Reliance("supply", on, 1.0),)),
        LogFigure(
            dip,
            "",
            None,
            (noise(total, "% of idle", "running and idle supply"),),
            (Reliance("supply", off, slope_off, 0), Reliance("supply", on, slope_on, 1)),
            {"idle_v": off, "running_v": on},
        ),
    )
