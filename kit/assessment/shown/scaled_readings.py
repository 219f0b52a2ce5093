"""Typed stroke readings as a page lists them: scaled, beside their ideal and their errors."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from kit.assessment.scaling import command_pct, feedback_pct, ideal_pct, position_pct
from kit.basis.arrays import FloatArray
from kit.basis.registers import Tag
from kit.basis.rows import Rows


@dataclass(frozen=True, slots=True, eq=False)
class ScaledReadings:
    """One value a row, shape (n,); nan where the row does not give it."""

    command_pct: FloatArray
    position_pct: FloatArray
    ideal_pct: FloatArray
    error_pct: FloatArray  # position minus ideal [% of travel span]
    feedback_error_pct: FloatArray  # feedback minus position [% of span]
    with_feedback: bool  # whether some row has a feedback


def scaled_readings(rows: Rows, tag: Tag) -> ScaledReadings:
    """Rows of the table readings in % of the tag's own ranges."""
    command, position, feedback = command_pct(rows, tag), position_pct(rows, tag), feedback_pct(rows, tag)
    ideal = ideal_pct(command, tag)
    return ScaledReadings(
        command_pct=command,
        position_pct=position,
        ideal_pct=ideal,
        error_pct=position - ideal,
        feedback_error_pct=feedback - position,
        with_feedback=bool(np.any(~np.isnan(feedback))),
    )
