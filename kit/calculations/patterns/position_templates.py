"""Plain faults of position against the asked-for position: arithmetic on ideal devices."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.calculations.patterns.template import LineTemplate, Template

AS_ASKED: Final = "as asked"
_RANGEABILITY: Final = 50.0  # House definition: the usual one of equal percentage valves


# Live zero of 4-20 mA and 2-10 V: 0 % stands at a quarter of the span, so a gain ahead of its
# subtraction turns the line about -25 % command.
POSITION_TEMPLATES: Final = (
    Template(AS_ASKED, lambda asked, _: asked),
    Template("zero shift", lambda asked, shift: asked + shift, -40, 40, "{:+.1f} % of travel"),
    Template("span error about the closed end", lambda asked, gain: gain * asked, 0.3, 2.5, "slope {:.3f}"),
    Template("span error about the open end", lambda asked, gain: 100 - gain * (100 - asked), 0.3, 2.5, "slope {:.3f}"),
    LineTemplate(
        "zero and span both off",
        lambda asked, _: asked,
        parameter="{:+.1f} % of travel at the closed end, slope {:.3f}",
    ),
    Template(
        "gain error ahead of the live zero",
        lambda asked, gain: gain * (asked + 25) - 25,
        0.3,
        2.5,
        "gain {:.3f}",
    ),
    Template("signal with live zero into a receiver ranged without", lambda asked, _: 20 + 0.8 * asked),
    Template("signal without live zero into a receiver ranged with", lambda asked, _: (asked - 20) / 0.8),
    Template("command range set twice as wide as the source's", lambda asked, _: 0.5 * asked),
    Template("full command range set where its upper half is meant", lambda asked, _: 50 + 0.5 * asked),
    Template("lower half of the command range set where all of it is meant", lambda asked, _: 2 * asked),
    Template("upper half of the command range set where all of it is meant", lambda asked, _: 2 * asked - 100),
    Template("signal of 1 to 5 V into a receiver of 0 to 10 V", lambda asked, _: 10 + 0.4 * asked),
    Template("action reversed", lambda asked, _: 100 - asked),
    Template(
        "does not follow the command", lambda asked, level: 0.0 * asked + level, 0, 100, "stays at {:.1f} % of travel"
    ),
    Template("characteristic left on: equal percentage", lambda asked, _: 100 * _RANGEABILITY ** (asked / 100 - 1)),
    Template("characteristic left on: quick opening", lambda asked, _: 10 * np.sqrt(np.clip(asked, 0, None))),
    Template(
        "bow", lambda asked, rise: asked + rise * asked * (100 - asked) / 2500, -15, 15, "{:+.1f} % at mid travel"
    ),
    Template(
        "S-shape", lambda asked, rise: asked + rise * np.sin(asked * np.pi / 50), -15, 15, "{:+.1f} % at quarter travel"
    ),
    Template("stops short of open", lambda asked, top: np.minimum(asked, top), 30, 99.5, "at {:.1f} % of travel"),
    Template("stops short of closed", lambda asked, foot: np.maximum(asked, foot), 0.5, 70, "at {:.1f} % of travel"),
)
