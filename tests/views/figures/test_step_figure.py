"""Step responses laid over each other, each in % of its own change."""

from __future__ import annotations

import pytest

from kit.views.figures.drawing import DOWN, UP
from kit.views.figures.step_figure import steps_figure
from tests.views import made, made_recordings

TAG = made.tag()


def test_step_responses_stand_in_percent_of_their_own_step_with_marks_at_t63_and_t86():
    steps = made_recordings.reduction("healthy").steps
    figure = steps_figure(steps, TAG, "Step responses")
    marked = [trace for trace in figure.data if trace["mode"] == "lines+markers"]
    first = max(steps, key=lambda each: (round(abs(each.asked_pct)), each.opens))  # of equals the earliest
    assert marked[0]["x"] == pytest.approx([first.t63.value, first.t86.value], abs=1e-4)
    for trace in marked:
        assert trace["y"] == pytest.approx([63.2, 86.5])
    for trace in figure.data:
        if trace["mode"] == "lines":
            assert trace["y"][0] == pytest.approx(0.0, abs=1.5)
            assert trace["y"][-1] == pytest.approx(100.0, abs=1.5)
    opening = {trace["marker"]["symbol"] for trace in marked if trace["line"]["color"] == marked[0]["line"]["color"]}
    assert not any(symbol.endswith("-open") for symbol in opening)


def test_the_caption_tells_the_range_of_t63_of_what_is_drawn():
    steps = made_recordings.reduction("healthy").steps
    figure = steps_figure(steps, TAG, "Step responses")
    drawn = [trace for trace in figure.data if trace["mode"] == "lines+markers"]
    times = sorted(trace["x"][0] for trace in drawn)
    assert f"T63 lies between {times[0]:.2f} and {times[-1]:.2f} s." in figure.caption
    assert f"{len(drawn)} of {len(steps)}" in figure.alt
    assert f"the table has all {len(steps)}." in figure.caption


def test_levels_are_marked_and_ways_are_told_apart():
    figure = steps_figure(made_recordings.reduction("healthy").steps, TAG, "Step responses")
    assert [each["y0"] for each in figure.layout["shapes"]] == pytest.approx([63.2, 86.5, 100.0])
    assert [(each["text"], each["y"]) for each in figure.layout["annotations"]] == [
        ("T63", pytest.approx(63.2)),
        ("T86", pytest.approx(86.5)),
    ]
    for trace in figure.data:
        start, end = (float(each) for each in trace["name"].removesuffix(" %").split(" → "))
        assert trace["line"]["color"] == (UP if end > start else DOWN)
