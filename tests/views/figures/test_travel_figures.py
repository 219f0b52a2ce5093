"""Figures: valid for plotly, small, and showing what the readings say."""

from __future__ import annotations

import json
import re
from pathlib import Path

import plotly.graph_objects as go
import pytest

import kit.views
from kit.assessment import assess_tag
from kit.views.figures.drawing import PALETTE, padded, rounded
from kit.views.figures.margin_figure import margin_figure
from kit.views.pieces.parts import PLOTLY_MIME, Figure
from kit.views.report import tag_report
from tests.views import made
from tests.views.conftest import shown

PAGE_FOLDER = Path(kit.views.__file__).parent / "page"
DRAWN = {"front_page": 1, "calibration": 2, "hysteresis": 1, "feedback": 1, "potentiometer": 1, "switches": 1}


def figures(part: str) -> list[Figure]:
    return [each for each in shown(part, made.records()) if isinstance(each, Figure)]


@pytest.mark.parametrize(("part", "count"), DRAWN.items())
def test_every_figure_is_valid_small_and_says_what_to_see(part: str, count: int) -> None:
    drawn = figures(part)
    assert len(drawn) == count
    for figure in drawn:
        content = figure.bundle()[PLOTLY_MIME]
        go.Figure(content)
        assert len(json.dumps(content, allow_nan=False)) < 20_000
        assert figure.caption.endswith(".")
        assert content["layout"]["meta"]["alt"].startswith(figure.alt[:20])


def test_the_error_plot_holds_the_readings_and_the_limits() -> None:
    (figure,) = figures("front_page")
    by_name = {trace["name"]: trace for trace in figure.data}
    assert by_name["Up mean"]["x"] == pytest.approx([0, 25, 50, 75, 100])
    assert by_name["Up mean"]["y"] == pytest.approx([0.1, 0.2, 0.3, 0.2, 0.1], abs=1e-3)
    assert by_name["Down mean"]["y"] == pytest.approx([0.2, 0.4, 0.6, 0.4, 0.2], abs=1e-3)
    assert sorted(trace["y"][0] for trace in figure.data if trace["name"] == "Limit") == [-1.5, 1.5]


def test_up_and_down_differ_by_more_than_colour() -> None:
    (figure,) = figures("front_page")
    up, down = (next(each for each in figure.data if each["name"] == name) for name in ("Up mean", "Down mean"))
    assert up["marker"]["symbol"] != down["marker"]["symbol"]
    assert up["line"]["dash"] != down["line"]["dash"]


def test_a_tag_without_readings_has_no_empty_figure() -> None:
    records = made.records({"readings": []})
    parts = tag_report.front_page(records, assess_tag(records))
    assert not [each for each in parts if isinstance(each, Figure)]


def test_the_stylesheet_and_the_page_script_know_the_palette() -> None:
    style, script = ((PAGE_FOLDER / name).read_text(encoding="utf-8") for name in ("style.css", "page.js"))
    light = dict(re.findall(r"--(\w+): light-dark\((#\w+)", style))
    assert {name: light[name] for name in PALETTE} == dict(PALETTE)
    assert dict(re.findall(r'"(#\w+)": "--(\w+)"', script)) == {colour: name for name, colour in PALETTE.items()}


def test_numbers_keep_six_digits_and_lost_ones_are_gaps() -> None:
    assert rounded([1 / 3, float("nan")]) == [0.333333, None]


def test_an_axis_is_never_flat() -> None:
    low, high = padded([0.0, 0.0])
    assert low < 0 < high


def test_a_share_on_the_limit_counts_as_within_and_a_share_beyond_any_is_drawn_last() -> None:
    figure = margin_figure([0.5, 1.0, 1.01, float("inf")])
    inside, outside = figure.data[0]["y"], figure.data[1]["y"]
    assert (sum(inside), sum(outside)) == (2, 2)
    assert (inside[-1], outside[0], outside[-1]) == (1, 1, 1)
    assert "2 within their limits, 2 outside" in figure.caption
