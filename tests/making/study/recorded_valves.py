"""Random virtual valves walked through the commissioning routine, and their recordings as a reader gives them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.recording import Recording
from kit.calculations.signal import ideal_position_pct, to_percent
from tests.making.valves import (
    Logger,
    Motion,
    Recorded,
    Routine,
    Truth,
    VirtualValve,
    commissioning_routine,
    random_valve,
    simulate_seen,
)

RATES_HZ: Final = (5.0, 10.0, 20.0, 50.0)
_FAILURE_SHARE: Final = 0.9  # of the live zero, as the reader has it


@dataclass(frozen=True)
class RecordedValve:
    """One valve, what it was told, what is true and what was recorded."""

    valve: VirtualValve
    routine: Routine
    motion: Motion  # free of noise
    truth: Truth
    rate_hz: float
    recording: Recording


def recorded_valve(start_number: int, *, small_step_pct: float = 0.1, small_steps_pct: float = 4.0) -> RecordedValve:
    """One random valve, routine and sampling rate."""
    generator = np.random.default_rng(start_number)
    valve = random_valve(generator)
    routine = commissioning_routine(valve, generator, small_step_pct=small_step_pct, small_steps_pct=small_steps_pct)
    rate_hz = float(generator.choice(RATES_HZ))
    motion, recorded, truth = simulate_seen(valve, routine, Logger(rate_hz=rate_hz), generator=generator)
    return RecordedValve(valve, routine, motion, truth, rate_hz, recording_of(recorded, valve))


def recording_of(recorded: Recorded, valve: VirtualValve) -> Recording:
    """What the reader would make of a recorded file."""
    command = recorded.column("command")
    position = recorded.column("position") * (100.0 / valve.travel if "position_pct" not in recorded.columns else 1.0)
    return Recording(
        recorded.time_s,
        to_percent(command, valve.command_range.low, valve.command_range.high),
        position,
        to_percent(recorded.column("feedback"), valve.feedback_range.low, valve.feedback_range.high),
        position,
        recorded.column("closed_switch"),
        recorded.column("open_switch"),
        recorded.column("supply_v"),
        command <= _FAILURE_SHARE * valve.command_range.low,
    )


def ideal_of(valve: VirtualValve) -> Callable[[float], float]:
    """Ideal position [% of travel] for a command [% of command range]."""
    controller = valve.controller
    return lambda command: float(
        ideal_position_pct(command, reverse=controller.reverse, rangeability=controller.rangeability)
    )
