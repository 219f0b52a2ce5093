"""Axes: nice ticks, ranges that hold what is drawn, values at their pixels."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.views.figures.drawing import axis, layout, line, markers
from kit.views.svg.axes import LABEL_PX, LARGE_LABEL_PX, WIDTH_PX, frame, nice_step, nice_ticks
from kit.views.svg.elements import width_px

UP = "#1b5583"


@given(st.floats(1e-4, 1e6), st.floats(1.5, 12.0))
def test_a_nice_step_is_one_two_or_five_times_a_power_of_ten_and_parts_the_span_into_few(span: float, most: float):
    step = nice_step(span, most)
    mantissa = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(mantissa - each) for each in (1, 2, 5, 10)) < 1e-6
    assert span / step <= most * (1 + 1e-6)
    assert nice_step(span, most) <= 2.51 * span / most * (1 + 1e-6)


@given(st.floats(-1000, 1000), st.floats(0.01, 500))
def test_ticks_lie_within_the_axis_evenly_and_say_where_they_are(low: float, span: float):
    step = nice_step(span, 6)
    ticks = list(nice_ticks(low, low + span, step))
    assert 1 <= len(ticks) <= 7
    for value, text in ticks:
        assert low - 1e-6 * span <= value <= low + span * (1 + 1e-6)
        assert float(text.replace("−", "-")) == pytest.approx(value, abs=1e-9)
    assert np.allclose(np.diff([value for value, _ in ticks]), step)


def test_a_reversed_axis_has_the_same_ticks():
    assert list(nice_ticks(2.5, -0.5, 1)) == list(nice_ticks(-0.5, 2.5, 1))


def test_a_given_range_and_step_are_kept():
    made = frame(
        [line("L", [0, 50], [0, 1], UP)], layout("x", "y", xaxis={"range": [-2, 102], "dtick": 25}), keeps_size=True
    )
    assert [text for _, text in made.x["x"].ticks] == ["0", "25", "50", "75", "100"]
    assert made.x["x"].pixel(-2) == made.left_px
    assert made.x["x"].pixel(102) == made.right_px


def test_a_found_range_holds_every_mark_with_room_and_a_line_to_its_ends():
    data = [markers("M", [10, 90], [1, 3], UP, "circle"), line("L", [0, 100], [2, 2], UP)]
    made = frame(data, layout("x", "y"), keeps_size=True)
    assert (made.x["x"].low, made.x["x"].high) == (0, 100)
    assert made.y["y"].low < 1
    assert made.y["y"].high > 3
    assert frame(data[:1], layout("x", "y"), keeps_size=True).x["x"].low < 10


def test_upright_values_rise_and_two_axes_share_the_width():
    given = layout("", "y", xaxis={"domain": [0.0, 0.4]}, xaxis2=axis("b", domain=[0.6, 1.0], range=[0, 1]))
    made = frame([line("L", [0, 1], [0, 1], UP), line("K", [0, 1], [0, 1], UP, xaxis="x2")], given, keeps_size=True)
    assert made.y["y"].pixel(1) < made.y["y"].pixel(0)
    wide = made.right_px - made.left_px
    assert made.x["x2"].pixel(0) == pytest.approx(made.left_px + 0.6 * wide)
    assert made.x["x"].end_px == pytest.approx(made.left_px + 0.4 * wide)


def test_what_lies_beyond_a_given_range_lies_on_its_edge():
    made = frame([line("L", [0, 1], [0, 9], UP)], layout("x", "y", yaxis={"range": [0, 1]}), keeps_size=True)
    assert made.y["y"].tenths([9.0]).tolist() == made.y["y"].tenths([1.0]).tolist()


def test_a_figure_of_one_value_has_an_axis():
    made = frame([line("L", [3, 3], [5, 5], UP)], layout("x", "y"), keeps_size=True)
    assert made.x["x"].low < 3 < made.x["x"].high
    assert math.isfinite(made.y["y"].pixel(5))


def test_long_labels_get_their_room():
    words = {"tickvals": [0], "ticktext": ["Signal restored by hand"], "range": [-1, 1]}
    narrow, wide = (
        frame([line("L", [0, 1], [0, 0], UP)], layout("x", "", yaxis=each), keeps_size=True) for each in ({}, words)
    )
    assert wide.left_px > narrow.left_px + 60


def test_a_name_at_either_end_of_an_axis_is_not_cut_off():
    days = {"tickvals": [0, 1], "ticktext": ["2026-03-02", "2026-03-03"]}
    for keeps_size, label_px in ((True, LABEL_PX), (False, LARGE_LABEL_PX)):
        made = frame([line("L", [0, 1], [0, 3], UP)], layout("Day", "Tags", xaxis=days), keeps_size=keeps_size)
        half_px = width_px("2026-03-02", label_px) / 2 - 1
        assert made.x["x"].pixel(0) >= half_px
        assert made.x["x"].pixel(1) <= WIDTH_PX - half_px
