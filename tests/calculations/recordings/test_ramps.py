"""What a ramp without samples says: nothing, and never a 0 that would narrow an uncertainty."""

from __future__ import annotations

import math

import numpy as np
import pytest

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.ramps import command_at, rate_of, travel_rise

TIME_S = np.arange(0.0, 10.0, 0.1)
RAMP = Segment("ramp_up", 2.0, 6.0)


def test_a_ramp_gives_its_rise_its_rate_and_its_command():
    """2 % a second for 4 s, by hand: 8 % of travel, less one sample in each mean of a fiftieth; 10 % at 5 s."""
    recording = Recording(TIME_S, 2.0 * TIME_S, 2.0 * TIME_S)
    assert travel_rise(recording, RAMP) == pytest.approx(8.0, abs=0.21)
    assert rate_of(recording, RAMP) == pytest.approx(2.0)
    assert command_at(recording, 5.0) == pytest.approx(10.0)


def test_a_ramp_of_lost_samples_has_neither_rise_nor_rate():
    lost = np.full_like(TIME_S, np.nan)
    recording = Recording(TIME_S, lost, lost)
    assert travel_rise(recording, RAMP) is None
    assert rate_of(recording, RAMP) is None
    assert math.isnan(command_at(recording, 5.0))
