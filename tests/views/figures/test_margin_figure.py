"""How near to their limits the tags of a unit lie."""

from __future__ import annotations

import pytest

from kit.views.figures.margin_figure import margin_figure


def test_a_share_on_the_limit_counts_as_within_and_a_share_beyond_any_is_drawn_last():
    figure = margin_figure([0.5, 1.0, 1.01, float("inf")])
    inside, outside = figure.data[0]["y"], figure.data[1]["y"]
    assert (sum(inside), sum(outside)) == (2, 2)
    assert (inside[-1], outside[0], outside[-1]) == (1, 1, 1)
    assert "2 within their limits, 2 outside" in figure.caption


def test_each_bar_stands_at_the_middle_of_its_tenth():
    figure = margin_figure([0.05, 0.95, 0.951, 1.05])
    inside, outside, limit = figure.data
    assert "3 within their limits, 1 outside" in figure.caption
    assert "3 within their limits, 1 outside" in figure.alt
    assert inside["x"] == pytest.approx([5.0 + 10 * count for count in range(10)])
    assert outside["x"] == pytest.approx([105.0 + 10 * count for count in range(6)])
    assert (inside["y"][0], inside["y"][9], outside["y"][0]) == (1, 2, 1)
    assert (limit["x"], limit["y"]) == ([100, 100], [0, 2])
