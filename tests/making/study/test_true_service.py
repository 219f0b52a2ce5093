"""The truth of a valve in service."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tests.making.study.field_recordings import FieldRecording, field_recording
from tests.making.study.true_service import true_service

ONLY = {
    "rate": ["10"],
    "bits": ["fine"],
    "hum": ["none"],
    "hunting": ["none"],
    "routine": ["in service"],
    "channels": ["all"],
    "stamps": ["fine"],
    "valve": ["plain"],
}


@pytest.fixture(scope="module")
def field() -> FieldRecording:
    return field_recording(1, ONLY)


def test_a_stem_that_follows_2_s_late_and_half_a_per_cent_off_says_so(field: FieldRecording) -> None:
    """A triangle of 10 % and 100 s: 5 turns in the 250 s of it that count; 20 or so for each 1,000 s."""
    time = field.motion.time_s
    triangle = 40.0 + 10.0 * np.abs(((time - 2.0) / 50.0) % 2.0 - 1.0)
    asked = 40.0 + 10.0 * np.abs((time / 50.0) % 2.0 - 1.0)
    routine = _Routine(time, asked)
    late = replace(field, motion=replace(field.motion, stem_pct=triangle + 0.5), routine=routine, tag=_linear(field))
    found = true_service(late)
    assert found.lag_s == pytest.approx(2.0, abs=0.06)
    assert found.error_mean_pct == pytest.approx(0.5, abs=0.02)
    assert found.error_rms_pct == pytest.approx(0.5, abs=0.02)
    assert found.travel_turns == pytest.approx(3600.0 / 50.0, rel=0.06)


class _Routine:
    def __init__(self, time_s: np.ndarray, command_pct: np.ndarray) -> None:
        self.known = time_s, command_pct

    def command_pct(self, time_s: np.ndarray) -> np.ndarray:
        return np.interp(time_s, *self.known)


def _linear(field: FieldRecording):
    return replace(field.tag, action="direct", characteristic="linear", shut_below_pct=None, open_above_pct=None)
