"""The motion of a virtual valve, step by step."""

from __future__ import annotations

from dataclasses import dataclass

from kit.basis.arrays import BoolArray, FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Motion:
    """What a valve did, step by step: arrays of shape (n,), free of noise."""

    time_s: FloatArray  # from the start of the routine, evenly spaced
    command_pct: FloatArray  # [% of command range]; while the signal is lost, what would be sent
    lost: BoolArray  # the command is away from its terminals
    stem_pct: FloatArray  # [% of travel]
    takeoff_pct: FloatArray  # [% of travel]
    feedback_pct: FloatArray  # [% of feedback range]
    motor: FloatArray  # -1 closing, 0 off, 1 opening
    closed_switch: BoolArray
    open_switch: BoolArray
    starts_s: FloatArray  # (s,) when the controller or the fail drive started the motor
    pulses: int  # how often the motor was switched on, pulses counted one by one
    unsupplied: BoolArray | None = None  # the supply is away; None: nowhere
