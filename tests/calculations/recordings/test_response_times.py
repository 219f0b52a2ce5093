"""When a travel arrives under noise that is wider than the band asked for."""

from __future__ import annotations

import numpy as np
import pytest

from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.response_times import arrival

TIME = np.arange(0.0, 60.0, 0.1)
APPROACH = -10.0 * np.exp(-TIME)  # within 0.1 % at ln 100 = 4.61 s


def test_a_travel_that_the_band_holds_arrives_once() -> None:
    found = arrival(TIME, APPROACH, 0.1, Noise(0.001, 0.0), 0.1)
    assert found is not None
    assert (found.band, found.hidden_s) == (0.1, 0.0)
    assert found.at.time_s == pytest.approx(np.log(100.0), abs=0.01)


def test_a_widened_band_leaves_an_exponential_approach() -> None:
    """Into 0.335 % at 3.39 s, from twice that in 0.69 s: log2(3.35) = 1.74 times as long at most into 0.1 %."""
    noise = Noise(0.15, 0.0)
    found = arrival(TIME, APPROACH, 0.1, noise, 0.1)
    assert found is not None
    assert found.band > 0.1
    assert found.earliest_s <= np.log(10.0 / found.band) + 0.1
    assert found.latest_s == pytest.approx(np.log(100.0), abs=0.4)


def test_a_travel_that_hum_pushes_out_later_may_have_arrived_before() -> None:
    """Out by less than twice the wider band at 40 s, for a second: it arrived between its first entry and then."""
    noise = Noise(0.15, 0.0)
    first = arrival(TIME, APPROACH, 0.1, noise, 0.1)
    assert first is not None
    pushed = APPROACH + 1.5 * first.band * ((TIME > 40.0) & (TIME < 41.0))
    found = arrival(TIME, pushed, 0.1, noise, 0.1)
    assert found is not None
    assert found.earliest_s == pytest.approx(np.log(10.0 / first.band), abs=0.3)
    assert found.latest_s == pytest.approx(41.0, abs=0.2)
    assert found.hidden_s == pytest.approx(41.0 - found.earliest_s, abs=0.3)
