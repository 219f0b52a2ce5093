"""Levels that are none: pieces of a ramp."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats, integers, sampled_from

from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.slides import without_slides
from tests.calculations.recordings.made import noisy

TIME_S = np.arange(0.0, 60.0, 0.1)


def at(from_s: float, to_s: float) -> tuple[int, int]:
    return round(from_s * 10), round(to_s * 10)


@settings(max_examples=40)
@given(rate=floats(0.05, 2), sign=sampled_from([-1.0, 1.0]), offset=floats(-50, 50), start_number=integers(0, 10))
def test_a_piece_of_a_ramp_is_no_level_and_its_ends_are(
    rate: float, sign: float, offset: float, start_number: int
) -> None:
    command = offset + sign * np.interp(TIME_S, [0, 20, 40, 60], [0, 0, 20 * rate, 20 * rate])
    levels = [at(0, 19.9), at(28, 31), at(40.1, 59.9)]
    noise = Noise(0.01, 0.0)
    found = without_slides(TIME_S, noisy(command, 0.01, start_number), noise, levels)
    assert found == [levels[0], levels[2]]


@settings(max_examples=40)
@given(heights=sampled_from([(10.0, 20.0, 30.0), (30.0, 20.0, 10.0), (10.0, 30.0, 10.0)]), offset=floats(-50, 50))
def test_levels_that_stand_still_are_kept(heights: tuple[float, float, float], offset: float) -> None:
    command = offset + np.select([TIME_S < 20, TIME_S < 40], list(heights[:2]), heights[2])
    levels = [at(0, 19.9), at(20, 39.9), at(40, 59.9)]
    assert without_slides(TIME_S, command, Noise(0.0, 0.0), levels) == levels


@pytest.mark.parametrize(("share", "kept"), [(0.45, True), (0.6, False)])
def test_a_level_with_half_of_the_slope_beside_it_is_a_piece_of_the_ramp(share: float, kept: bool) -> None:
    """1 % a second in the three seconds before; the command comes back afterwards, so that nothing else decides."""
    command = np.interp(TIME_S, [0, 15, 20, 30, 34, 34.1, 60], [0, 0, 5, *[5 + 10 * share] * 2, 0, 0])
    levels = [at(0, 14.9), at(20, 29.9), at(35, 59.9)]
    assert (levels[1] in without_slides(TIME_S, command, Noise(0.0, 0.0), levels)) is kept


def test_short_levels_too_short_to_tell_go_with_their_neighbours() -> None:
    """Three pieces of a slow ramp under noise are each doubtful, and none of them a level together."""
    command = noisy(np.interp(TIME_S, [0, 10, 50, 60], [0, 0, 2, 2]), 0.2, 3)
    pieces = [at(18, 20), at(24, 26), at(30, 32)]
    found = without_slides(TIME_S, command, Noise(0.2, 0.0), [at(0, 9.9), *pieces, at(50.1, 59.9)])
    assert found == [at(0, 9.9), at(50.1, 59.9)]
