"""A stem that sticks and slips behind a feedback that goes evenly, on slow ramps."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, sampled_from

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.sticking import stem_jump_pct
from tests.calculations.recordings.made import Array

RAMP = Segment("ramp_up", 60.0, 160.0)
TIME = np.arange(0.0, 220.0, 0.1)
EVEN = np.interp(TIME, [60.0, 160.0], [40.0, 60.0])  # 0.2 % of travel a second


def jumps(stem: Array, told: Array = EVEN, *, noise_pct: float = 0.0, segments: tuple[Segment, ...] = (RAMP,)) -> float:
    read = stem + np.random.default_rng(3).normal(0.0, noise_pct, stem.size)
    recording = Recording(TIME, EVEN, read, feedback_pct=told, position_pct=read)
    found = stem_jump_pct(recording, segments, channels_of(recording))
    assert found is not None
    return found


def stairs(size_pct: float) -> Array:
    """Stands until it lags by the whole of a jump, then makes it."""
    return 40.0 + size_pct * np.floor((EVEN - 40.0) / size_pct)


@pytest.mark.parametrize("noise_pct", [0.0, 0.3, 0.6])
def test_an_even_saw_is_told_by_its_peaks(noise_pct):
    """Ten jumps of 2 %: the saw is even from 0 to 2 %, its standard deviation 2 / root 12 (worked out by hand)."""
    assert jumps(stairs(2.0), noise_pct=noise_pct) == pytest.approx(2.0, rel=0.15)


@given(size_pct=floats(1.0, 3.0), gain=sampled_from([-1.0, 0.76, 1.0, 5.0]))
def test_the_scale_of_the_feedback_is_no_matter(size_pct, gain):
    assert jumps(stairs(size_pct), 12.0 + gain * EVEN) == pytest.approx(jumps(stairs(size_pct)), rel=1e-6)


@pytest.mark.parametrize("noise_pct", [0.0, 0.3, 0.6])
def test_play_that_is_taken_up_and_steps_that_the_feedback_makes_too_are_no_saw(noise_pct):
    """Play of 4 % leaves the stem where it is for the first 4 % of the ramp, then it follows evenly."""
    assert jumps(np.maximum(EVEN - 4.0, 40.0), noise_pct=noise_pct) == 0.0
    assert jumps(stairs(2.0), stairs(2.0), noise_pct=noise_pct) == pytest.approx(0.0, abs=0.05)


def test_the_median_of_the_ramps_counts():
    half = np.where(TIME < 110.0, EVEN, stairs(2.0))
    first, second = Segment("ramp_up", 60.0, 110.0), Segment("ramp_down", 110.0, 160.0)
    both = jumps(half, segments=(first, second))
    assert both == pytest.approx(0.5 * jumps(half, segments=(second,)), rel=1e-6)
    assert both > 0.8


def test_without_a_feedback_of_its_own_or_a_ramp_that_is_long_enough_nothing_is_told():
    stem = stairs(2.0)
    own = Recording(TIME, EVEN, stem, feedback_pct=EVEN, position_pct=stem)
    channels = channels_of(own)
    assert stem_jump_pct(Recording(TIME, EVEN, stem, position_pct=stem), (RAMP,), channels) is None
    told = Recording(TIME, EVEN, EVEN, feedback_pct=EVEN, travel_is_feedback=True)
    assert stem_jump_pct(told, (RAMP,), channels) is None
    assert stem_jump_pct(own, (Segment("ramp_up", 60.0, 70.0),), channels) is None
    assert stem_jump_pct(own, (Segment("step", 60.0, 160.0),), channels) is None
    still = Recording(TIME, EVEN, np.full(TIME.size, 40.0), feedback_pct=EVEN, position_pct=EVEN)
    assert stem_jump_pct(still, (RAMP,), channels) is None
