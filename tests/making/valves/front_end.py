"""What stands between a signal and its written samples: filter, hum, wander, converter, bad samples."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.signal import lfilter

from kit.basis.arrays import FloatArray
from tests.making.valves.true_motion import Motion
from tests.making.valves.virtual_valve import VirtualValveError

_SETTLED_PCT: Final = 1e-4  # a filtered position nearer than this to the unfiltered one has arrived
_WANDER_S: Final = 20.0  # a channel's wander turns no faster


@dataclass(frozen=True, slots=True)
class Converter:
    """An analogue to digital converter over a range of its own, and the decimals that its values are written with.

    Examples
    --------
    >>> twelve_bits = Converter(bits=12, low_pct=-25.0, high_pct=125.0)  # 0 to 24 mA on 4-20 mA
    >>> round(twelve_bits.step_pct, 4)
    0.0366
    """

    bits: int = 16
    low_pct: float = -25.0  # of the channel's span; beyond, the converter stands at its end
    high_pct: float = 125.0
    decimals: int = 4  # of the written value, in the channel's own unit

    def __post_init__(self) -> None:
        if not 8 <= self.bits <= 24 or self.low_pct >= self.high_pct or not 0 <= self.decimals <= 9:
            raise VirtualValveError(
                f"Converter: {self.bits} bits from {self.low_pct:g} to {self.high_pct:g} % with {self.decimals} "
                "decimals; give 8 to 24 bits, a rising range and 0 to 9 decimals."
            )

    @property
    def step_pct(self) -> float:
        """One step [% of the channel's span]."""
        return (self.high_pct - self.low_pct) / float(2**self.bits - 1)

    def converted(self, value_pct: FloatArray) -> FloatArray:
        """The nearest step to each value, elementwise [% of the channel's span]."""
        codes = np.round((value_pct - self.low_pct) / self.step_pct)
        steps: FloatArray = self.low_pct + np.clip(codes, 0, 2**self.bits - 1) * self.step_pct
        return steps


@dataclass(frozen=True, slots=True)
class Disturbance:
    """What comes on top of a channel besides its noise, in % of its span; none by default."""

    hum_pct: float = 0.0  # amplitude of what the mains add, on each channel with a phase of its own
    hum_hz: float = 50.0
    wander_pct: float = 0.0  # standard deviation of a slow wander
    bad_share: float = 0.0  # of the samples that hold something else altogether [-]

    def added(self, time_s: FloatArray, generator: np.random.Generator) -> FloatArray:
        """Hum and wander at the times of the samples [% of span]; what is not asked for draws nothing."""
        added = np.zeros(time_s.size)
        if self.hum_pct > 0.0:
            phase = generator.uniform(0.0, 2.0 * np.pi)
            added += self.hum_pct * np.sin(2.0 * np.pi * self.hum_hz * time_s + phase)
        if self.wander_pct > 0.0 and time_s.size:
            knots = np.arange(0.0, float(time_s[-1]) + 2.0 * _WANDER_S, _WANDER_S)
            added += np.interp(time_s, knots, generator.normal(0.0, self.wander_pct, knots.size))
        return added

    def spoilt(self, value_pct: FloatArray, generator: np.random.Generator) -> FloatArray:
        """The values with single samples at random anywhere from -20 to 120 % of span."""
        if self.bad_share == 0.0:
            return value_pct
        bad = generator.random(value_pct.size) < self.bad_share
        spoilt: FloatArray = np.where(bad, generator.uniform(-20.0, 120.0, value_pct.size), value_pct)
        return spoilt


@dataclass(frozen=True, slots=True)
class Filters:
    """Time constants of the first-order filters in the sensors [s]; 0: none."""

    position_s: float = 0.0
    feedback_s: float = 0.0

    def __post_init__(self) -> None:
        if not (0.0 <= self.position_s < 60.0 and 0.0 <= self.feedback_s < 60.0):
            raise VirtualValveError(
                f"Filters: {self.position_s:g} s and {self.feedback_s:g} s; give time constants of 0 to 60 s."
            )

    def seen(self, motion: Motion) -> Motion:
        """The motion as the sensors show it.

        Notes
        -----
        **House definition**. What a position sensor lags by cannot be told from what the valve lags by: the truth of a
        recording is what its sensor showed. A filtered position within 0.0001 % of the stem has arrived.
        """
        step_s = float(motion.time_s[1] - motion.time_s[0])
        stem = filtered(motion.stem_pct, step_s, self.position_s)
        arrived = np.abs(stem - motion.stem_pct) < _SETTLED_PCT
        feedback = filtered(motion.feedback_pct, step_s, self.feedback_s)
        return replace(motion, stem_pct=np.where(arrived, motion.stem_pct, stem), feedback_pct=feedback)


def filtered(values: FloatArray, step_s: float, time_constant_s: float) -> FloatArray:
    """Values behind a first-order filter that has settled on the first of them.

    Examples
    --------
    >>> filtered(np.array([0.0, 1.0, 1.0, 1.0]), 0.1, 0.1).round(3).tolist()
    [0.0, 0.632, 0.865, 0.95]
    """
    if time_constant_s == 0.0 or not values.size:
        return values
    kept = float(np.exp(-step_s / time_constant_s))
    found, _ = lfilter([1.0 - kept], [1.0, -kept], values, zi=np.array([kept * values[0]]))
    smooth: FloatArray = np.asarray(found, dtype=np.float64)
    return smooth
