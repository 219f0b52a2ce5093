"""A value with what it rests on, or the reason why there is none: what every calculation hands on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field
from math import inf, sqrt
from typing import Literal

from kit.basis.arrays import FloatArray

Distribution = Literal["rectangular", "resolution", "normal"]
Signal = Literal["command", "travel", "feedback", "time", "supply"]


@dataclass(frozen=True, slots=True)
class Component:
    """One line of an uncertainty budget."""

    name: str
    instrument: str  # "" where it comes from no instrument
    value: float  # half width, resolution or standard deviation [unit]
    unit: str
    distribution: Distribution
    divisor: float  # what turns the value into a standard uncertainty [-]
    sensitivity: float  # [unit of the result per unit]
    degrees_of_freedom: float = inf

    @property
    def standard_uncertainty(self) -> float:
        """In the unit of the result."""
        return abs(self.sensitivity) * self.value / self.divisor


@dataclass(frozen=True, slots=True)
class Reliance:
    """One reading of a recorded signal behind a value.

    ``reading`` is in % (s for time, V for supply); ``sensitivity`` is d(value)/d(reading). Readings that
    share a ``point`` share the error of their instrument.
    """

    signal: Signal
    reading: float
    sensitivity: float
    point: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """A value drawn from readings or from a recording; None comes with ``why_not``.

    From n readings: ``point`` and ``reading`` are the indices of the deciding test point and reading;
    ``weights``, shape (n,), holds d(value)/d(error of each reading) with the deciding points held, which is
    what the uncertainty goes through; ``averaged`` says that repeats were averaged, so that their scatter
    adds a type A component. ``within`` is where the value lies where it was read as a bound (``> 60``), one end of it
    infinite and ``value`` the other; ``never`` says what never happened, such as "did not arrive": there is no value
    and no limit that it keeps. From a recording: ``at_s`` is where, ``relies_on`` names the readings through which
    the instruments' errors enter, and ``components`` hold what sampling and noise add.
    """

    value: float | None
    why_not: str = ""
    _: KW_ONLY
    point: int | None = None
    reading: int | None = None
    weights: FloatArray | None = None
    averaged: bool = False
    within: tuple[float, float] | None = None
    never: str = ""
    at_s: float | None = None
    components: tuple[Component, ...] = ()
    relies_on: tuple[Reliance, ...] = ()
    beside: Mapping[str, float] = field(default_factory=dict)  # such as the greatest positive error

    @property
    def answers(self) -> bool:
        """Whether it answers its check: with a value, or with what never happened."""
        return self.value is not None or bool(self.never)

    @property
    def standard_uncertainty(self) -> float:
        """What sampling and noise alone leave open, in the unit of the value."""
        return sqrt(sum(each.standard_uncertainty**2 for each in self.components))
