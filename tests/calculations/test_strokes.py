"""Stroke times."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, lists

from kit.calculations.strokes import expected_stroke_time_s, stroke_time


def test_a_speed_setting_of_40_percent_makes_the_stroke_2_5_times_as_long():
    """Common practice, no source."""
    assert expected_stroke_time_s(12.0, 40.0) == pytest.approx(30.0)
    assert expected_stroke_time_s(3.0, 0.5) == pytest.approx(600.0)
    assert expected_stroke_time_s([12.0, 20.0], [100.0, 50.0]).tolist() == [12.0, 40.0]


@pytest.mark.parametrize("setting", [0.0, -10.0, np.nan])
def test_a_setting_without_motion_gives_no_time(setting):
    assert np.isnan(expected_stroke_time_s(12.0, setting))


def test_a_missing_time_gives_none():
    assert np.isnan(expected_stroke_time_s(np.nan, 50.0))


def test_mean_of_the_runs():
    found = stroke_time([28.0, np.nan, 30.0, 32.0, np.inf])
    assert found.value == pytest.approx(30.0)
    assert found.weights == pytest.approx([1 / 3, 0, 1 / 3, 1 / 3, 0])
    assert found.averaged
    assert (found.point, found.reading) == (None, None)


@given(lists(floats(0, 600), min_size=1, max_size=10))
def test_mean_lies_among_the_runs(times):
    assert min(times) - 1e-9 <= stroke_time(times).value <= max(times) + 1e-9


@pytest.mark.parametrize("times", [[], [np.nan], [np.inf, np.nan]])
def test_no_run_gives_no_time(times):
    found = stroke_time(times)
    assert (found.value, found.why_not, found.weights) == (None, "no timed run", None)
