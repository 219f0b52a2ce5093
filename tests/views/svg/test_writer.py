"""A drawing: every value at its place, complete in itself, nothing drawn otherwise than by plotly."""

from __future__ import annotations

import re
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from kit.views.figures.drawing import INK, LIMIT, UP, axis, band, joined, layout, limit_lines, line, markers, note
from kit.views.svg.axes import frame
from kit.views.svg.errors import DrawingError
from kit.views.svg.writer import drawing, keeps_size
from tests.views.svg.reader import NAMESPACE, elements, subpaths, texts, tick_labels

COMMAND = [0.0, 25, 50, 75, 100]
ERROR = [0.1, -0.4, -0.53, 0.2, 1.1]
GIVEN = layout("Command, %", "Error, %", xaxis={"range": [-2, 102], "dtick": 25}, yaxis={"range": [-2, 2]})


def test_each_point_lies_where_the_ticks_of_its_axes_say() -> None:
    svg = drawing("alt", [markers("Up", COMMAND, ERROR, UP, "diamond-open")], GIVEN)
    (path,) = elements(svg, "path", "s-up")
    middles = [np.mean(mark, axis=0) for mark in np.array(subpaths(path.attrib["d"]))[:, [0, 2]]]
    at = tick_labels(svg, "middle")
    level = {text: y - 4 for text, (_, y) in tick_labels(svg, "end").items()}  # a base line lies 4 px below
    zero_px, one_px = (level["−1"] + level["1"]) / 2, (level["−1"] - level["1"]) / 2
    for (x, y), command, error in zip(middles, COMMAND, ERROR, strict=True):
        assert x == pytest.approx(at[f"{command:.0f}"][0], abs=0.11)
        assert y == pytest.approx(zero_px - error * one_px, abs=0.11)


def test_a_line_goes_through_its_points_and_stops_where_one_is_missing() -> None:
    svg = drawing("alt", [line("Up", [0, 50, 60, 100], [0.0, 1.0, None, -1.0], UP)], GIVEN)
    (path,) = elements(svg, "path", "s-up")
    first, second = subpaths(path.attrib["d"])
    placed = frame([], GIVEN, keeps_size=False)
    assert first[0] == pytest.approx((placed.x["x"].pixel(0), placed.y["y"].pixel(0)), abs=0.06)
    assert first[1] == pytest.approx((placed.x["x"].pixel(50), placed.y["y"].pixel(1)), abs=0.06)
    assert second[0] == pytest.approx((placed.x["x"].pixel(100), placed.y["y"].pixel(-1)), abs=0.06)


def test_a_limit_and_the_field_between_limits_lie_at_their_values() -> None:
    given = {**GIVEN, "shapes": [band(-1.5, 1.5)]}
    svg = drawing("alt", limit_lines([-2, 102], [[1.5, 1.5], [-1.5, -1.5]]), given)
    placed = frame([], GIVEN, keeps_size=False)
    levels = [subpaths(each.attrib["d"])[0] for each in elements(svg, "path", "s-limit")]
    assert [y for (_, y), _ in levels] == pytest.approx([placed.y["y"].pixel(1.5), placed.y["y"].pixel(-1.5)], abs=0.06)
    (field,) = [subpaths(each.attrib["d"])[0] for each in elements(svg, "path", "f-band")]
    assert sorted({x for x, _ in field}) == pytest.approx([placed.left_px, placed.right_px])
    assert {round(y, 1) for _, y in field} == {round(placed.y["y"].pixel(each), 1) for each in (1.5, -1.5)}


def test_an_error_bar_reaches_to_both_sides() -> None:
    trace = markers("Trial", [1.0], [0.5], UP, "circle", size=5)
    trace["error_x"] = {"type": "data", "array": [0.25], "color": UP, "thickness": 1.2, "width": 2}
    given = layout("x", "y", xaxis={"range": [0, 2]}, yaxis={"range": [0, 1]})
    bars, _ = elements(drawing("alt", [trace], given), "path", "s-up")
    across, left, right = subpaths(bars.attrib["d"])
    placed = frame([], given, keeps_size=False).x["x"]
    assert [x for x, _ in across] == pytest.approx([placed.pixel(0.75), placed.pixel(1.25)], abs=0.06)
    assert left[1][1] - left[0][1] == pytest.approx(4)
    assert left[0][0] < right[0][0]


def test_bars_stand_from_zero_to_their_count_and_hatched_ones_stay_inside() -> None:
    made = {"type": "bar", "x": [5.0, 15.0, 25.0], "y": [2, 0, 3]}
    inside = {**made, "name": "In", "marker": {"color": UP, "pattern": {"shape": ""}}}
    hatched = {**made, "name": "Out", "marker": {"color": LIMIT, "pattern": {"shape": "/"}}}
    given = layout("x", "Tags", bargap=0.2, yaxis={"rangemode": "tozero"})
    placed = frame([inside, hatched], given, keeps_size=False)
    svg = drawing("alt", [inside, hatched], given)
    first, second = subpaths(elements(svg, "path", "f-up")[0].attrib["d"])
    assert sorted({x for x, _ in first}) == pytest.approx([placed.x["x"].pixel(1), placed.x["x"].pixel(9)], abs=0.06)
    assert {round(y, 1) for _, y in second} == {round(placed.y["y"].pixel(each), 1) for each in (0, 3)}
    for stroke in subpaths(elements(svg, "path", "s-limit")[0].attrib["d"]):
        (x0, y0), (x1, y1) = stroke[0], stroke[1]
        assert min(y0, y1) >= placed.y["y"].pixel(3) - 0.1
        assert max(y0, y1) <= placed.bottom_px + 0.1
        assert min(x0, x1) >= placed.x["x"].pixel(1) - 0.1


def test_a_drawing_says_what_it_shows_and_needs_nothing_else() -> None:
    svg = drawing('Error of <FV-1> & "others"', [joined("Up", COMMAND, ERROR, UP, "triangle-up", "dash")], GIVEN)
    root = ElementTree.fromstring(svg)
    assert root.get("role") == "img"
    assert root[0].tag == f"{NAMESPACE}title"
    assert root[0].text == 'Error of <FV-1> & "others"'
    assert not re.search(r'\bid="|url\(|href|<style|<script|style="', svg)


def test_every_colour_stands_as_attribute_and_as_class() -> None:
    data = [joined("Up", COMMAND, ERROR, UP, "triangle-up", "dash")]
    svg = drawing("alt", data, {**GIVEN, "annotations": [note(50, -0.53, "worst")], "shapes": [band(-1, 1)]})
    for each in ElementTree.fromstring(svg).iter():
        painted = {key for key in ("fill", "stroke") if each.get(key, "none") != "none"}
        assert {name[0] for name in (each.get("class") or "").split()} == {key[0] for key in painted}


def test_attributes_stand_in_order_and_no_element_is_closed_by_a_slash() -> None:
    svg = drawing("alt", [markers("Up", COMMAND, ERROR, UP, "circle")], GIVEN)
    assert "/>" not in svg
    for found in re.findall(r"<\w+((?: [\w-]+=\"[^\"]*\")+)", svg):
        names = re.findall(r" ([\w-]+)=", found)
        assert names == sorted(names)


def test_the_same_figure_gives_the_same_bytes() -> None:
    data = [joined("Up", COMMAND, ERROR, UP, "triangle-up", "dash")]
    assert drawing("alt", data, GIVEN) == drawing("alt", data, GIVEN)


def test_a_note_stands_beside_its_point_on_a_ground_of_its_own() -> None:
    svg = drawing("alt", [], {**GIVEN, "annotations": [note(50, 1.0, "worst +1.00 %", ay=-28)]})
    placed = frame([], GIVEN, keeps_size=False)
    x, y = texts(svg)["worst +1.00 %"]
    assert x == pytest.approx(placed.x["x"].pixel(50), abs=0.1)
    assert y == pytest.approx(placed.y["y"].pixel(1.0) - 28 + 0.35 * 12, abs=0.1)
    ground = elements(svg, "rect")[1].attrib
    assert float(ground["x"]) < x < float(ground["x"]) + float(ground["width"])


def test_letters_grow_in_a_narrow_window_unless_lanes_or_labels_would_collide() -> None:
    lanes = layout("x", "", yaxis={"tickvals": [0], "ticktext": ["Hold"]})
    labels = layout("x", "y", annotations=[note(0, 0, str(each)) for each in range(3)])
    assert [keeps_size(each) for each in (GIVEN, lanes, labels)] == [False, True, True]


@pytest.mark.parametrize(
    ("data", "more", "said"),
    [
        ([{"stackgroup": "one"}], {}, r"data\[0\].stackgroup is not drawn on the page"),
        ([{"mode": "text"}], {}, r"data\[0\].mode is 'text'"),
        ([{"line": {"color": UP, "shape": "spline"}}], {}, r"data\[0\].line.shape is not drawn"),
        ([{"line": {"color": UP, "dash": "5px"}}], {}, "the dash '5px' is not among"),
        ([{"line": {"color": "#123456"}}], {}, "the colour '#123456' is not of the palette"),
        ([], {"xaxis": {"type": "log"}}, "layout.xaxis.type is not drawn"),
        ([], {"barmode": "stack"}, "layout.barmode is not drawn"),
        ([], {"shapes": [{**band(0, 1), "type": "circle"}]}, r"layout.shapes\[0\].type is 'circle'"),
        ([], {"annotations": [{**note(0, 0, "a"), "textangle": 90}]}, r"annotations\[0\].textangle is not drawn"),
        ([], {"xaxis3": axis("c")}, "layout.xaxis3 is not drawn"),
    ],
)
def test_what_would_be_drawn_otherwise_is_refused(data: list[Any], more: dict[str, Any], said: str) -> None:
    traces = [{**line("Up", COMMAND, ERROR, UP), **each} for each in data]
    with pytest.raises(DrawingError, match=said):
        drawing("alt", traces, layout("x", "y", **more))


def test_a_mark_beyond_a_given_range_is_not_drawn_on_its_edge() -> None:
    svg = drawing("alt", [markers("Up", [50, 200], [0, 0], UP, "square-open")], GIVEN)
    assert len(subpaths(elements(svg, "path", "s-up")[0].attrib["d"])) == 1


def test_a_line_of_no_dash_has_none_and_others_their_own() -> None:
    dashes = {
        dash: elements(drawing("a", [line("L", COMMAND, ERROR, INK, dash=dash)], GIVEN), "path", "s-ink")[0].get(
            "stroke-dasharray"
        )
        for dash in ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
    }
    assert dashes.pop("solid") is None
    assert len(set(dashes.values())) == 5
