"""Errors over a calibration."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import booleans, composite, floats, integers

from kit.basis.arrays import CalculationInputError
from kit.calculations.both_ways import hysteretic_error
from kit.calculations.linearity import independent_linearity, terminal_linearity, zero_based_linearity
from kit.calculations.position import (
    curve_weights,
    inaccuracy,
    reduce_runs,
    repeatability,
    span_error,
    zero_error,
)
from tests.calculations.published_data import (
    GAUGE_DOWN_KPA,
    GAUGE_TRUE_KPA,
    GAUGE_UP_KPA,
    LOOP_DOWN_MV,
    LOOP_UP_MV,
    LOOP_X_MV,
)

CHECKS = (
    zero_error,
    span_error,
    inaccuracy,
    hysteretic_error,
    repeatability,
    independent_linearity,
    terminal_linearity,
    zero_based_linearity,
)
SIGNED = (zero_error, span_error, inaccuracy)


def runs_of(command, error, directions="", cycle=None, **keywords):
    """Runs from plain lists; directions as a text of u and d, all up where it is left out."""
    rising = [letter == "u" for letter in directions] if directions else [True] * len(command)
    return reduce_runs(command, error, rising, [1.0] * len(command) if cycle is None else cycle, **keywords)


def up_and_down(x, up, down):
    """One cycle over x, as commands from 0 to 100 %."""
    command = 100.0 * (x - x[0]) / (x[-1] - x[0])
    return reduce_runs(
        np.tile(command, 2), np.concatenate((up, down)), np.repeat([True, False], x.size), np.ones(2 * x.size)
    )


@composite
def calibrations(draw):
    """Two cycles over five commands, with random errors."""
    command = np.tile([0.0, 25.0, 50.0, 75.0, 100.0], 4)
    rising = np.tile(np.repeat([True, False], 5), 2)
    cycle = np.repeat([1.0, 2.0], 10)
    errors = np.random.default_rng(draw(integers(0, 2**32 - 1))).normal(0.0, draw(floats(0.01, 3.0)), 20)
    return command, errors, rising, cycle


@pytest.mark.published
def test_gauge_hysteresis_is_as_printed():
    """E. O. Doebelin, Measurement Systems, pressure gauge (attribution from memory): 0.61 kPa, 6.10 % of 10 kPa."""
    found = hysteretic_error(up_and_down(GAUGE_TRUE_KPA, GAUGE_UP_KPA, GAUGE_DOWN_KPA))
    assert found.value == pytest.approx(0.61, abs=5e-13)
    assert found.point == 6  # 5.26 up, 5.87 down
    of_span = hysteretic_error(up_and_down(GAUGE_TRUE_KPA, 10 * GAUGE_UP_KPA, 10 * GAUGE_DOWN_KPA))
    assert of_span.value == pytest.approx(6.10, abs=0.005)


@pytest.mark.published
def test_small_loop_hysteresis_is_as_printed():
    """Course example: 0.20 mV; 4.08 % of the greatest less the least mean output (4.9)."""
    found = hysteretic_error(up_and_down(LOOP_X_MV, LOOP_UP_MV, LOOP_DOWN_MV))
    assert found.value == pytest.approx(0.20, abs=1e-12)
    assert found.point == 3
    assert 100 * found.value / 4.9 == pytest.approx(4.08, abs=0.005)


def test_by_hand():
    """Two cycles over 0, 50, 100 %; every figure worked out in the comments."""
    command = [0, 50, 100, 50, 0, 50, 100, 50]
    error = [0.2, -0.4, 0.6, 0.5, 0.4, -0.6, 1.0, 0.7]
    runs = runs_of(command, error, "uuudduud", cycle=[1, 1, 1, 1, 2, 2, 2, 2])
    assert runs.up_mean_pct == pytest.approx([0.2, -0.5, 0.8])
    assert runs.down_mean_pct[:2] == pytest.approx([0.4, 0.6])
    assert np.isnan(runs.down_mean_pct[2])
    assert runs.curve_pct == pytest.approx([0.3, 0.05, 0.8])
    assert runs.up_count.tolist() == [1, 2, 2]
    assert runs.down_count.tolist() == [1, 2, 0]
    assert zero_error(runs).value == pytest.approx(0.3)  # (0.2 + 0.4) / 2
    assert span_error(runs).value == pytest.approx(0.5)  # 0.8 - 0.3
    assert inaccuracy(runs).value == pytest.approx(1.0)
    assert inaccuracy(runs).beside.get("greatest_negative") == pytest.approx(-0.6)
    assert hysteretic_error(runs).value == pytest.approx(1.1)  # 0.6 - -0.5 at 50 %
    assert repeatability(runs).value == pytest.approx(0.4)  # 1.0 - 0.6 at 100 %, up
    assert terminal_linearity(runs).value == pytest.approx(0.5)  # 0.05 - (0.3 + 0.8) / 2
    assert independent_linearity(runs).value == pytest.approx(0.25)
    # Through (0, 0.3) with slope b per 50 %: -0.25 - b at 50 % and 0.5 - 2 b at 100 % are opposite at b = 1/12.
    assert zero_based_linearity(runs).value == pytest.approx(1 / 3)


def test_weights_by_hand():
    """The readings above: each weight is what one unit of error there adds to the figure."""
    command = [0, 50, 100, 50, 0, 50, 100, 50]
    error = [0.2, -0.4, 0.6, 0.5, 0.4, -0.6, 1.0, 0.7]
    runs = runs_of(command, error, "uuudduud", cycle=[1, 1, 1, 1, 2, 2, 2, 2])
    assert zero_error(runs).weights.tolist() == [0.5, 0, 0, 0, 0.5, 0, 0, 0]
    assert span_error(runs).weights.tolist() == [-0.5, 0, 0.5, 0, -0.5, 0, 0.5, 0]
    assert inaccuracy(runs).weights.tolist() == [0, 0, 0, 0, 0, 0, 1, 0]
    assert hysteretic_error(runs).weights.tolist() == [0, -0.5, 0, 0.5, 0, -0.5, 0, 0.5]
    assert repeatability(runs).weights.tolist() == [0, 0, -1, 0, 0, 0, 1, 0]
    assert curve_weights(runs).tolist() == [0.5, 0.25, 0.5, 0.25, 0.5, 0.25, 0.5, 0.25]
    # The 50 % point lies below the line through the ends: -(curve50 - curve0 / 2 - curve100 / 2).
    assert terminal_linearity(runs).weights.tolist() == [0.25, -0.25, 0.25, -0.25, 0.25, -0.25, 0.25, -0.25]
    assert [check(runs).averaged for check in CHECKS] == [True, True, False, True, False, True, True, True]


def test_place_of_each_figure_is_told():
    command = [0, 50, 100, 50, 0, 50, 100, 50]
    error = [0.2, -0.4, 0.6, 0.5, 0.4, -0.6, 1.0, 0.7]
    runs = runs_of(command, error, "uuuddudd", cycle=[1, 1, 1, 1, 2, 2, 2, 2])
    assert (zero_error(runs).point, zero_error(runs).reading) == (0, None)
    assert (span_error(runs).point, span_error(runs).reading) == (2, None)
    assert (inaccuracy(runs).point, inaccuracy(runs).reading) == (2, 6)
    assert (hysteretic_error(runs).point, hysteretic_error(runs).reading) == (1, None)
    assert (repeatability(runs).point, repeatability(runs).reading) == (1, 1)
    assert terminal_linearity(runs).point == 1


@given(calibrations())
def test_weights_are_the_derivatives_of_the_figures(calibration):
    """A small change of one reading's error moves every figure by its weight."""
    command, error, rising, cycle = calibration
    before = [check(reduce_runs(*calibration)) for check in CHECKS]
    for reading in range(error.size):
        nudged = error.copy()
        nudged[reading] += 1e-7
        after = [check(reduce_runs(command, nudged, rising, cycle)) for check in CHECKS]
        for found, moved in zip(before, after, strict=True):
            if (moved.point, moved.reading) == (found.point, found.reading):
                assert moved.value - found.value == pytest.approx(1e-7 * found.weights[reading], abs=2e-12)


@given(calibrations(), floats(-10, 10))
def test_a_shift_of_every_error_moves_zero_error_alone(calibration, shift):
    command, error, rising, cycle = calibration
    before, after = reduce_runs(*calibration), reduce_runs(command, error + shift, rising, cycle)
    assert zero_error(after).value == pytest.approx(zero_error(before).value + shift, abs=1e-9)
    for check in (span_error, *CHECKS[3:]):
        assert check(after).value == pytest.approx(check(before).value, abs=1e-9)


@given(calibrations(), floats(-10, 10))
def test_a_slope_of_the_errors_moves_the_span_and_no_linearity(calibration, gain):
    command, error, rising, cycle = calibration
    before, after = reduce_runs(*calibration), reduce_runs(command, error + gain * command / 100, rising, cycle)
    assert span_error(after).value == pytest.approx(span_error(before).value + gain, abs=1e-9)
    for check in (zero_error, *CHECKS[3:]):
        assert check(after).value == pytest.approx(check(before).value, abs=1e-9)


@given(calibrations(), floats(0.01, 100))
def test_scaled_errors_scale_every_figure(calibration, scale):
    command, error, rising, cycle = calibration
    before, after = reduce_runs(*calibration), reduce_runs(command, error * scale, rising, cycle)
    for check in CHECKS:
        assert check(after).value == pytest.approx(check(before).value * scale, rel=1e-9, abs=1e-12)


@given(calibrations())
def test_negated_errors_negate_signed_figures_and_keep_sizes(calibration):
    command, error, rising, cycle = calibration
    before, after = reduce_runs(*calibration), reduce_runs(command, -error, rising, cycle)
    for check in CHECKS:
        sign = -1 if check in SIGNED else 1
        assert check(after).value == pytest.approx(sign * check(before).value, abs=1e-12)


@given(calibrations())
def test_up_and_down_exchanged_change_nothing(calibration):
    command, error, rising, cycle = calibration
    before, after = reduce_runs(*calibration), reduce_runs(command, error, ~rising, cycle)
    for check in CHECKS:
        assert check(after).value == pytest.approx(check(before).value, abs=1e-12)


@given(calibrations(), integers(0, 1000))
def test_order_of_the_readings_changes_nothing(calibration, start_number):
    command, error, rising, cycle = calibration
    order = np.random.default_rng(start_number).permutation(error.size)
    before = reduce_runs(*calibration)
    after = reduce_runs(command[order], error[order], rising[order], cycle[order])
    for check in CHECKS:
        assert check(after).value == pytest.approx(check(before).value, abs=1e-12)


@given(calibrations())
def test_figures_stay_within_their_bounds(calibration):
    """No size is negative, and none exceeds the whole spread of the errors."""
    runs = reduce_runs(*calibration)
    spread = np.ptp(calibration[1])
    assert abs(zero_error(runs).value) <= abs(inaccuracy(runs).value) + 1e-12
    for check in CHECKS[3:]:
        assert 0 <= check(runs).value <= spread + 1e-12
    assert independent_linearity(runs).value <= zero_based_linearity(runs).value + 1e-12
    assert zero_based_linearity(runs).value <= terminal_linearity(runs).value + 1e-12


@given(floats(-5, 5), floats(-5, 5))
def test_a_made_backlash_comes_back(offset, backlash):
    command = np.tile([0.0, 50.0, 100.0], 2)
    rising = np.repeat([True, False], 3)
    runs = reduce_runs(command, offset + np.where(rising, -backlash / 2, backlash / 2), rising, np.ones(6))
    assert hysteretic_error(runs).value == pytest.approx(abs(backlash), abs=1e-12)
    assert zero_error(runs).value == pytest.approx(offset, abs=1e-12)


def test_perfect_readings_give_zero_with_weights_for_their_uncertainty():
    runs = runs_of([0, 50, 100, 100, 50, 0] * 2, [0.0] * 12, "uuuddd" * 2, cycle=[1] * 6 + [2] * 6)
    for check in CHECKS:
        found = check(runs)
        assert found.value == 0.0
        assert np.abs(found.weights).sum() > 0, check.__name__
    assert inaccuracy(runs).beside.get("greatest_positive") is None
    assert inaccuracy(runs).beside.get("greatest_negative") is None
    assert np.abs(repeatability(runs).weights).tolist().count(1.0) == 2


def test_no_readings_give_no_figure():
    runs = runs_of([], [])
    assert [check(runs).value for check in CHECKS] == [None] * len(CHECKS)
    assert [check(runs).why_not for check in CHECKS] == [
        "no readings within 0.5 % of 0 % command: read there too",
        "no readings within 0.5 % of 0 % command: read there too",
        "no readings",
        "no command with readings in both directions",
        "no command with two readings in one direction from two cycles",
        "no test point within 0 to 100 % command; a line needs three",
        "no test point within 0 to 100 % command; a line needs three",
        "no test point within 0 to 100 % command; a line needs three",
    ]


def test_readings_one_way_only_give_no_hysteretic_error():
    runs = runs_of([0, 50, 100, 0, 50, 100], [0.1, 0.2, 0.3, 0.2, 0.2, 0.5], cycle=[1, 1, 1, 2, 2, 2])
    assert hysteretic_error(runs).value is None
    assert hysteretic_error(runs).why_not == "no command with readings in both directions"
    assert runs.curve_pct == pytest.approx([0.15, 0.2, 0.4])
    assert repeatability(runs).value == pytest.approx(0.2)
    assert curve_weights(runs).tolist() == [0.5] * 6
    down = runs_of([0, 50, 100], [0.1, 0.2, 0.3], "ddd")
    assert curve_weights(down).tolist() == [1.0] * 3
    assert down.curve_pct.tolist() == [0.1, 0.2, 0.3]
    assert hysteretic_error(down).value is None


def test_one_cycle_gives_no_repeatability():
    runs = runs_of([0, 50, 100, 50, 0], [0.1] * 5, "uuudd")
    assert repeatability(runs).value is None
    assert repeatability(runs).why_not == "no command with two readings in one direction from two cycles"


def test_two_readings_of_one_cycle_give_no_repeatability():
    assert repeatability(runs_of([50, 50], [0.1, 0.4], cycle=[1, 1])).value is None
    assert repeatability(runs_of([50, 50], [0.1, 0.4], cycle=[1, 2])).value == pytest.approx(0.3)
    assert repeatability(runs_of([50, 50], [0.1, 0.4], cycle=[np.nan, np.nan])).value == pytest.approx(0.3)
    assert repeatability(runs_of([50, 50], [0.1, 0.4], cycle=[1, np.nan])).value == pytest.approx(0.3)


def test_repeatability_never_mixes_directions_or_points():
    runs = runs_of([50, 50, 50, 60], [0.0, 0.25, 9.0, 7.0], "uudu", cycle=[1, 2, 1, 1])
    found = repeatability(runs)
    assert (found.value, found.point, found.reading) == (0.25, 0, 1)


def test_repeatability_of_three_takes_the_extremes():
    found = repeatability(runs_of([50, 50, 50], [0.2, -0.1, 0.1], cycle=[1, 2, 3]))
    assert found.value == pytest.approx(0.3)
    assert found.weights.tolist() == [1.0, -1.0, 0.0]


def test_two_points_give_no_linearity():
    runs = runs_of([0, 100], [0.0, 1.0])
    for check in (independent_linearity, terminal_linearity, zero_based_linearity):
        assert check(runs).value is None
        assert check(runs).why_not == "two test points within 0 to 100 % command; a line needs three"
    one = runs_of([0], [0.0])
    assert independent_linearity(one).why_not == "one test point within 0 to 100 % command; a line needs three"
    assert span_error(runs).value == 1.0


@pytest.mark.parametrize("check", [independent_linearity, terminal_linearity, zero_based_linearity])
def test_points_beyond_the_ends_of_the_command_take_no_part_in_a_linearity(check):
    """A line over 0, 50 and 100 % leaves 1.0 (0.5 minimax, 2/3 zero-based); readings at -3 and 104 % change nothing."""
    inside = check(runs_of([0, 50, 100], [0.0, 1.0, 0.0]))
    found = check(runs_of([-3, 0, 50, 100, 104], [5.0, 0.0, 1.0, 0.0, -4.0]))
    assert found.value == inside.value
    assert found.weights.tolist() == [0.0, *inside.weights.tolist(), 0.0]
    assert found.point == inside.point + 1


def test_a_point_within_half_a_percent_of_an_end_is_of_the_end():
    """3.93 mA and 20.07 mA are -0.44 and 100.44 %: the line runs from end to end; at -0.56 % it does not."""
    runs = runs_of([-0.44, 50, 100.44], [0.0, 1.0, 0.0])
    assert terminal_linearity(runs).value == pytest.approx(1.0)
    assert terminal_linearity(runs_of([-0.56, 50, 100], [0.0, 1.0, 0.0])).value is None


def test_a_stuck_position_gives_no_feedback_linearity():
    runs = runs_of([0, 50, 100], [0.1, 0.2, 0.3], input_pct=[40.0, 40.0, 40.0])
    for check in (independent_linearity, terminal_linearity, zero_based_linearity):
        assert (check(runs).value, check(runs).why_not) == (None, "the input does not vary over the test points")


def test_two_commands_at_one_position_leave_the_independent_line_alone():
    """Errors 0, 1 at one position and 0 at the other end: half of the 1 between the two."""
    runs = runs_of([0, 50, 100], [0.0, 1.0, 0.0], input_pct=[40.0, 40.0, 90.0])
    assert independent_linearity(runs).value == pytest.approx(0.5)
    assert terminal_linearity(runs).why_not == "two test points at the same input"
    assert zero_based_linearity(runs).why_not == "two test points at the same input"


def test_linearity_goes_over_the_input_and_not_the_command():
    """Errors that are a line over position are straight, however the position follows the command."""
    position = np.array([2.0, 4.0, 14.0, 45.0, 100.0])
    runs = runs_of([0, 25, 50, 75, 100], 0.02 * position - 1.0, input_pct=position)
    assert independent_linearity(runs).value == pytest.approx(0.0, abs=1e-12)
    assert runs.point_input_pct.tolist() == position.tolist()
    assert runs.point_command_pct.tolist() == [0, 25, 50, 75, 100]


def test_input_of_a_point_is_the_mean_of_its_readings():
    runs = runs_of([50, 50], [0.0, 0.0], "ud", input_pct=[49.0, 52.0])
    assert runs.point_input_pct.tolist() == [50.5]
    assert runs.input_pct.tolist() == [49.0, 52.0]


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize("place", ["command", "error", "input"])
def test_a_reading_that_is_no_number_is_left_out_alone(bad, place):
    columns = {"command": [0.0, 50.0, 100.0], "error": [0.1, 0.2, 0.3], "input": [1.0, 51.0, 99.0]}
    columns[place][1] = bad
    runs = reduce_runs(
        columns["command"], columns["error"], [True, False, False], [1, 2, 3], input_pct=columns["input"]
    )
    assert runs.kept.tolist() == [0, 2]
    assert runs.error_pct.tolist() == [0.1, 0.3]
    assert runs.cycle.tolist() == [1, 3]
    assert runs.rising.tolist() == [True, False]
    assert runs.input_pct.tolist() == [1.0, 99.0]
    assert runs.point_command_pct.tolist() == [0.0, 100.0]
    assert inaccuracy(runs).value == 0.3


def test_infinities_of_both_signs_are_left_out_without_a_warning():
    runs = runs_of([np.inf, 50.0, 0.0], [-np.inf, 0.5, 0.25], input_pct=[np.inf, 50.0, 1.0])
    assert runs.kept.tolist() == [1, 2]


@pytest.mark.parametrize(
    ("command", "found"),
    [(0.0, True), (0.5, True), (-0.5, True), (0.501, False), (-0.501, False), (0.5 + 1e-12, True), (5.0, False)],
)
def test_zero_error_needs_readings_within_half_a_percent(command, found):
    determination = zero_error(runs_of([command, 100.0], [0.25, 0.5]))
    assert determination.value == (0.25 if found else None)
    assert determination.why_not == ("" if found else "no readings within 0.5 % of 0 % command: read there too")


def test_zero_error_takes_the_nearest_point():
    assert zero_error(runs_of([-0.49, 0.0, 0.05, 0.52, 3.0], [9.0, 0.25, 0.75, 4.0, 5.0])).value is not None
    assert zero_error(runs_of([0.4, 1.45], [1.0, 2.0])).value == 1.0


def test_zero_error_is_the_plain_mean_of_the_point():
    """(0.3 + 0.5 + 0.1) / 3, not the mean of up mean and down mean."""
    assert zero_error(runs_of([0, 0, 0], [0.3, 0.5, 0.1], "uud")).value == pytest.approx(0.3)


def test_span_error_says_which_end_is_missing():
    assert span_error(runs_of([5, 100], [0, 0])).why_not == "no readings within 0.5 % of 0 % command: read there too"
    assert span_error(runs_of([0, 95], [0, 0])).why_not == "no readings within 0.5 % of 100 % command: read there too"
    assert (
        zero_error(runs_of([0, 95], [0, 0]), at_command_pct=62.5).why_not
        == "no readings within 0.5 % of 62.5 % command: read there too"
    )


def test_span_error_can_run_from_the_closed_end_of_a_reverse_action():
    """At 100 % command (closed) 0.1, at 0 % command (open) 0.4: the open end less the closed end is 0.3."""
    runs = runs_of([0, 100], [0.4, 0.1])
    assert span_error(runs, from_command_pct=100.0, to_command_pct=0.0).value == pytest.approx(0.3)
    assert zero_error(runs, at_command_pct=100.0).value == pytest.approx(0.1)


@given(booleans())
def test_inaccuracy_keeps_the_sign_and_shows_both_sides(negative):
    sign = -1.0 if negative else 1.0
    found = inaccuracy(runs_of([0, 50, 100], [sign * 0.5, -sign * 2.0, sign * 1.0]))
    assert found.value == -sign * 2.0
    greatest, least = (1.0, -2.0) if sign > 0 else (2.0, -1.0)
    assert (found.beside.get("greatest_positive"), found.beside.get("greatest_negative")) == (greatest, least)


def test_hysteretic_error_of_zero_at_every_point_still_weighs_both_directions():
    found = hysteretic_error(runs_of([50, 50], [0.3, 0.3], "ud"))
    assert (found.value, found.weights.tolist()) == (0.0, [1.0, -1.0])


def test_hysteretic_error_weighs_the_greater_direction_positive():
    assert hysteretic_error(runs_of([50, 50], [0.5, 0.3], "ud")).weights.tolist() == [1.0, -1.0]
    assert hysteretic_error(runs_of([50, 50], [0.3, 0.5], "ud")).weights.tolist() == [-1.0, 1.0]


def test_hysteretic_error_skips_points_of_one_direction():
    """At 0 % up alone (9.0), at 100 % down alone (-9.0), at 50 % 0.25 apart."""
    found = hysteretic_error(runs_of([0, 50, 50, 100], [9.0, 0.5, 0.75, -9.0], "uudd"))
    assert (found.value, found.point) == (0.25, 1)


@pytest.mark.parametrize(
    ("columns", "message"),
    [
        (([0, 1], [0], [True, True], [1, 1]), r"^error_pct has 1 values beside 2 readings; give one value a reading"),
        (([0, 1], [0, 0], [True], [1, 1]), r"^rising has shape \(1,\) beside 2 readings; give one a reading"),
        (([0, 1], [0, 0], [True, True], [1]), r"^cycle has 1 values beside 2 readings"),
        (([[0, 1]], [0, 0], [True, True], [1, 1]), r"^command_pct has 2 dimensions"),
    ],
)
def test_columns_of_unequal_length_are_refused(columns, message):
    with pytest.raises(CalculationInputError, match=message):
        reduce_runs(*columns)


def test_an_input_of_another_length_is_refused():
    with pytest.raises(CalculationInputError, match=r"^input_pct has 1 values beside 2 readings"):
        reduce_runs([0, 1], [0, 0], [True, True], [1, 1], input_pct=[0])
