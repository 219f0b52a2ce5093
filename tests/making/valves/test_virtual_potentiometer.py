"""The virtual valve's feedback."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats

from tests.making.valves import BadSpot, Feedback
from tests.making.valves.virtual_potentiometer import feedback_pct, feedback_slope, loaded_ratio, true_feedback_pct

WHOLE_TRACK = {"track_at_closed_pct": 0.0, "track_at_open_pct": 100.0, "window_low_pct": 0.0, "window_high_pct": 100.0}


def test_a_healthy_feedback_is_the_position():
    travel = np.linspace(0, 100, 11)
    assert true_feedback_pct(Feedback(), travel) == pytest.approx(travel)


def test_loading_bows_by_14_8_percent_of_the_resistance_ratio_at_67_percent_travel():
    """Common practice, no source; derived: the output lacks k^2 (1 - k) r, whose slope 2 k - 3 k^2 is 0 at k = 2/3,
    where it is 4/27 r = 14.8 % of r. The errors at 25, 50 and 75 % are as 3/64 : 8/64 : 9/64 = 1 : 2.67 : 3."""
    feedback = Feedback(**WHOLE_TRACK, track_ohm=1000.0, load_ohm=100_000.0)
    travel = np.linspace(0, 100, 1001)
    error = true_feedback_pct(feedback, travel) - travel
    assert error.min() == pytest.approx(-100 * 4 / 27 * 0.01, rel=0.01)
    assert travel[error.argmin()] == pytest.approx(200 / 3, abs=0.3)
    quarter, half, three_quarters = error[[250, 500, 750]]
    assert (half / quarter, three_quarters / quarter) == pytest.approx((8 / 3, 3.0), rel=0.01)


@given(floats(0, 1), floats(0, 10))
def test_a_load_only_lowers_and_leaves_the_ends(ratio, load_share):
    assert 0.0 <= float(loaded_ratio(ratio, load_share)) <= ratio
    assert loaded_ratio([0.0, 1.0], load_share).tolist() == [0.0, 1.0]


def test_beyond_the_window_the_feedback_stands_still():
    """Wiper from 50 to 110 % of a track whose electrical part ends at 98 %: from 80 % of travel on."""
    feedback = Feedback(track_at_closed_pct=50.0, track_at_open_pct=110.0)
    found = true_feedback_pct(feedback, [79.0, 80.0, 90.0, 100.0])
    assert found == pytest.approx([79.0, 80.0, 80.0, 80.0])


def test_zero_span_and_bow_add_up():
    """At mid travel: 0.2 + 50 * 1.01 + 0.5 * 1.01."""
    feedback = Feedback(zero_error_pct=0.2, span_error_pct=1.0, bow_pct=0.5)
    assert true_feedback_pct(feedback, [0.0, 50.0, 100.0]) == pytest.approx([0.2, 0.2 + 50.5 * 1.01, 101.2])


def test_a_reversed_track_makes_no_difference():
    feedback = Feedback(track_at_closed_pct=88.0, track_at_open_pct=12.0)
    assert true_feedback_pct(feedback, [0, 30, 100]) == pytest.approx([0, 30, 100], abs=1e-9)


def test_the_transmitter_saturates_at_the_levels_of_ne_43():
    """NAMUR NE 43: 3.8 mA is -1.25 %, 20.5 mA is 103.125 % of 4-20 mA."""
    assert true_feedback_pct(Feedback(), [-5.0, 110.0]) == pytest.approx([-1.25, 103.125])


def test_a_spike_is_a_triangle_and_a_break_goes_to_its_level():
    worn = Feedback(bad_spots=(BadSpot(40.0, 2.0, "spike", -6.0), BadSpot(60.0, 1.0, "break")))
    found = feedback_pct(worn, [38.9, 39.5, 40.0, 41.1, 59.4, 59.6, 60.4, 60.6])
    assert found == pytest.approx([38.9, 36.5, 34.0, 41.1, 59.4, -2.5, -2.5, 60.6])


def test_slope_of_a_healthy_feedback_is_1():
    assert feedback_slope(Feedback(), 37.0) == pytest.approx(1.0)
