"""The feedback potentiometer over the travel."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, floats, integers

from kit.basis.arrays import CalculationInputError
from kit.calculations.potentiometer import dropouts, high_margin, low_margin, reduce_sweep, sweep_linearity

CHECKS = (low_margin, high_margin, sweep_linearity, dropouts)
POSITIONS = [0.0, 25.0, 50.0, 75.0, 100.0]


def test_healthy_sweep_by_hand():
    """1 kohm, 100 to 880 ohm: 10 % and 12 % left; the 500 at 50 % is 10 ohm above the ends' line, half of it counts."""
    sweep = reduce_sweep(POSITIONS, [100, 295, 500, 685, 880], 1000)
    assert sweep.ratio_pct == pytest.approx([10, 29.5, 50, 68.5, 88])
    assert [check(sweep).value for check in CHECKS] == pytest.approx([10, 12, 0.5, 0])
    assert sweep.slope_sign == 1
    assert low_margin(sweep).weights.tolist() == [1, 0, 0, 0, 0]
    assert high_margin(sweep).weights.tolist() == [0, 0, 0, 0, -1]
    assert (low_margin(sweep).point, low_margin(sweep).reading) == (0, 0)
    assert (high_margin(sweep).point, high_margin(sweep).reading) == (4, 4)
    assert (sweep_linearity(sweep).point, sweep_linearity(sweep).reading) == (2, 2)
    assert sweep_linearity(sweep).weights == pytest.approx([-0.25, 0, 0.5, 0, -0.25])
    assert sweep_linearity(sweep).averaged
    assert (dropouts(sweep).point, dropouts(sweep).weights) == (None, None)


@given(integers(0, 1000), booleans(), floats(100, 20_000))
def test_order_sense_and_size_of_the_track_do_not_matter(start_number, falls, track_ohm):
    order = np.random.default_rng(start_number).permutation(5)
    share = np.array([0.1, 0.295, 0.5, 0.685, 0.88])
    share = 1.0 - share if falls else share
    sweep = reduce_sweep(np.array(POSITIONS)[order], (track_ohm * share)[order], track_ohm)
    margins = (12, 10) if falls else (10, 12)
    assert [check(sweep).value for check in CHECKS] == pytest.approx([*margins, 0.5, 0], abs=1e-9)
    assert sweep.slope_sign == (-1 if falls else 1)
    assert sweep.position_pct.tolist() == POSITIONS
    assert np.array(POSITIONS)[order][sweep.kept].tolist() == POSITIONS


def test_margins_take_the_extreme_wiper_wherever_it_is():
    """The lowest is at 25 %, the highest at 75 %."""
    sweep = reduce_sweep(POSITIONS, [100, 90, 500, 950, 900], 1000)
    assert (low_margin(sweep).value, low_margin(sweep).point) == (9.0, 1)
    assert (high_margin(sweep).value, high_margin(sweep).point) == (5.0, 3)
    assert dropouts(sweep).value == 2


@pytest.mark.parametrize(
    ("lowest", "highest", "given_margins"),
    [
        (0, 100, True),
        (2, 98, True),
        (2.001, 98, False),
        (2, 97.999, False),
        (2 + 1e-12, 98 - 1e-12, True),
        (-1, 101, True),
    ],
)
def test_margins_need_a_sweep_to_within_two_percent_of_both_ends(lowest, highest, given_margins):
    sweep = reduce_sweep([lowest, 50, highest], [100, 500, 900], 1000)
    assert [low_margin(sweep).value, high_margin(sweep).value] == (
        pytest.approx([10.0, 10.0]) if given_margins else [None, None]
    )
    if not given_margins:
        expected = f"the sweep goes from {lowest:.4g} to {highest:.4g} % of travel, not within 2 % of both ends"
        assert low_margin(sweep).why_not == high_margin(sweep).why_not == expected
    assert sweep_linearity(sweep).value == pytest.approx(0.0, abs=0.2)


@pytest.mark.parametrize("wiper", [np.nan, np.inf, -np.inf, 1020.1, 5000.0])
def test_an_open_circuit_is_a_break_and_left_out(wiper):
    sweep = reduce_sweep(POSITIONS, [100, 300, wiper, 700, 900], 1000)
    assert (sweep.breaks, sweep.reversals) == (1, 0)
    assert dropouts(sweep).value == 1
    assert sweep.position_pct.tolist() == [0, 25, 75, 100]
    assert sweep.kept.tolist() == [0, 1, 3, 4]
    assert sweep_linearity(sweep).value == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize("wiper", [1000.0, 1020.0])
def test_up_to_two_percent_more_than_the_track_is_no_break(wiper):
    sweep = reduce_sweep([0, 50, 100], [200, 600, wiper], 1000)
    assert sweep.breaks == 0
    assert high_margin(sweep).value == pytest.approx(100 - wiper / 10)


def test_two_percent_more_is_no_break_whatever_the_rounding():
    """1.02 x 1234.5 ohm = 1259.19 ohm."""
    assert reduce_sweep([0, 100], [200, 1259.19], 1234.5).breaks == 0
    assert reduce_sweep([0, 100], [200, 1259.20], 1234.5).breaks == 1
    assert reduce_sweep([0, 100], [0.05, 0.45], 0.5).ratio_pct == pytest.approx([10.0, 90.0])


@pytest.mark.parametrize(("step_ohm", "reversals"), [(2.5, 0), (2.6, 1), (0, 0), (-10, 0), (80, 1)])
def test_a_step_against_the_trend_by_more_than_a_quarter_percent_is_a_reversal(step_ohm, reversals):
    rising = reduce_sweep(POSITIONS, [100, 300, 300 - step_ohm, 700, 900], 1000)
    falling = reduce_sweep(POSITIONS, [900, 700, 700 + step_ohm, 300, 100], 1000)
    assert (rising.reversals, falling.reversals) == (reversals, reversals)
    assert dropouts(rising).value == reversals
    assert dropouts(rising).point == (2 if reversals else None)
    assert dropouts(rising).reading == (2 if reversals else None)


def test_every_reversal_counts_and_the_first_is_shown():
    sweep = reduce_sweep(range(0, 101, 20), [100, 300, 250, 600, 500, 900], 1000)
    assert (sweep.reversals, sweep.reversal_at) == (2, 2)


def test_readings_at_one_position_are_averaged_before_reversals_and_the_line():
    """Down 4 ohm below up at each position: no reversal; the mean curve 98, 508, 898 bows by 10, half counts."""
    sweep = reduce_sweep([0, 50, 100, 100, 50, 0], [100, 510, 900, 896, 506, 96], 1000)
    assert sweep.curve_position_pct.tolist() == [0, 50, 100]
    assert sweep.curve_ratio_pct == pytest.approx([9.8, 50.8, 89.8])
    assert sweep.place.tolist() == [0, 0, 1, 1, 2, 2]
    assert sweep.kept.tolist() == [0, 5, 1, 4, 2, 3]
    assert [check(sweep).value for check in CHECKS] == pytest.approx([9.6, 10.0, 0.5, 0.0])
    assert sweep_linearity(sweep).weights == pytest.approx([-0.125, -0.125, 0.25, 0.25, -0.125, -0.125])
    assert (sweep_linearity(sweep).point, sweep_linearity(sweep).reading) == (2, 2)


def test_reversal_after_repeated_positions_points_at_its_first_reading():
    sweep = reduce_sweep([0, 0, 50, 50, 75, 75, 100], [100, 100, 500, 500, 400, 400, 900], 1000)
    assert (sweep.reversals, sweep.reversal_at) == (1, 4)


@given(floats(1, 99))
def test_a_wiper_that_does_not_move_is_said_and_never_passed(share_pct):
    sweep = reduce_sweep(POSITIONS, np.full(5, 10 * share_pct), 1000)
    assert [check(sweep).value for check in CHECKS] == [None] * 4
    assert {check(sweep).why_not for check in CHECKS} == {"the wiper does not move with the position"}
    assert (sweep.slope_sign, sweep.reversals) == (0, 0)


def test_a_wiper_that_moves_by_no_more_than_a_quarter_percent_does_not_move():
    assert reduce_sweep([0, 50, 100], [500, 501, 502.5], 1000).slope_sign == 0
    assert reduce_sweep([0, 50, 100], [500, 501, 502.6], 1000).slope_sign == 1


def test_breaks_of_a_wiper_that_does_not_move_still_count():
    sweep = reduce_sweep(POSITIONS, [500, 500, np.nan, 500, 500], 1000)
    assert dropouts(sweep).value == 1
    assert low_margin(sweep).value is None


def test_no_rows():
    sweep = reduce_sweep([], [], 1000)
    assert [check(sweep).value for check in CHECKS] == [None] * 4
    assert {check(sweep).why_not for check in CHECKS} == {"no wiper reading beside a position and a track resistance"}
    assert sweep.line is None


@pytest.mark.parametrize("track", [np.nan, 0.0, -5.0, np.inf])
def test_without_a_track_resistance_no_row_counts(track):
    sweep = reduce_sweep(POSITIONS, [100, 300, np.nan, 700, 900], track)
    assert (sweep.breaks, sweep.position_pct.size) == (0, 0)
    assert dropouts(sweep).why_not == "no wiper reading beside a position and a track resistance"


def test_only_breaks():
    sweep = reduce_sweep([0, 100], [np.inf, np.nan], 1000)
    assert dropouts(sweep).value == 2
    assert {check(sweep).why_not for check in CHECKS[:3]} == {"every wiper reading is a break"}


def test_one_position():
    sweep = reduce_sweep([50, 50], [500, 510], 1000)
    assert [check(sweep).value for check in CHECKS] == [None] * 4
    assert low_margin(sweep).why_not == "the sweep goes from 50 to 50 % of travel, not within 2 % of both ends"
    assert sweep_linearity(sweep).why_not == "fewer than three positions with a wiper reading; a line needs three"
    assert dropouts(sweep).why_not == "one position with a wiper reading; a sweep needs two"


def test_two_positions_give_margins_and_no_linearity():
    sweep = reduce_sweep([0, 100], [100, 800], 1000)
    assert [check(sweep).value for check in CHECKS] == [10.0, 20.0, None, 0.0]


@pytest.mark.parametrize("bad", [np.nan, np.inf])
def test_a_row_without_a_position_is_neither_used_nor_a_break(bad):
    sweep = reduce_sweep([0, bad, 100], [100, np.nan, 900], 1000)
    assert (sweep.breaks, sweep.kept.tolist()) == (0, [0, 2])


def test_each_row_can_have_a_track_of_its_own():
    sweep = reduce_sweep([0, 50, 100], [100, 600, 900], [1000, 1200, np.nan])
    assert sweep.ratio_pct == pytest.approx([10, 50])


@given(integers(0, 2**32 - 1))
def test_weights_are_the_derivatives_of_the_figures(start_number):
    generator = np.random.default_rng(start_number)
    position = np.repeat(POSITIONS, 2)
    wiper = 100 + 8 * position + generator.normal(0, 20, 10)
    sweep = reduce_sweep(position, wiper, 1000)
    for check in CHECKS[:3]:
        found = check(sweep)
        for reading in range(10):
            nudged = wiper.copy()
            nudged[sweep.kept[reading]] += 1e-6
            moved = check(reduce_sweep(position, nudged, 1000))
            if moved.point == found.point:
                assert moved.value - found.value == pytest.approx(found.weights[reading] * 1e-7, abs=2e-12)


def test_columns_of_unequal_length_are_refused():
    with pytest.raises(CalculationInputError, match=r"^wiper_ohm has 1 values beside 2 readings"):
        reduce_sweep([0, 1], [0], 1000)
    with pytest.raises(CalculationInputError, match=r"^track_ohm has 1 values beside 2 readings"):
        reduce_sweep([0, 1], [0, 1], [1000])
    with pytest.raises(CalculationInputError, match=r"^position_pct has 2 dimensions"):
        reduce_sweep([[0, 1]], [0, 1], 1000)
