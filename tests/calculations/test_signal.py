"""Signals, ideal positions and the NE 43 levels."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, fixed_dictionaries, floats, none, one_of

from kit.basis.arrays import CalculationInputError
from kit.calculations.signal import from_percent, ideal_position_pct, ideal_slope, ne43_state, to_percent


@pytest.mark.published
@pytest.mark.parametrize(
    ("value", "low", "high", "printed_pct", "half_digit"),
    [
        (8.55, 4, 20, 28.4, 0.05),  # k1
        (10.6, 4, 20, 41.25, 0.005),  # k3
        (41, -88, 145, 55.36, 0.005),  # k4
        (9.32, 3, 11, 79, 0.5),  # k5
        (120, -80, 150, 86.96, 0.005),  # t1
        (-45, -80, 150, 15.22, 0.005),  # t2
        (5, 3, 15, 16.67, 0.005),  # s1, the input side
    ],
)
def test_share_of_range_is_as_printed(value, low, high, printed_pct, half_digit):
    """T. R. Kuphaldt, Lessons In Industrial Instrumentation and worksheets; tolerance: half the last digit."""
    assert to_percent(value, low, high) == pytest.approx(printed_pct, abs=half_digit)


@pytest.mark.published
@pytest.mark.parametrize(
    ("pct", "low", "high", "printed", "half_digit"),
    [
        (34.7, 4, 20, 9.552, 0.0005),  # k2
        (41.25, 150, 400, 253.125, 0.0005),  # k3, psi
        (100 * 129 / 233, 4, 20, 12.86, 0.005),  # k4
        (79, 4, 20, 16.64, 0.005),  # k5
        (100 * 200 / 230, 4, 20, 17.91, 0.005),  # t1
        (100 * 35 / 230, 4, 20, 6.435, 0.0005),  # t2
        (42, -80, 150, 16.6, 0.05),  # t3, degrees
        (42, 4, 20, 10.72, 0.005),  # t3, mA
        (40.8248290, 3, 15, 7.899, 0.0005),  # s1, the output side
    ],
)
def test_signal_for_a_share_of_range_is_as_printed(pct, low, high, printed, half_digit):
    """T. R. Kuphaldt, Lessons In Industrial Instrumentation and worksheets; tolerance: half the last digit."""
    assert from_percent(pct, low, high) == pytest.approx(printed, abs=half_digit)


def test_current_of_an_unprinted_answer_follows_from_its_problem():
    """Problem k6 (4..10 pH, 11.3 mA); the answer is worked out: (11.3 - 4) / 16 x 6 + 4 = 6.7375 pH."""
    assert from_percent(to_percent(11.3, 4, 20), 4, 10) == pytest.approx(6.7375, abs=1e-12)


@pytest.mark.published
@pytest.mark.parametrize(
    ("measured", "true", "low", "high", "printed_pct", "half_digit"),
    [
        (67, 65, 0, 100, 2, 0.5),  # e1
        (9995, 10000, 0, 40000, -0.0125, 0.00005),  # e2
        (68, 70, -40, 250, -0.69, 0.005),  # e3
    ],
)
def test_error_in_percent_of_span_is_as_printed(measured, true, low, high, printed_pct, half_digit):
    """T. R. Kuphaldt, Lessons In Industrial Instrumentation; error = measured minus ideal, over the span."""
    error_pct = to_percent(measured, low, high) - to_percent(true, low, high)
    assert error_pct == pytest.approx(printed_pct, abs=half_digit)


@pytest.mark.published
def test_complementary_split_range_drives_the_two_valves_against_each_other():
    """T. R. Kuphaldt, Lessons In Industrial Instrumentation 27.11.1; 3-15 psi, A opens and B closes on more signal."""
    command_pct = to_percent([3, 6, 9, 12, 15], 3, 15)
    assert ideal_position_pct(command_pct) == pytest.approx([0, 25, 50, 75, 100])
    assert ideal_position_pct(command_pct, reverse=True) == pytest.approx([100, 75, 50, 25, 0])


@pytest.mark.published
def test_exclusive_split_range_leaves_both_valves_shut_in_the_middle():
    """T. R. Kuphaldt, Lessons In Industrial Instrumentation: 4-12 mA drives one shut, 12-20 mA the other open."""
    current_ma = [4, 8, 12, 16, 20]
    assert ideal_position_pct(to_percent(current_ma, 4, 12), reverse=True).tolist() == [100, 50, 0, 0, 0]
    assert ideal_position_pct(to_percent(current_ma, 12, 20)).tolist() == [0, 0, 0, 50, 100]


def test_on_4_to_20_ma_the_ends_the_middle_and_10_ma_stand_where_the_trade_expects_them():
    """Common practice, no source: 4 mA closed, 10 mA 37.5 %, 12 mA mid, 20 mA open."""
    assert ideal_position_pct(to_percent([4, 10, 12, 20], 4, 20)).tolist() == [0.0, 37.5, 50.0, 100.0]


def test_a_quarter_turn_is_90_degrees():
    """Common practice, no source: 45 degrees are half open."""
    assert to_percent([0, 45, 90], 0, 90).tolist() == [0.0, 50.0, 100.0]


@pytest.mark.from_memory
def test_4_to_20_ma_over_250_ohm_is_1_to_5_volts():
    """IEC 60381-1 and -2 signals (from memory): 4 mA x 250 ohm = 1 V, 20 mA x 250 ohm = 5 V."""
    current_ma = np.linspace(4, 20, 9)
    assert to_percent(current_ma / 1000 * 250, 1, 5) == pytest.approx(to_percent(current_ma, 4, 20))


@pytest.mark.published
@pytest.mark.parametrize(
    ("current_ma", "state"),
    [
        (0.0, "failure_low"),
        (3.6, "failure_low"),
        (3.6001, "undefined"),
        (3.7999, "undefined"),
        (3.8, "measuring"),
        (4.0, "measuring"),
        (20.0, "measuring"),
        (20.5, "measuring"),
        (20.5001, "undefined"),
        (20.9999, "undefined"),
        (21.0, "failure_high"),
        (24.0, "failure_high"),
        (-1.0, "failure_low"),
        (float("nan"), "undefined"),
    ],
)
def test_current_levels_are_those_of_ne_43(current_ma, state):
    """NAMUR NE 43: <= 3.6 and >= 21.0 mA failure, 3.8 to 20.5 mA measurement, the gaps undefined (secondary texts)."""
    assert ne43_state(current_ma) == state


@pytest.mark.parametrize(
    ("rangeability", "phi_pct"),
    [
        (
            50,
            [2.0, 2.957515, 4.373448, 6.46727, 9.563525, 14.142136, 20.912791, 30.924949, 45.730505, 67.624334, 100.0],
        ),
        (
            30,
            [
                3.333333,
                4.683719,
                6.581168,
                9.247304,
                12.993533,
                18.257419,
                25.653788,
                36.046543,
                50.649568,
                71.16851,
                100,
            ],
        ),
    ],
)
def test_equal_percentage_curve_gives_the_table(rangeability, phi_pct):
    """Formula R^(h - 1) of IEC 60534-2-4; table worked out independently; tolerance: half the last digit."""
    assert ideal_position_pct(np.arange(0, 101, 10), rangeability=rangeability) == pytest.approx(phi_pct, abs=5e-7)


@pytest.mark.from_memory
def test_equal_percentage_curve_gives_the_classic_printed_column():
    """Value from memory: 2.00 2.96 4.37 6.47 9.56 14.1 20.9 30.9 45.7 67.6 100 for R = 50."""
    printed = [2.00, 2.96, 4.37, 6.47, 9.56, 14.1, 20.9, 30.9, 45.7, 67.6, 100]
    assert ideal_position_pct(np.arange(0, 101, 10), rangeability=50.0) == pytest.approx(printed, abs=0.05)
    assert ideal_position_pct([0, 10, 20, 30, 40], rangeability=50.0) == pytest.approx(printed[:5], abs=0.005)


def test_equal_percentage_grows_by_one_factor_for_each_tenth():
    """50^0.1 = 1.478758."""
    position_pct = ideal_position_pct(np.arange(0, 101, 10), rangeability=50.0)
    assert position_pct[1:] / position_pct[:-1] == pytest.approx(1.478758, abs=5e-7)


def test_reverse_equal_percentage_takes_one_minus_x():
    """100 x 50^(0.25 - 1) = 100 / 50^0.75 = 5.318296 at 75 % command."""
    assert ideal_position_pct(75, reverse=True, rangeability=50) == pytest.approx(5.318296, abs=5e-7)


@pytest.mark.parametrize(
    ("command_pct", "asked_pct"),
    [(-0.4, 0), (-0.5, 0), (-30, 0), (0, 0), (100, 100), (100.5, 100), (130, 100), (50, 50)],
)
def test_the_ideal_is_held_at_the_ends(command_pct, asked_pct):
    assert ideal_position_pct(command_pct) == asked_pct
    assert ideal_position_pct(command_pct, reverse=True) == 100 - asked_pct
    assert ideal_position_pct(command_pct, rangeability=50) == pytest.approx(100 * 50 ** (asked_pct / 100 - 1))


def test_a_valve_on_its_stop_at_3_93_and_20_07_ma_has_no_error():
    """(3.93 - 4) / 16 is -0.4375 %, and no valve goes beyond its stop."""
    command_pct = to_percent([3.93, 20.07], 4, 20)
    assert ideal_position_pct(command_pct).tolist() == [0.0, 100.0]
    assert ideal_slope(command_pct).tolist() == [0.0, 0.0]


def test_rounding_does_not_hold_a_command_at_the_end_itself():
    assert ideal_slope([-1e-10, 0, 100, 100 + 1e-10]).tolist() == [1.0, 1.0, 1.0, 1.0]
    assert ideal_slope([-1e-8, 100 + 1e-8]).tolist() == [0.0, 0.0]


@pytest.mark.parametrize("rangeability", [None, 50.0])
def test_tight_shut_off_holds_the_ideal_below_one_command_and_above_another(rangeability):
    """Shut below 2 %, open above 97 %: at these commands themselves the characteristic holds."""
    law = {"rangeability": rangeability, "shut_below_pct": 2.0, "open_above_pct": 97.0}
    alone = ideal_position_pct([2.0, 50.0, 97.0], rangeability=rangeability)
    assert ideal_position_pct([-1.0, 0.0, 1.999], **law).tolist() == [0.0, 0.0, 0.0]
    assert ideal_position_pct([2.0, 50.0, 97.0], **law).tolist() == alone.tolist()
    assert ideal_position_pct([97.001, 100.0, 110.0], **law).tolist() == [100.0, 100.0, 100.0]
    assert ideal_slope([0.0, 1.999, 97.001, 100.0], **law).tolist() == [0.0] * 4
    assert (ideal_slope([2.0, 50.0, 97.0], **law) > 0).all()


def test_equal_percentage_asks_for_shut_at_0_percent_only_with_tight_shut_off():
    """100 / 50 is 2 %."""
    assert ideal_position_pct(0, rangeability=50) == pytest.approx(2.0)
    assert ideal_position_pct(0, rangeability=50, shut_below_pct=1) == 0.0


def test_reverse_action_turns_the_command_before_tight_shut_off():
    """At 99 % command a reverse valve is asked for 1 %, which is below 2 %: shut."""
    law = {"reverse": True, "shut_below_pct": 2.0, "open_above_pct": 95.0}
    assert ideal_position_pct([99, 97, 50, 6, 4, 0], **law).tolist() == [0.0, 3.0, 50.0, 94.0, 100.0, 100.0]


_LAW = fixed_dictionaries(
    {
        "rangeability": one_of(none(), floats(1.5, 200)),
        "shut_below_pct": one_of(none(), floats(0, 20)),
        "open_above_pct": one_of(none(), floats(80, 100)),
    }
)


@given(first=floats(-50, 150), further=floats(0, 50), reverse=booleans(), law=_LAW)
def test_the_ideal_lies_within_the_travel_and_never_turns_back(first, further, reverse, law):
    low, high = ideal_position_pct([first, first + further], reverse=reverse, **law)
    assert 0.0 <= low <= 100.0
    assert 0.0 <= high <= 100.0
    assert low >= high if reverse else low <= high


@given(command_pct=floats(0.01, 99.99), reverse=booleans(), rangeability=one_of(none(), floats(1.5, 200)))
def test_slope_is_the_derivative_of_the_ideal_position(command_pct, reverse, rangeability):
    step = 1e-4
    ends = ideal_position_pct([command_pct - step, command_pct + step], reverse=reverse, rangeability=rangeability)
    slope = ideal_slope(command_pct, reverse=reverse, rangeability=rangeability)
    assert slope == pytest.approx((ends[1] - ends[0]) / (2 * step), rel=1e-6)


@pytest.mark.parametrize("reverse", [False, True])
@pytest.mark.parametrize("rangeability", [None, 50.0])
def test_slope_is_zero_where_the_ideal_is_held(reverse, rangeability):
    assert ideal_slope([-1.0, 101.0], reverse=reverse, rangeability=rangeability).tolist() == [0.0, 0.0]


@pytest.mark.parametrize("rangeability", [None, 50.0])
def test_nan_gives_nan(rangeability):
    assert np.isnan(ideal_position_pct(np.nan, rangeability=rangeability))
    assert np.isnan(ideal_slope(np.nan, rangeability=rangeability))
    assert np.isnan(to_percent(np.nan, 4, 20))
    assert np.isnan(from_percent(np.nan, 4, 20))


@given(pct=floats(-50, 150), low=floats(-100, 100), span=floats(0.5, 500), downward=booleans())
def test_scaling_to_percent_and_back_returns_the_signal(pct, low, span, downward):
    high = low - span if downward else low + span
    assert to_percent(from_percent(pct, low, high), low, high) == pytest.approx(pct, abs=1e-9)


@given(command_pct=floats(-0.5, 100.5), rangeability=one_of(none(), floats(1.5, 200)))
def test_reverse_action_mirrors_the_command(command_pct, rangeability):
    mirrored = ideal_position_pct(100 - command_pct, rangeability=rangeability)
    assert ideal_position_pct(command_pct, reverse=True, rangeability=rangeability) == pytest.approx(mirrored)


def test_shapes_are_kept():
    square = np.full((2, 2), 50.0)
    assert to_percent(square, 0, 100).shape == (2, 2)
    assert ideal_position_pct(square).shape == (2, 2)
    assert ideal_slope(square, rangeability=30).shape == (2, 2)


@pytest.mark.parametrize(("low", "high"), [(4, 4), (float("nan"), 20), (4, float("inf"))])
def test_a_range_without_a_span_is_refused(low, high):
    with pytest.raises(CalculationInputError, match=r"has no span; give two different finite ends"):
        to_percent(5, low, high)
    with pytest.raises(CalculationInputError, match=rf"^A range from {low:g} to {high:g} has no span"):
        from_percent(5, low, high)


@pytest.mark.parametrize("rangeability", [1.0, 0.0, -5.0, float("nan"), float("inf")])
def test_a_rangeability_that_gives_no_curve_is_refused(rangeability):
    with pytest.raises(CalculationInputError, match=rf"^A rangeability of {rangeability:g} gives no equal percentage"):
        ideal_position_pct(50, rangeability=rangeability)
    with pytest.raises(CalculationInputError, match="give a finite number above 1"):
        ideal_slope(50, rangeability=rangeability)
