"""Figures of potentiometer and switches place what was typed, and the limits of its checks."""

from __future__ import annotations

import pytest

from kit.calculations.potentiometer import reduce_sweep
from kit.views.figures.device_figures import potentiometer_figure, switch_figure
from tests.views import made
from tests.views.reader import trace

TAG = made.tag()


def test_the_wiper_is_drawn_over_the_travel_with_its_line_and_the_least_margins():
    sweep = reduce_sweep([0, 50, 100], [100, 500, 900], 1000)
    stage = made.stage(
        made.result("potentiometer_low_margin", 10.0, lower=5.0),
        made.result("potentiometer_high_margin", 10.0, lower=8.0),
    )
    figure = potentiometer_figure(stage, sweep, TAG)
    assert [each["name"] for each in figure.data] == ["Minimax line", "Wiper", "Least margin", "Least margin"]
    assert trace(figure, "Wiper")["x"] == [0, 50, 100]
    assert trace(figure, "Wiper")["y"] == [10, 50, 90]
    assert trace(figure, "Minimax line")["x"] == [-2, 102]
    assert trace(figure, "Minimax line")["y"] == pytest.approx([8.4, 91.6])
    assert [each["y"] for each in figure.data[2:]] == [[5, 5], [92, 92]]
    assert "Low margin 10.00 % (limit ≥ 5 %); high margin 10.00 % (limit ≥ 8 %)." in figure.caption


def test_without_margins_it_is_said_and_no_line_is_drawn():
    figure = potentiometer_figure(made.stage(), reduce_sweep([0, 100], [100, 900], 1000), TAG)
    assert [each["name"] for each in figure.data] == ["Minimax line", "Wiper"]
    assert "No margin was determined." in figure.caption


def test_each_end_shows_where_its_switch_makes_and_breaks_and_its_stop():
    rows = made.rows(
        "switches",
        [
            {"switch": "closed", "makes_at_pct": 1.6, "breaks_at_pct": 2.4, "stop_at_pct": -0.6},
            {"switch": "open", "makes_at_pct": 98.2, "stop_at_pct": 100.7},
        ],
    )
    stage = made.stage(made.result("closed_switch_lead", 2.2), made.result("open_switch_lead", 2.5))
    figure = switch_figure(stage, rows, TAG)
    drawn = {(each["xaxis"], each["name"]): each["x"] for each in figure.data}
    assert drawn == {
        ("x", "Travel stop"): [-0.6],
        ("x", "Makes"): [1.6],
        ("x", "Breaks"): [2.4],
        ("x2", "Travel stop"): [100.7],
        ("x2", "Makes"): [98.2],
        ("x2", "Breaks"): [],
    }
    assert figure.layout["xaxis"]["range"] == [-2.1, 3.9]
    assert figure.layout["xaxis2"]["range"] == [96.7, 102.2]
    assert [each["showlegend"] for each in figure.data] == [True] * 3 + [False] * 3
    said = "closed switch +2.20 % before its stop; open switch +2.50 % before its stop."
    assert figure.caption.endswith(said)


def test_without_a_lead_it_is_said():
    rows = made.rows("switches", [{"switch": "closed", "makes_at_pct": 1.0}])
    assert switch_figure(made.stage(), rows, TAG).caption.endswith("no lead was determined.")
