"""Dead band and resolution of a valve: by formula, or, where none holds, by a quiet staircase of tiny steps."""

from __future__ import annotations

from dataclasses import replace
from math import ceil
from typing import Final

import numpy as np

from tests.making.valves import Routine, VirtualValve, run_motion, truth_of
from tests.making.valves.closed_forms import dead_band_pct, resolution_pct
from tests.making.valves.virtual_valve import DIRECTIONS

_STEP_PCT: Final = 0.02
_TURNS_PCT: Final = (52.0, 48.63, 51.51, 48.0, 51.29, 47.87, 52.0)  # a jump ends anywhere before each
_STEP_S: Final = 0.004
_MORE_PULSES: Final = 2  # beyond those that the way from start to stop takes


def smallest_of(valve: VirtualValve, *, by_feedback: bool = False) -> tuple[float | None, float | None]:
    """Dead band and resolution [% of command range] at 50 %.

    Notes
    -----
    **House definition**. By the formulas; of a valve that slows down near its set point by a staircase. By feedback,
    what lies behind its pick-up does not show: there is neither play nor stiction.
    """
    if by_feedback:
        valve = replace(valve, mechanics=replace(valve.mechanics, play_after_pct=0.0, stick_pct=0.0, slip_pct=0.0))
    if valve.controller.slow_zone_pct > 0.0:
        return by_staircase(valve)
    return dead_band_pct(valve), resolution_pct(valve)


def by_staircase(valve: VirtualValve) -> tuple[float | None, float | None]:
    """Dead band and resolution [% of command range], means over a staircase about 50 % that turns six times.

    Notes
    -----
    **House definition**. Steps of 0.02 %, each answered to its end before the next: what a slow approach takes is
    waited for, or one start would be taken for two answers. Half a step is taken off, since the command that moves the
    stem lies anywhere within the last one. A valve that sticks jumps by more than such a step, and how far it has
    been pulled when the command turns is a matter of chance: its dead band is the mean over turns at different
    places.
    """
    routine = Routine(44.0).rest(10.0).step(48.0, 60.0)
    for turn_pct in _TURNS_PCT:
        way = turn_pct - routine.last_pct
        count = round(abs(way) / _STEP_PCT)
        routine = routine.steps(float(np.copysign(_STEP_PCT, way)), count, _answer_s(valve))
    found = truth_of(run_motion(valve, routine, step_s=_STEP_S), valve, routine).small_steps
    return _less_half_a_step(found.dead_bands_pct), _less_half_a_step(found.resolutions_pct)


def _answer_s(valve: VirtualValve) -> float:
    """Until the answer to a tiny step has ended [s]."""
    motor, controller = valve.motor, valve.controller
    waits_s = 1.5 * (valve.command_delay_s + controller.persist_s + motor.start_delay_s) + 1.0
    slowest_pct_s = min(motor.speed_pct_s(direction) for direction in DIRECTIONS)
    way_pct = controller.dead_band_pct / 2.0 - controller.stop_pct + _STEP_PCT
    if controller.approach_on_s > 0.0:
        pulses = ceil(way_pct / (slowest_pct_s * controller.approach_on_s)) + _MORE_PULSES
        return waits_s + pulses * (controller.approach_on_s + controller.approach_off_s)
    return waits_s + way_pct / (slowest_pct_s * max(controller.slow_share, 0.01)) + 1.0 / slowest_pct_s


def _less_half_a_step(changes_pct: tuple[float, ...]) -> float | None:
    return float(np.mean(changes_pct)) - _STEP_PCT / 2.0 if changes_pct else None
