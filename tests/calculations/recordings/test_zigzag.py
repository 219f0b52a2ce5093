"""Where a series turns."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis.strategies import floats, lists

from kit.calculations.recordings.zigzag import zigzag


@given(values=lists(floats(-50, 50), min_size=1, max_size=60), least=floats(0.1, 20))
def test_a_zigzag_turns_by_more_than_its_least_and_by_turns_up_and_down(values: list[float], least: float) -> None:
    series = np.array(values)
    turns = zigzag(series, least)
    assert (np.diff(turns) > 0).all()
    swings = np.diff(series[turns])
    assert (np.abs(swings) > least).all()
    assert (swings[1:] * swings[:-1] < 0.0).all()
    assert zigzag(-series, least).tolist() == turns.tolist()


def test_a_zigzag_of_a_triangle_turns_at_its_corners() -> None:
    """Down first: the first turn is a trough; a way back of just the least is none."""
    assert zigzag(np.array([5.0, 1.0, 3.0, 0.0, 4.0, 2.0]), 2.0).tolist() == [3]
    assert zigzag(np.array([5.0, 1.0, 3.1, 0.0, 4.0, 1.9]), 2.0).tolist() == [1, 2, 3, 4]
    assert zigzag(np.array([0.0, 2.0, 2.0, 0.0]), 1.0).tolist() == [2]
