"""What a stem truly did where hunting was found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from kit.basis.quantity import Quantity
from kit.basis.recording import Segment
from kit.calculations.recordings.hunting import Stillness
from tests.making.study.field_recordings import field_recording
from tests.making.study.true_hunting import true_swings

ONLY = {
    "rate": ["10"],
    "bits": ["fine"],
    "hum": ["none"],
    "hunting": ["hunting"],
    "routine": ["off nominal"],
    "channels": ["all"],
    "stamps": ["fine"],
}


def test_the_first_and_the_last_turn_count_wherever_in_their_stand_they_were_found() -> None:
    field = field_recording(3, ONLY)
    whole = max(field.truth.hunting, key=lambda each: each.reversals)
    nothing = Quantity(None, "not told")
    half_s = whole.period_s / 2.0
    turn_s = whole.segment.from_s + 10.0 + half_s * np.arange(7)
    found = Stillness(Segment("rest", 0.0, 1.0), "hunting", nothing, nothing, 7, turn_s, np.zeros(7))
    for share in (0.0, 0.3, 0.6, 0.9):
        true = true_swings(field.motion, replace(found, turn_s=turn_s + share * half_s))
        assert true is not None
        assert 6 <= true.reversals <= 9
        assert abs(true.amplitude_pct - whole.amplitude_pct) < 0.02
