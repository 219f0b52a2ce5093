"""Signal ranges, such as 4-20 mA: what stands for 0 % and what for 100 %."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class SignalRange:
    """The signal values that stand for 0 % and 100 %, such as 4-20 mA."""

    low: float
    high: float
    unit: Literal["mA", "V"]
    text: str  # as written in the register

    @property
    def span(self) -> float:
        return self.high - self.low

    @property
    def has_live_zero(self) -> bool:
        """Whether 0 % is a signal that a broken wire cannot give."""
        return self.low > 0
