"""A loss of signal as a timeline."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.shown.loss_timeline import LossTimeline, loss_timeline
from kit.views.figures.loss_figure import loss_figure
from tests.views import made, made_recordings
from tests.views.reader import trace

TAG = made.tag()
SHOWN = LossTimeline(
    lost_s=120.0,
    time_s=np.array([-5.0, 0.0, 4.0, 9.0]),
    travel_pct=np.array([50.0, 50.0, 20.0, 0.5]),
    gaps=(),
    events=(("signal lost", 0.0), ("first motion", 0.4), ("at rest", 8.1)),
    what="signal",
    expected="closed",
    expected_pct=0.0,
)


def test_the_travel_stands_over_the_time_since_the_loss_with_its_events():
    figure = loss_figure(SHOWN, TAG, " 2")
    assert figure.title == "Loss of signal 2"
    assert trace(figure, "Travel")["x"] == [-5, 0, 4, 9]
    assert trace(figure, "Travel")["y"] == [50, 50, 20, 0.5]
    assert (trace(figure, "Expected")["x"], trace(figure, "Expected")["y"]) == ([-5, 9], [0, 0])
    labels = [(each["text"], each["x"]) for each in figure.layout["annotations"]]
    assert labels == [("signal lost", 0.0), ("first motion", 0.4), ("at rest", 8.1)]
    assert [each["x0"] for each in figure.layout["shapes"]] == [0.0, 0.4, 8.1]
    assert "taken away at 120.0 s of the recording: signal lost at 0.0 s; first motion at 0.4 s" in figure.caption
    assert "the register expects (closed)" in figure.caption


def test_without_an_expectation_none_is_drawn():
    shown = LossTimeline(1.0, SHOWN.time_s, SHOWN.travel_pct, (), SHOWN.events, "supply", None, None)
    figure = loss_figure(shown, TAG, "")
    assert figure.title == "Loss of supply"
    assert "Travel after the supply was taken away" in figure.caption
    assert [each["name"] for each in figure.data] == ["Travel"]
    assert "expects" not in figure.caption


def test_the_timeline_of_a_recorded_loss_names_its_events_in_order():
    reduction = made_recordings.reduction("fails_open")
    figure = loss_figure(loss_timeline(reduction.losses[0], reduction, TAG), TAG, "")
    labels = [each["text"] for each in figure.layout["annotations"]]
    assert labels == ["signal lost", "first motion", "at rest", "signal restored"]
    assert trace(figure, "Travel")["y"][0] == pytest.approx(50.0, abs=0.5)
