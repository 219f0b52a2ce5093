"""What every figure shares: numbers, axes, and the palette that the stylesheet knows."""

from __future__ import annotations

import re
from pathlib import Path

import kit.views
from kit.views.figures.drawing import UP, band, counted, enlarged, layout, limit_lines, line, padded, rounded
from kit.views.pieces.parts import stylesheet
from kit.views.svg.axes import frame
from kit.views.svg.palette import PALETTE


def test_the_stylesheet_has_a_rule_for_each_colour_of_a_drawing():
    style = stylesheet()
    light = dict(re.findall(r"--(\w+): light-dark\((#\w+)", style))
    assert {name: light[name] for name in PALETTE} == PALETTE
    for name in PALETTE:
        assert f".f-{name} {{ fill: var(--{name}); }}" in style or f".s-{name} {{ stroke: var(--{name}); }}" in style


def test_the_script_that_explores_knows_the_palette():
    script = (Path(kit.views.__file__).parent / "page" / "script" / "figures.js").read_text(encoding="utf-8")
    assert dict(re.findall(r'"(#\w+)": "--(\w+)"', script)) == {colour: name for name, colour in PALETTE.items()}


def test_numbers_keep_six_digits_and_lost_ones_are_gaps():
    assert rounded([1 / 3, float("nan")]) == [0.333333, None]


def test_a_padded_axis_holds_every_value_and_zero_and_is_never_flat():
    assert padded([0.0, 0.0]) == [-0.34, 0.34]
    low, high = padded([2.0, float("nan")], [5.0])
    assert low < 0
    assert high > 5


def test_an_enlarged_axis_leaves_room_to_both_sides():
    assert enlarged([1.25, -0.5, 0.0]) == [-2.0, 2.75]


def test_a_layout_is_laid_over_key_by_key():
    made = layout("x", "y", height_px=200, xaxis={"dtick": 25}, shapes=[band(-1, 1)])
    assert (made["height"], made["xaxis"]["dtick"], made["xaxis"]["title"]["text"]) == (200, 25, "x")
    assert made["yaxis"]["title"]["text"] == "y"
    assert (made["shapes"][0]["y0"], made["shapes"][0]["y1"]) == (-1, 1)


def test_several_limits_stand_in_the_legend_once():
    lines = limit_lines([0, 1], [[2, 2], [3, 3], [4, 4]])
    assert [each["showlegend"] for each in lines] == [True, False, False]
    assert [each["y"] for each in lines] == [[2, 2], [3, 3], [4, 4]]


def test_tags_are_counted_in_whole_numbers():
    for most in range(1, 40):
        made = frame([line("Tags", [0, 1], [0, most], UP)], layout("x", "y", yaxis=counted(most)), keeps_size=True)
        assert all(value == round(value) for value, _ in made.y["y"].ticks)
