"""What a virtual valve's controller drives to, and what disturbs it."""

from __future__ import annotations

import math

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.signal import ideal_position_pct
from tests.making.valves.command_programme import Routine
from tests.making.valves.virtual_valve import Controller, VirtualValve


def set_point(valve: VirtualValve, routine: Routine, time_s: FloatArray) -> FloatArray:
    """Where the controller drives to, cut-off ends as far away as needed; a lost command without live zero is 0 V."""
    command = routine.command_pct(time_s)
    if any(piece.decay_s for piece in routine.pieces):
        command = np.where(routine.is_lost(time_s), command, routine.signal_pct(time_s))
    if not valve.command_range.has_live_zero:
        command = np.where(routine.is_lost(time_s), 0.0, command)
    controller = valve.controller
    wanted = ideal_position_pct(command, reverse=controller.reverse, rangeability=controller.rangeability)
    if controller.closed_cut_off_pct is not None:
        wanted = np.where(wanted <= controller.closed_cut_off_pct, -np.inf, wanted)
    if controller.open_cut_off_pct is not None:
        wanted = np.where(wanted >= controller.open_cut_off_pct, np.inf, wanted)
    return wanted


def controller_noise(controller: Controller, size: int, step_s: float, start_number: int) -> FloatArray | None:
    """What disturbs the controller's error, held for a while each [% of feedback range]; None: nothing does."""
    if controller.noise_pct == 0.0:
        return None
    held = max(1, round(controller.noise_hold_s / step_s))
    values = np.random.default_rng(start_number).normal(0.0, controller.noise_pct, math.ceil(size / held))
    return np.repeat(values, held)[:size]
