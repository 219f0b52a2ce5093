"""Closed-form responses."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import signal

from tests.making.valves import VirtualValveError
from tests.making.valves.textbook_responses import (
    constant_speed_response,
    first_order_response,
    second_order_response,
    two_lag_response,
)

TIME_S = np.linspace(0, 20, 401)


@pytest.mark.second_opinion
@pytest.mark.parametrize(
    ("found", "numerator", "denominator"),
    [
        (first_order_response(TIME_S, lag_s=3.0), [1], [3, 1]),
        (two_lag_response(TIME_S, first_lag_s=2.0, second_lag_s=0.5), [1], np.polymul([2, 1], [0.5, 1])),
        (two_lag_response(TIME_S, first_lag_s=1.5, second_lag_s=1.5), [1], np.polymul([1.5, 1], [1.5, 1])),
        (second_order_response(TIME_S, damping=0.5, natural_rad_s=2.0), [4], [1, 2, 4]),
        (second_order_response(TIME_S, damping=0.1, natural_rad_s=1.0), [1], [1, 0.2, 1]),
    ],
)
def test_responses_agree_with_scipy(found, numerator, denominator):
    """scipy.signal.step, by the exponential of the state matrix."""
    _, expected = signal.step((numerator, denominator), T=TIME_S)
    assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("response", "settings"),
    [
        (first_order_response, {"lag_s": 2.0}),
        (two_lag_response, {"first_lag_s": 2.0, "second_lag_s": 1.0}),
        (second_order_response, {"damping": 0.4, "natural_rad_s": 3.0}),
        (constant_speed_response, {"duration_s": 5.0}),
    ],
)
def test_a_dead_time_shifts_a_response(response, settings):
    shifted = response(TIME_S + 1.25, dead_time_s=1.25, **settings)
    assert shifted == pytest.approx(response(TIME_S, **settings), abs=1e-12)
    assert response([-5.0, 0.0, 1.0], dead_time_s=1.25, **settings) == pytest.approx(0.0, abs=1e-15)


def test_times_of_a_first_order_lag_behind_a_dead_time():
    """T63.2 = Td + tau and T86.466 = Td + 2 tau; elementary."""
    found = first_order_response([3.5, 6.5], lag_s=3.0, dead_time_s=0.5)
    assert found == pytest.approx([1 - np.exp(-1), 1 - np.exp(-2)])


def test_overshoot_of_zeta_one_half():
    """16.303353 % at 1.813799 s for 2 rad/s; elementary."""
    time = np.linspace(0, 5, 50_001)
    response = second_order_response(time, damping=0.5, natural_rad_s=2.0)
    assert response.max() == pytest.approx(1.16303353, abs=1e-8)
    assert time[response.argmax()] == pytest.approx(1.813799, abs=1e-4)


def test_impossible_parameters_are_refused():
    with pytest.raises(VirtualValveError, match=r"lag_s is 0; give a finite number above 0"):
        first_order_response(1.0, lag_s=0.0)
    with pytest.raises(VirtualValveError, match=r"a damping of 1 does not swing"):
        second_order_response(1.0, damping=1.0, natural_rad_s=1.0)
