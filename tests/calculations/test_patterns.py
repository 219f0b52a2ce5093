"""Plain faults of ideal devices, worked out by hand, are told apart."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis.strategies import floats, sampled_from

from kit.calculations.patterns import recognise

ASKED = [0.0, 25.0, 50.0, 75.0, 100.0]


@pytest.mark.parametrize(
    ("position", "pattern"),
    [
        # each row is arithmetic on an ideal device at 0, 25, 50, 75 and 100 % command
        ([2, 27, 52, 77, 100], "zero shift"),  # +2 %, resting on the stop at the top
        ([0, 23.75, 47.5, 71.25, 95], "span error about the closed end"),  # 0.95 x
        ([20, 40, 60, 80, 100], "signal with live zero into a receiver ranged without"),  # 4..20 mA read as 0..20
        ([0, 6.25, 37.5, 68.75, 100], "signal without live zero into a receiver ranged with"),  # 0..20 mA read as 4..20
        ([0, 22, 45.5, 69, 92.5], "gain error ahead of the live zero"),  # 470 ohm for 500: 0.94 x + 25 (0.94 - 1)
        ([0.5, 26, 51.5, 77, 100], "gain error ahead of the live zero"),  # 510 ohm for 500: 1.02 x + 0.5
        ([0, 0, 12.5, 25, 37.5], "gain error ahead of the live zero"),  # 250 ohm for 500: 0.5 x - 12.5
        ([100, 75, 50, 25, 0], "action reversed"),
        ([2, 5.318, 14.142, 37.606, 100], "characteristic left on: equal percentage"),  # 100 * 50^(x-1)
        ([0, 50, 70.711, 86.603, 100], "characteristic left on: quick opening"),  # 100 sqrt(x)
        ([0, 28.1, 54, 78.1, 100], "bow"),  # 0.75 : 1 : 0.75 of 4.1, 4, 4.1
        ([0, 28, 50, 72, 100], "S-shape"),
        ([0, 25, 50, 75, 88], "stops short of open"),
        ([12, 25, 50, 75, 100], "stops short of closed"),
        ([0, 25, 50, 75, 100], "as asked"),
    ],
)
def test_five_point_readings_of_an_ideal_device_name_its_fault(position, pattern):
    match = recognise(ASKED, position)
    assert pattern in (match.pattern, match.runner_up)
    assert match.residual_pct < 0.6


@given(gain=floats(0.8, 0.97), above=sampled_from([False, True]))
def test_a_span_error_gives_back_its_slope(gain, above):
    slope = 2 - gain if above else gain
    match = recognise(ASKED, [min(slope * asked, 100) for asked in ASKED])
    if match.pattern == "span error about the closed end":
        assert match.parameter == pytest.approx(slope, abs=2e-3)
    else:
        assert "span error about the closed end" in match.runner_up


@given(shift=floats(-20, 20).filter(lambda each: abs(each) > 1.5))
def test_a_zero_shift_gives_back_its_size(shift):
    match = recognise(ASKED, [min(max(asked + shift, 0), 100) for asked in ASKED])
    assert match.pattern == "zero shift"
    assert match.parameter == pytest.approx(shift, abs=0.01)


@pytest.mark.parametrize("asked", [[], [50.0], [0.0, 100.0], [float("nan"), 0.0, 100.0]])
def test_fewer_than_three_points_match_nothing(asked):
    assert recognise(asked, asked) is None
