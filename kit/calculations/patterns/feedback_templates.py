"""Plain faults of a feedback against the position: arithmetic on ideal devices."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.patterns.position_templates import AS_ASKED
from kit.calculations.patterns.template import LineTemplate, Template


def _loaded(position: FloatArray, load: float | FloatArray) -> FloatArray:
    """A wiper read by a receiver: ``load`` is the track's resistance over the receiver's. Voltage divider."""
    share = position / 100.0
    return 100.0 * share / (1.0 + load * share * (1.0 - share))


FEEDBACK_TEMPLATES: Final = (
    Template(AS_ASKED, lambda position, _: position),
    Template("feedback zero off", lambda position, shift: position + shift, -40, 40, "{:+.1f} % of range"),
    Template("feedback span off", lambda position, gain: gain * position, 0.3, 2.5, "slope {:.3f}"),
    LineTemplate(
        "feedback zero and span both off",
        lambda position, _: position,
        parameter="{:+.1f} % of range at the closed end, slope {:.3f}",
    ),
    Template("feedback reversed", lambda position, _: 100 - position),
    Template("feedback with live zero into a receiver ranged without", lambda position, _: 20 + 0.8 * position),
    Template(
        "feedback without live zero into a receiver ranged with",
        lambda position, _: np.maximum((position - 20) / 0.8, 0),
    ),
    Template("feedback potentiometer loaded by its receiver", _loaded, 0.01, 2.0, "track over load {:.2f}"),
    Template(
        "feedback bow",
        lambda position, rise: position + rise * position * (100 - position) / 2500,
        -15,
        15,
        "{:+.1f} % at mid travel",
    ),
    Template("feedback stands still above a place", lambda at, top: np.minimum(at, top), 30, 99, "{:.1f} % of range"),
    Template("feedback stands still below a place", lambda at, foot: np.maximum(at, foot), 1, 70, "{:.1f} % of range"),
)
