"""Speed of the full strokes over the travel."""

from __future__ import annotations

import numpy as np
import pytest

from kit.views.figures.speed_figure import speed_figure
from tests.views import made, made_recordings

TAG = made.tag()


def test_the_speed_profile_tells_opening_from_closing_without_colour():
    strokes = made_recordings.reduction("healthy").strokes
    figure = speed_figure(strokes, TAG, "Speed")
    opening, closing = (next(each for each in figure.data if each["name"] == name) for name in ("Opening", "Closing"))
    assert opening["marker"]["symbol"] != closing["marker"]["symbol"]
    assert opening["line"]["dash"] != closing["line"]["dash"]
    speeds = [value for value in opening["y"] if value is not None]
    assert speeds == pytest.approx([8.0] * len(speeds), rel=0.03)  # the motor's own speed


def test_a_pulsed_stroke_is_slower_by_its_duty():
    figure = speed_figure(made_recordings.reduction("pulsed").strokes, TAG, "Speed")
    closing = next(each for each in figure.data if each["name"] == "Closing")
    speeds = [value for value in closing["y"] if value is not None]
    assert np.mean(speeds) == pytest.approx(0.4 * 12.0, rel=0.1)
    assert "Closing is pulsed" in figure.caption
    assert "Opening is pulsed" not in figure.caption


def test_each_way_stands_in_the_legend_once_and_its_speed_over_its_place():
    strokes = made_recordings.reduction("healthy").strokes
    figure = speed_figure(strokes, TAG, "Speed")
    assert [each["name"] for each in figure.data] == ["Opening" if each.opens else "Closing" for each in strokes]
    assert sum(each["showlegend"] for each in figure.data) == 2
    assert figure.data[0]["x"] == [2.5 + 5.0 * count for count in range(20)]
    low, high = figure.layout["yaxis"]["range"]
    assert low == 0
    assert high > np.nanmax([stroke.profile_pct_s for stroke in strokes])
    assert figure.caption.endswith("No stroke is pulsed.")
