"""Whether a travel came before its command."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats, integers

from kit.calculations.recordings.ahead import ahead_by
from kit.calculations.recordings.at_rest import Rest
from kit.calculations.recordings.levels import Change
from kit.calculations.recordings.noise import Noise
from tests.calculations.recordings.made import noisy

STEP = Change("step", 9.9, 10.0, 0.0, 20.0, 9.95, 0.05)
END = Rest(20.0, 0.0, 0.0, 0.0, 25.0, 30.0, 50)
TIME = np.arange(5.0, 30.0, 0.1)


@settings(max_examples=30)
@given(ahead_s=floats(0.3, 2.0), speed_pct_s=floats(3, 30), start_number=integers(0, 100))
def test_a_travel_ahead_of_its_command_is_told_by_how_much(
    ahead_s: float, speed_pct_s: float, start_number: int
) -> None:
    travel = noisy(np.clip(speed_pct_s * (TIME - 9.95 + ahead_s), 0.0, 20.0), 0.03, start_number)
    found = ahead_by(TIME, travel, STEP, END, Noise(0.03, 0.0))
    assert found == pytest.approx(ahead_s, abs=0.15)


@given(dead_time_s=floats(0.0, 2.0), speed_pct_s=floats(3, 30), start_number=integers(0, 100))
def test_a_travel_behind_its_command_is_not_ahead(dead_time_s: float, speed_pct_s: float, start_number: int) -> None:
    travel = noisy(np.clip(speed_pct_s * (TIME - 9.95 - dead_time_s), 0.0, 20.0), 0.03, start_number)
    assert ahead_by(TIME, travel, STEP, END, Noise(0.03, 0.0)) is None


def test_what_slips_before_the_step_or_was_never_at_rest_tells_nothing() -> None:
    rises = np.clip(10.0 * (TIME - 10.2), 0.0, 20.0)
    slipped = np.where((TIME > 9.0) & (TIME < 10.2), 0.25, rises)
    assert ahead_by(TIME, slipped, STEP, END, Noise(0.01, 0.0)) is None
    went_back = np.where((TIME > 9.0) & (TIME < 10.0), 1.0, rises)
    assert ahead_by(TIME, went_back, STEP, END, Noise(0.01, 0.0)) is None
    moving = np.clip(2.0 * (TIME - 5.0), 0.0, 20.0)
    assert ahead_by(TIME, moving, STEP, END, Noise(0.01, 0.0)) is None
    assert ahead_by(TIME[48:], rises[48:], STEP, END, Noise(0.01, 0.0)) is None
