"""The whole trace of a recording: small, with its extremes, its gaps and a lane for each kind of test."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.basis.recording import Segment
from kit.views.figures.trace_figure import WHAT_WORDS, found_words, trace_figure
from tests.views import made, made_recordings
from tests.views.made_recordings import LARGEST_TRACE, drawn_size, long_reduction
from tests.views.reader import trace

TAG = made.tag()


def test_half_an_hour_at_100_hz_is_a_small_figure_that_keeps_its_extremes():
    reduction = long_reduction()
    figure = trace_figure(reduction, TAG, "Recording")
    travel = next(trace for trace in figure.data if trace["name"] == "Travel")
    known = [value for value in travel["y"] if value is not None]
    assert drawn_size(figure) < LARGEST_TRACE
    assert max(known) == 117.25
    assert min(known) == pytest.approx(float(np.nanmin(reduction.recording.travel_pct)), abs=0.005)


def test_a_gap_breaks_the_line():
    figure = trace_figure(long_reduction(), TAG, "Recording")
    travel = next(trace for trace in figure.data if trace["name"] == "Travel")
    assert travel["y"][travel["x"].index(500.0) :].index(None) >= 0
    assert [each["text"] for each in figure.layout["annotations"]] == []
    with_gap = dataclasses.replace(long_reduction(), segments=(Segment("gap", 500.0, 510.0),))
    labels = trace_figure(with_gap, TAG, "Recording").layout["annotations"]
    assert [each["text"] for each in labels] == ["gap"]


def test_each_channel_is_drawn_as_it_was_recorded():
    recording = made_recordings.reduction("healthy").recording
    figure = trace_figure(made_recordings.reduction("healthy"), TAG, "Recording")
    for name, values in (("Command", recording.command_pct), ("Travel", recording.travel_pct)):
        drawn = trace(figure, name)
        at = recording.time_s.searchsorted(np.array(drawn["x"]) - 1e-6)
        assert drawn["y"] == pytest.approx(values[at], abs=0.006)


def test_a_feedback_is_drawn_unless_it_stands_for_the_travel():
    names = {
        name: [each["name"] for each in trace_figure(made_recordings.reduction(name), TAG, "Recording").data][:3]
        for name in ("healthy", "feedback_only")
    }
    assert names["healthy"] == ["Command", "Feedback", "Travel"]
    assert names["feedback_only"][:2] == ["Command", "Travel (feedback)"]


def test_the_axis_holds_every_sample_and_the_whole_time():
    reduction = made_recordings.reduction("healthy")
    layout = trace_figure(reduction, TAG, "Recording").layout
    low, high = layout["yaxis"]["range"]
    recording = reduction.recording
    assert low < min(recording.travel_pct.min(), recording.command_pct.min())
    assert high > max(recording.travel_pct.max(), recording.command_pct.max())
    assert layout["xaxis"]["range"] == [recording.time_s[0], recording.time_s[-1]]


def test_a_label_that_would_lie_over_the_one_before_is_left_out():
    parts = (Segment("stroke_open", 0.0, 4.0), Segment("stroke_close", 4.0, 8.0), Segment("signal_lost", 300.0, 340.0))
    reduction = dataclasses.replace(made_recordings.reduction("healthy"), segments=parts)
    layout = trace_figure(reduction, TAG, "Recording").layout
    assert [(each["text"], each["x"]) for each in layout["annotations"]] == [("stroke", 2.0), ("signal lost", 320.0)]
    assert [(each["x0"], each["x1"]) for each in layout["shapes"]] == [(0.0, 4.0), (4.0, 8.0), (300.0, 340.0)]


def test_what_was_found_is_counted_in_the_order_of_the_lanes():
    kinds = ("gap", "hold", "ramp_up", "hold", "signal_lost", "signal_lost")
    found = [Segment(what, at, at + 1.0) for at, what in enumerate(kinds)]
    assert found_words(found) == "2 holds, 1 ramp up, 2 losses of signal, 1 gap"


def test_each_kind_that_was_found_has_a_lane_with_a_bar_for_each_part():
    reduction = made_recordings.reduction("healthy")
    figure = trace_figure(reduction, TAG, "Recording")
    lanes = {trace["name"]: trace for trace in figure.data if trace.get("yaxis") == "y2"}
    for what, word in WHAT_WORDS.items():
        found = [each for each in reduction.segments if each.what == what]
        assert (word in lanes) == bool(found)
        if found:
            starts, ends = lanes[word]["x"][0::3], lanes[word]["x"][1::3]
            assert starts == pytest.approx([each.from_s for each in found], abs=0.006)
            assert ends == pytest.approx([each.to_s for each in found], abs=0.006)
    assert figure.layout["yaxis2"]["ticktext"] == list(lanes)


def test_a_switch_is_made_from_its_make_to_its_break():
    reduction = made_recordings.reduction("healthy")
    lanes = {trace["name"]: trace for trace in trace_figure(reduction, TAG, "Recording").data}
    closed = lanes["Closed switch made"]["x"]
    assert closed[0] == 0.0  # made from the start
    column = reduction.recording.closed_switch
    assert column is not None
    made_s = sum(end - start for start, end in zip(closed[0::3], closed[1::3], strict=True))
    assert made_s == pytest.approx(float(np.count_nonzero(column > 0.5)) * 0.1, abs=0.5)
