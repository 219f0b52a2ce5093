"""Curves of the static readings: each point where the readings put it."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.shown.curves import (
    calibration_curve,
    calibration_points,
    feedback_errors,
    fitted_wiper,
    hysteresis_loop,
    least_margin_places,
    position_errors,
)
from kit.basis.registers import Tag
from kit.calculations.position import reduce_runs
from kit.calculations.potentiometer import reduce_sweep
from tests.views import made

COMMANDS = [0.0, 50.0, 100.0, 100.0, 50.2]
ERRORS = [0.1, 0.5, 0.2, 0.3, -0.9]
UP = [True, True, True, False, False]
RUNS = reduce_runs(COMMANDS, ERRORS, UP, [1] * 5)
TWICE = reduce_runs([*COMMANDS, 50.0], [*ERRORS, 0.7], [*UP, True], [1, 1, 1, 1, 1, 2])


def pairs(points):
    return list(zip(points.x.tolist(), points.y.tolist(), strict=True))


def test_means_stand_at_their_test_points_and_readings_only_where_some_point_was_read_twice():
    errors = position_errors(RUNS)
    assert pairs(errors.up_means) == [(0.0, 0.1), (50.1, 0.5), (100.0, 0.2)]
    assert pairs(errors.down_means) == [(50.1, -0.9), (100.0, 0.3)]
    assert len(errors.up_readings) == len(errors.down_readings) == 0
    assert errors.worst == (50.1, -0.9)
    assert errors.errors_pct.tolist() == ERRORS


def test_a_point_read_twice_shows_every_reading_at_its_test_point():
    errors = position_errors(TWICE)
    middle = pytest.approx((50.0 + 50.2 + 50.0) / 3)
    assert pairs(errors.up_means)[1] == (middle, 0.6)
    assert pairs(errors.up_readings) == [(0.0, 0.1), (middle, 0.5), (100.0, 0.2), (middle, 0.7)]
    assert pairs(errors.down_readings) == [(100.0, 0.3), (middle, -0.9)]


def test_feedback_errors_stand_over_the_measured_position():
    position = [1.0, 51.0, 101.0, 102.0, 52.0]
    errors = feedback_errors(reduce_runs(COMMANDS, ERRORS, UP, [1] * 5, input_pct=position))
    assert pairs(errors.down_means) == [(51.5, -0.9), (101.5, 0.3)]
    assert errors.worst == (52.0, -0.9)


def test_the_calibration_lies_on_the_tags_own_ideal():
    curve = calibration_curve(RUNS, Tag("T", action="reverse"))
    assert pairs(curve.ideal) == [(0.0, 100.0), (100.0, 0.0)]
    assert pairs(curve.up)[0] == (0.0, 100.1)
    assert pairs(curve.down) == [(50.1, pytest.approx(49.0)), (100.0, pytest.approx(0.3))]
    bent = calibration_curve(RUNS, Tag("T", characteristic="equal_percentage", rangeability=50.0)).ideal
    assert len(bent) == 51
    assert bent.y[0] == pytest.approx(2.0)
    assert bent.y[25] == pytest.approx(100 / np.sqrt(50.0))


def test_each_test_point_has_its_means_and_their_number():
    points = calibration_points(TWICE, Tag("T"))
    first, middle, _ = points
    assert (first.command_pct, first.ideal_pct, first.up_error_pct, first.up_count) == (0.0, 0.0, 0.1, 1)
    assert np.isnan(first.down_error_pct)
    assert (first.curve_error_pct, first.down_count) == (0.1, 0)
    assert (middle.up_error_pct, middle.down_error_pct) == (pytest.approx(0.6), -0.9)
    assert (middle.curve_error_pct, middle.up_count, middle.down_count) == (pytest.approx(-0.15), 2, 1)


def test_the_loop_holds_the_points_read_both_ways_and_its_widest_place():
    loop = hysteresis_loop(RUNS)
    assert loop is not None
    assert pairs(loop.up) == [(50.1, 0.5), (100.0, 0.2)]
    assert pairs(loop.down) == [(50.1, -0.9), (100.0, 0.3)]
    assert (loop.widest_command_pct, loop.widest_pct, loop.greatest_pct) == (50.1, (0.5, -0.9), 1.4)


def test_one_direction_alone_encloses_nothing():
    assert hysteresis_loop(reduce_runs([0, 50], [0.1, 0.2], [True, True], [1, 1])) is None


def test_the_wipers_line_is_drawn_where_it_is_asked_for():
    sweep = reduce_sweep([0, 50, 100], [100, 500, 900], 1000)
    fitted = fitted_wiper(sweep, [-10.0, 110.0])
    assert fitted is not None
    assert pairs(fitted) == [(-10.0, pytest.approx(2.0)), (110.0, pytest.approx(98.0))]
    assert fitted_wiper(reduce_sweep([50], [500], 1000), [0.0]) is None


def test_least_margins_end_at_both_ends_of_the_track():
    low = made.result("potentiometer_low_margin", 9.0, lower=5.0)
    high = made.result("potentiometer_high_margin", 9.0, lower=8.0)
    assert least_margin_places(low, high) == [5.0, 92.0]
    assert least_margin_places(None, high) == [92.0]
    assert least_margin_places(made.result("potentiometer_low_margin", 9.0), None) == []
