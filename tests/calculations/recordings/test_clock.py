"""What coarsely written times leave open in a time drawn from a recording."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from kit.basis.quantity import Quantity
from kit.basis.recording import Recording
from kit.calculations.recordings.clock import with_clock
from kit.calculations.recordings.reduce import reduce_recording


def test_two_instants_are_each_off_by_the_half_width() -> None:
    (found,) = with_clock(Quantity(10.0), 0.05).components
    assert found.standard_uncertainty == pytest.approx(sqrt(2.0 * 0.05**2 / 3.0))
    assert found.unit == "s"


def test_a_time_without_a_value_stays_as_it_is() -> None:
    none = Quantity(None, "none")
    assert with_clock(none, 0.05) is none


def test_every_time_of_a_recording_holds_it() -> None:
    time = np.arange(0.0, 200.0, 0.1)
    command = np.where((time > 20.0) & (time < 100.0), 100.0, np.where(time > 150.0, 30.0, 0.0))
    travel = np.zeros(time.size)
    for place in range(1, time.size):
        travel[place] = travel[place - 1] + float(np.clip(command[place - 1] - travel[place - 1], -0.5, 0.5))
    plain = Recording(time, command, travel, position_pct=travel)
    sure, coarse = (
        reduce_recording(replace(plain, time_resolution_s=half_width), lambda command_pct: command_pct)
        for half_width in (0.0, 0.1)
    )
    assert sure.strokes
    assert sure.steps
    for one, other in zip(sure.strokes, coarse.strokes, strict=True):
        assert len(other.time.components) == len(one.time.components) + 1
    for step, coarse_step in zip(sure.steps, coarse.steps, strict=True):
        for name in ("dead_time", "t63", "t86", "settling_time"):
            before, after = getattr(step, name), getattr(coarse_step, name)
            assert after.value == before.value
            assert before.value is None or len(after.components) == len(before.components) + 1
