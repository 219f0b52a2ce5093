"""The legend: an entry a trace that is to have one, with its line and mark."""

from __future__ import annotations

from xml.etree import ElementTree

from kit.views.figures.drawing import DOWN, UP, joined, layout, limit_lines, markers
from kit.views.svg.legend import legend

GIVEN = layout("x", "y")
UPWARDS = joined("Up", [0, 1], [0, 1], UP, "triangle-up", "dash")


def test_each_trace_has_an_entry_and_several_limits_one() -> None:
    data = [*limit_lines([0, 1], [[2, 2], [3, 3]]), UPWARDS, markers("Down", [0], [0], DOWN, "x-thin-open")]
    assert [each.name for each in legend(data, GIVEN)] == ["Limit", "Up", "Down"]


def test_a_swatch_has_the_dash_and_the_mark_of_its_trace_and_says_nothing() -> None:
    entry = legend([UPWARDS, UPWARDS], GIVEN)[0]
    drawn = ElementTree.fromstring(entry.swatch)
    line, mark = drawn[0]
    assert drawn.get("aria-hidden") == "true"
    assert line.get("stroke-dasharray") == "70 40"
    assert mark.get("class") == "f-up s-up"


def test_one_trace_alone_needs_no_legend_nor_does_a_figure_that_has_none() -> None:
    assert legend([UPWARDS], GIVEN) == ()
    assert legend([UPWARDS, UPWARDS], layout("x", "y", showlegend=False)) == ()


def test_hatched_bars_have_a_hatched_swatch() -> None:
    bars = [
        {"type": "bar", "name": name, "x": [1], "y": [1], "marker": {"color": UP, "pattern": {"shape": shape}}}
        for name, shape in (("Inside", ""), ("Outside", "/"))
    ]
    inside, outside = legend(bars, GIVEN)
    assert 'fill="#1b5583"' in inside.swatch
    assert 'fill="#1b5583"' not in outside.swatch
