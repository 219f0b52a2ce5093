"""Figures of position and feedback show the readings, the means and the limits that they are given."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.shown.curves import NO_POINTS, CalibrationCurve, ErrorCurves, HysteresisLoop, Points
from kit.views.figures.travel_figures import calibration_figure, error_figure, feedback_figure, find, hysteresis_figure
from tests.views import made
from tests.views.reader import figures_of, shown, trace

UP = Points(np.array([0.0, 50.0, 100.0]), np.array([0.1, 0.5, 0.2]))
DOWN = Points(np.array([0.0, 50.0]), np.array([0.3, -0.9]))
ERRORS = ErrorCurves(UP, DOWN, NO_POINTS, NO_POINTS, np.array([0.1, 0.5, 0.2, 0.3, -0.9]), (50.0, -0.9))
REPEATED = ErrorCurves(UP, DOWN, Points(UP.x + 1, UP.y), Points(DOWN.x - 1, DOWN.y), ERRORS.errors_pct, (2.0, -0.9))
JUDGED = made.result("inaccuracy", -0.9, at="50.0 % command, down", lower=-1.5, upper=1.5)
STAGE = made.stage(made.result("hysteretic_error", 1.4, upper=2.0), JUDGED)
TAG = made.tag()


def points(figure, name):
    return [list(trace(figure, name)[axis]) for axis in ("x", "y")]


def test_the_error_figure_holds_means_limits_and_the_worst_reading():
    figure = error_figure(STAGE, ERRORS, TAG)
    assert [each["name"] for each in figure.data] == ["Limit", "Limit", "Up mean", "Down mean"]
    assert points(figure, "Up mean") == [[0, 50, 100], [0.1, 0.5, 0.2]]
    assert points(figure, "Down mean") == [[0, 50], [0.3, -0.9]]
    assert [each["y"] for each in figure.data[:2]] == [[-1.5, -1.5], [1.5, 1.5]]
    assert [each["showlegend"] for each in figure.data[:2]] == [True, False]
    (note,) = figure.layout["annotations"]
    assert (note["x"], note["y"], note["text"], note["xanchor"]) == (50.0, -0.9, "worst −0.90 %", "center")
    (band,) = figure.layout["shapes"]
    assert (band["y0"], band["y1"]) == (-1.5, 1.5)
    low, high = figure.layout["yaxis"]["range"]
    assert low < -1.5 < 1.5 < high
    assert "Greatest inaccuracy: −0.90 %; limit ±1.5 %." in figure.caption
    assert "The worst is −0.90 % at 50.0 % command, down." in figure.alt


def test_readings_are_marked_beside_the_means_where_points_were_read_twice():
    figure = error_figure(STAGE, REPEATED, TAG)
    assert points(figure, "Up") == [[1, 51, 101], [0.1, 0.5, 0.2]]
    assert points(figure, "Down") == [[-1, 49], [0.3, -0.9]]
    assert figure.layout["annotations"][0]["xanchor"] == "left"


def test_without_a_limit_no_line_is_drawn_and_it_is_said():
    figure = error_figure(made.stage(made.result("inaccuracy", 0.4)), ERRORS, TAG)
    assert "Limit" not in [each["name"] for each in figure.data]
    assert figure.layout["shapes"] == []
    assert "Greatest inaccuracy: +0.40 %; no limit is set." in figure.caption
    unjudged = error_figure(made.stage(), ERRORS, TAG)
    assert "There is no inaccuracy." in unjudged.caption
    assert list(unjudged.layout["annotations"]) == []


def test_a_one_sided_limit_is_a_line_without_a_band():
    figure = error_figure(made.stage(made.result("inaccuracy", 0.4, upper=1.0)), ERRORS, TAG)
    assert [each["y"] for each in figure.data if each["name"] == "Limit"] == [[1.0, 1.0]]
    assert figure.layout["shapes"] == []


def test_the_feedback_figure_is_held_against_the_limit_of_the_feedback():
    stage = made.stage(JUDGED, made.result("feedback_inaccuracy", 0.6, lower=-1.0, upper=1.0))
    figure = feedback_figure(stage, ERRORS, TAG)
    assert [each["y"] for each in figure.data[:2]] == [[-1.0, -1.0], [1.0, 1.0]]
    assert points(figure, "Down mean") == [[0, 50], [0.3, -0.9]]
    assert "Greatest feedback inaccuracy: +0.60 %; limit ±1 %." in figure.caption


def test_the_calibration_figure_lays_both_ways_on_the_ideal():
    curve = CalibrationCurve(Points(np.array([0.0, 100.0]), np.array([100.0, 0.0])), UP, DOWN)
    figure = calibration_figure(curve, TAG)
    assert [each["name"] for each in figure.data] == ["Ideal", "Up", "Down"]
    assert points(figure, "Ideal") == [[0, 100], [100, 0]]
    assert points(figure, "Up") == [[0, 50, 100], [0.1, 0.5, 0.2]]
    assert points(figure, "Down") == [[0, 50], [0.3, -0.9]]


def test_a_way_that_was_not_read_is_not_in_the_legend():
    curve = CalibrationCurve(Points(np.array([0.0, 100.0]), np.array([0.0, 100.0])), UP, NO_POINTS)
    assert [each["name"] for each in calibration_figure(curve, TAG).data] == ["Ideal", "Up"]


def test_the_loop_encloses_the_means_and_marks_its_widest_place():
    there, back = UP, Points(UP.x, UP.y - np.array([0.2, 1.4, 0.1]))
    figure = hysteresis_figure(STAGE, HysteresisLoop(there, back, 50.0, (0.5, -0.9), 1.4), TAG)
    assert trace(figure, "Loop")["x"] == [0, 50, 100, 100, 50, 0]
    assert trace(figure, "Loop")["y"] == pytest.approx([0.1, 0.5, 0.2, 0.1, -0.9, -0.1])
    assert points(figure, "Widest place") == [[50, 50], [0.5, -0.9]]
    assert points(figure, "Up mean")[1] == [0.1, 0.5, 0.2]
    assert points(figure, "Down mean")[1] == pytest.approx([-0.1, -0.9, 0.1])
    assert "Greatest hysteretic error: 1.40 %; limit ≤ 2 %." in figure.caption
    assert figure.alt.endswith("is 1.40 % at 50.0 % command.")


def test_a_check_is_found_by_its_name_and_its_detail():
    stage = made.stage(made.result("t63", 1.0, detail="5 % step"), made.result("t63", 2.0, detail="10 % step"))
    found = find(stage, "t63", "10 % step")
    assert found is not None
    assert found.value == 2.0
    assert find(stage, "t63") is None


def test_up_and_down_differ_by_more_than_colour():
    figure = error_figure(STAGE, ERRORS, TAG)
    up, down = trace(figure, "Up mean"), trace(figure, "Down mean")
    assert up["marker"]["symbol"] != down["marker"]["symbol"]
    assert up["line"]["dash"] != down["line"]["dash"]


def test_the_error_plot_of_a_record_holds_its_readings_and_its_limits():
    (figure,) = figures_of(shown("front_page", made.records()))
    assert trace(figure, "Up mean")["x"] == pytest.approx([0, 25, 50, 75, 100])
    assert trace(figure, "Up mean")["y"] == pytest.approx([0.1, 0.2, 0.3, 0.2, 0.1], abs=1e-3)
    assert trace(figure, "Down mean")["y"] == pytest.approx([0.2, 0.4, 0.6, 0.4, 0.2], abs=1e-3)
    assert sorted(each["y"][0] for each in figure.data if each["name"] == "Limit") == [-1.5, 1.5]


def test_a_tag_without_readings_has_no_empty_figure():
    assert figures_of(shown("front_page", made.records({"readings": []}))) == []
