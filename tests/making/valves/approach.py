"""How a controller slows its motor down near the set point."""

from __future__ import annotations

from math import ceil, log
from typing import Final

from tests.making.valves.virtual_valve import DIRECTIONS, Controller, VirtualValve

_SHORTEST_S: Final = 0.02  # for so long at least the speed stays as it was chosen
_ZONE_SHARE: Final = 0.04  # of the slow zone at full speed


def approach_share(controller: Controller, to_go_pct: float) -> float:
    """Share of full speed at an error still to go.

    Notes
    -----
    **House definition**. Full speed from the slow zone outward; within it in proportion to the error, and never below
    ``slow_share``.

    Examples
    --------
    >>> servo = Controller(slow_zone_pct=5.0, slow_share=0.1)
    >>> approach_share(servo, 8.0), approach_share(servo, 2.5), approach_share(servo, 0.1)
    (1.0, 0.5, 0.1)
    """
    if controller.slow_zone_pct == 0.0:
        return 1.0
    return min(1.0, max(controller.slow_share, to_go_pct / controller.slow_zone_pct))


def approach_s(controller: Controller, speed_pct_s: float) -> float:
    """How long the speed stays as it was chosen, within the slow zone [s]; of an approach by pulses, a pulse."""
    if controller.approach_on_s > 0.0:
        return controller.approach_on_s
    return max(_SHORTEST_S, _ZONE_SHARE * controller.slow_zone_pct / speed_pct_s)


def slow_approach_s(valve: VirtualValve) -> float:
    """About how much longer than at full speed the way through the slow zone takes [s]; 0 without one."""
    motor, controller = valve.motor, valve.controller
    if controller.slow_zone_pct == 0.0:
        return 0.0
    slowest_pct_s = min(motor.speed_pct_s(direction) for direction in DIRECTIONS)
    if controller.approach_on_s > 0.0:
        pulses = ceil(controller.slow_zone_pct / (slowest_pct_s * controller.approach_on_s))
        return pulses * (controller.approach_on_s + controller.approach_off_s)
    left = max(controller.stop_pct / controller.slow_zone_pct, 0.01)
    return controller.slow_zone_pct / slowest_pct_s * min(log(1.0 / left), 1.0 / controller.slow_share)
