"""Valves and measurements that the tests of the virtual valve share."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from tests.making.valves import Controller, Feedback, Logger, Mechanics, Motion, Motor, Routine, VirtualValve

STEP_S = 0.002

PLAIN = VirtualValve(
    motor=Motor(open_speed_pct_s=5.0, close_speed_pct_s=4.0, start_delay_s=0.0, coast_pct=0.0),
    controller=Controller(dead_band_pct=1.0, stop_share=0.5),
    mechanics=Mechanics(play_before_pct=0.0, play_after_pct=0.0),
)
"""No delays, no coast, no play: opens at 5 %/s, closes at 4 %/s, stops 0.25 % short of its set point."""

FAITHFUL = Logger(
    rate_hz=100.0,
    command_noise_pct=0.0,
    feedback_noise_pct=0.0,
    position_noise_pct=0.0,
    supply_noise_v=0.0,
    command_resolution_pct=0.0,
    feedback_resolution_pct=0.0,
    position_resolution_pct=0.0,
    supply_resolution_v=0.0,
)


def with_motor(valve: VirtualValve, **changes: Any) -> VirtualValve:
    return replace(valve, motor=replace(valve.motor, **changes))


def with_controller(valve: VirtualValve, **changes: Any) -> VirtualValve:
    return replace(valve, controller=replace(valve.controller, **changes))


def with_mechanics(valve: VirtualValve, **changes: Any) -> VirtualValve:
    return replace(valve, mechanics=replace(valve.mechanics, **changes))


def with_feedback(valve: VirtualValve, **changes: Any) -> VirtualValve:
    return replace(valve, feedback=Feedback(**changes))


def at(motion: Motion, time_s: float, values: np.ndarray) -> float:
    return float(np.interp(time_s, motion.time_s, values))


def up_and_down(command_pct: float = 50.0) -> Routine:
    """To a command from 20 % below, then from 20 % above, 40 s each."""
    below, above = command_pct - 20.0, command_pct + 20.0
    return Routine(below).rest(20.0).hold(command_pct, 40.0).hold(above, 40.0).hold(command_pct, 40.0)
