"""One determination of dead band or resolution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Found = Literal["dead_band", "resolution"]
Means = Literal["small_steps", "ramp"]


@dataclass(frozen=True, slots=True)
class Trial:
    """One determination: the valve did not answer ``low_pct`` of command, and did answer ``high_pct``."""

    what: Found
    means: Means
    low_pct: float
    high_pct: float
    at_s: float
    command_pct: float
    deviation_pct: float = 0.0  # by noise
    from_command_pct: float | None = None  # what it is counted from; None: not known
    jump_pct: float = 0.0  # by how much the next reversal may differ, since the valve moves in jumps
    moved_pct: float | None = None  # how far the valve went when it answered, in command; None: not known
    step_pct: float = 0.0  # the step that the last motion answered
    gain: float | None = None  # travel over what the characteristic asks for, one way; None: not known

    @property
    def middle_pct(self) -> float:
        return 0.5 * (self.low_pct + self.high_pct)

    @property
    def place_pct(self) -> float:
        """Where it was made: midway between the two commands [% of command range]."""
        return self.command_pct if self.from_command_pct is None else 0.5 * (self.from_command_pct + self.command_pct)

    @property
    def half_width_pct(self) -> float:
        """How far to both sides of the middle the command may lie that the valve just answers."""
        return 0.5 * (self.high_pct - self.low_pct)
