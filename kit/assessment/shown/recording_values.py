"""What tables of a recording list beside its figures: what is left open, errors of its readings, its pulses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.assessment.scaling import ideal_pct
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.calculations.recordings.holds import StaticReading
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.strokes import Stroke

COVERAGE: Final = 2.0  # JCGM 100:2008, 6.3.3: k = 2, about 95 %


@dataclass(frozen=True, slots=True)
class HoldReading:
    """One hold that the valve came to rest in."""

    reading: StaticReading
    left_open_pct: float  # of its travel, expanded (k = 2), by noise and drift [% of travel]
    ideal_pct: float
    error_pct: float  # travel minus ideal [% of travel span]


def hold_readings(reduction: Reduction, tag: Tag) -> list[HoldReading]:
    """Every static reading of a recording, in order of time."""
    ideal = ideal_pct(np.array([each.command_pct for each in reduction.readings]), tag).tolist()
    return [
        HoldReading(each, COVERAGE * each.travel_deviation_pct, at, each.travel_pct - at)
        for each, at in zip(reduction.readings, ideal, strict=True)
    ]


def running_share_pct(reduction: Reduction) -> float:
    """For how much of the recording the travel moves [%]."""
    counted = reduction.counted_starts
    return 100.0 * counted.running_s / counted.duration_s if counted.duration_s > 0 else 0.0


def has_own_feedback(reduction: Reduction) -> bool:
    """Whether some static reading has a feedback beside a travel that is not that feedback."""
    return not reduction.recording.travel_is_feedback and any(
        np.isfinite(each.feedback_pct) for each in reduction.readings
    )


@dataclass(frozen=True, slots=True)
class Pulses:
    """One way's pulsed strokes together. ``left_open``: expanded (k = 2), by sampling alone."""

    opens: bool
    duty_pct: float  # mean share of the time in motion
    duty_left_open_pct: float
    times_as_long: float  # as a stroke in one go
    times_left_open: float


def pulses(strokes: Sequence[Stroke]) -> list[Pulses]:
    """The pulsed strokes, opening before closing; a way without one is left out.

    Notes
    -----
    **House definition**: the duty is the mean over the strokes, what is left open that of the worst; a duty of
    p % makes a stroke 100 / p times as long.
    """
    found = []
    for opens in (True, False):
        own = [each.duty for each in strokes if each.opens == opens and each.duty.value]
        if own:
            duty = float(np.mean([each.value for each in own if each.value is not None]))
            open_pct = max(left_open(each) for each in own)
            found.append(Pulses(opens, duty, open_pct, 100.0 / duty, 100.0 * open_pct / duty**2))
    return found


def left_open(quantity: Quantity) -> float:
    """Expanded uncertainty (k = 2) by sampling and noise alone, in the unit of the value.

    References
    ----------
    JCGM 100:2008, 6.2.1.

    Examples
    --------
    >>> left_open(Quantity(12.6))
    0.0
    """
    return COVERAGE * quantity.standard_uncertainty
