"""Figures of recordings: valid, small, extremes kept, and showing what was found."""

from __future__ import annotations

import dataclasses
import json

import numpy as np
import plotly.graph_objects as go
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.assessment.results import RecordingResult
from kit.assessment.shown.loss_timeline import expected_pct, first_motion_s, loss_timeline
from kit.assessment.shown.recording_curves import drawable, restless
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.reduce import Reduction
from kit.views.figures.loss_figure import loss_figure
from kit.views.figures.speed_figure import speed_figure
from kit.views.figures.step_figure import steps_figure
from kit.views.figures.thinned import thinned
from kit.views.figures.trace_figure import WHAT_WORDS, trace_figure
from kit.views.figures.track_figure import track_figure
from kit.views.figures.trial_figure import trials_figure
from kit.views.pieces.parts import PLOTLY_MIME, Figure
from kit.views.recordings import recording_sections
from kit.views.report import sections
from tests.views import made, made_recordings
from tests.views.recordings.test_recording_sections import parts_of, with_logs

TAG = made.tag()
LARGEST = 150_000  # of the whole trace; every other figure is a tenth of it
PARTS = ("recordings", "strokes", "switches", "fail_actions", "potentiometer")


def figures(name: str) -> list[Figure]:
    records = made_recordings.records(name)
    return [part for section in PARTS for part in parts_of(section, records) if isinstance(part, Figure)]


def size(figure: Figure) -> int:
    return len(json.dumps(figure.bundle()[PLOTLY_MIME], allow_nan=False))


@pytest.mark.parametrize("name", made_recordings.VALVES)
def test_every_figure_is_valid_small_and_says_what_to_see(name: str) -> None:
    drawn = figures(name)
    assert len(drawn) >= 4
    for figure in drawn:
        go.Figure(figure.bundle()[PLOTLY_MIME])
        assert size(figure) < (LARGEST if figure.title.startswith("Recording") else 40_000), figure.title
        assert figure.caption.endswith(".")
        assert TAG.tag in figure.alt


def long_reduction(count: int = 180_000) -> Reduction:
    """Half an hour at 100 Hz, every channel noisy, with one sample that stands out."""
    generator = np.random.default_rng(2)
    time_s = np.arange(count) / 100.0
    command = 50.0 + 40.0 * np.sign(np.sin(time_s / 30.0)) + generator.normal(0.0, 0.05, count)
    travel = command + generator.normal(0.0, 0.3, count)
    travel[count // 3] = 117.25
    recording = Recording(
        time_s, command, travel, travel + generator.normal(0.0, 0.3, count), travel, gaps=((500.0, 510.0),)
    )
    holds = tuple(Segment("hold" if each % 2 else "step", 4.0 * each, 4.0 * each + 4.0) for each in range(450))
    return dataclasses.replace(made_recordings.reduction("healthy"), recording=recording, segments=holds)


def test_half_an_hour_at_100_hz_is_a_small_figure_that_keeps_its_extremes() -> None:
    reduction = long_reduction()
    figure = trace_figure(reduction, TAG, "Recording")
    travel = next(trace for trace in figure.data if trace["name"] == "Travel")
    known = [value for value in travel["y"] if value is not None]
    assert size(figure) < LARGEST
    assert max(known) == 117.25
    assert min(known) == pytest.approx(float(np.nanmin(reduction.recording.travel_pct)), abs=0.005)


def test_a_gap_breaks_the_line() -> None:
    figure = trace_figure(long_reduction(), TAG, "Recording")
    travel = next(trace for trace in figure.data if trace["name"] == "Travel")
    assert travel["y"][travel["x"].index(500.0) :].index(None) >= 0
    assert [each["text"] for each in figure.layout["annotations"]] == []
    with_gap = dataclasses.replace(long_reduction(), segments=(Segment("gap", 500.0, 510.0),))
    labels = trace_figure(with_gap, TAG, "Recording").layout["annotations"]
    assert [each["text"] for each in labels] == ["gap"]


def test_each_kind_that_was_found_has_a_lane_with_a_bar_for_each_part() -> None:
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


def test_a_switch_is_made_from_its_make_to_its_break() -> None:
    reduction = made_recordings.reduction("healthy")
    lanes = {trace["name"]: trace for trace in trace_figure(reduction, TAG, "Recording").data}
    closed = lanes["Closed switch made"]["x"]
    assert closed[0] == 0.0  # made from the start
    column = reduction.recording.closed_switch
    assert column is not None
    made_s = sum(end - start for start, end in zip(closed[0::3], closed[1::3], strict=True))
    assert made_s == pytest.approx(float(np.count_nonzero(column > 0.5)) * 0.1, abs=0.5)


def test_step_responses_stand_in_percent_of_their_own_step_with_marks_at_t63_and_t86() -> None:
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


def test_responses_that_did_not_settle_cannot_be_drawn() -> None:
    assert drawable(made_recordings.reduction("hunting").steps) == []


def test_the_speed_profile_tells_opening_from_closing_without_colour() -> None:
    strokes = made_recordings.reduction("healthy").strokes
    figure = speed_figure(strokes, TAG, "Speed")
    opening, closing = (next(each for each in figure.data if each["name"] == name) for name in ("Opening", "Closing"))
    assert opening["marker"]["symbol"] != closing["marker"]["symbol"]
    assert opening["line"]["dash"] != closing["line"]["dash"]
    speeds = [value for value in opening["y"] if value is not None]
    assert speeds == pytest.approx([8.0] * len(speeds), rel=0.03)  # the motor's own speed


def test_a_pulsed_stroke_is_slower_by_its_duty() -> None:
    figure = speed_figure(made_recordings.reduction("pulsed").strokes, TAG, "Speed")
    closing = next(each for each in figure.data if each["name"] == "Closing")
    speeds = [value for value in closing["y"] if value is not None]
    assert np.mean(speeds) == pytest.approx(0.4 * 12.0, rel=0.1)
    assert "Closing is pulsed" in figure.caption
    assert "Opening is pulsed" not in figure.caption


def test_the_timeline_of_a_loss_names_its_events_in_order() -> None:
    reduction = made_recordings.reduction("fails_open")
    loss = reduction.losses[0]
    figure = loss_figure(loss_timeline(loss, reduction, TAG), TAG, "Loss of signal")
    labels = [each["text"] for each in figure.layout["annotations"]]
    assert labels == ["signal lost", "first motion", "at rest", "signal restored"]
    assert first_motion_s(loss, reduction) == pytest.approx(0.6, abs=0.15)  # a delay of 0.5 s and the motor's 0.1 s
    expected = next(trace for trace in figure.data if trace["name"] == "Expected")
    assert expected["y"] == [0.0, 0.0]


@pytest.mark.parametrize(("action", "expected"), [("closed", 0.0), ("open", 100.0), (None, None)])
def test_what_is_expected_of_a_loss_is_what_the_register_says(action: str | None, expected: float | None) -> None:
    assert expected_pct(made_recordings.reduction("healthy").losses[0], made.tag(fail_action=action)) == expected


def test_a_valve_that_should_hold_is_expected_where_it_was() -> None:
    loss = made_recordings.reduction("healthy").losses[0]
    assert expected_pct(loss, made.tag(fail_action="hold")) == loss.before.value


def test_hunting_is_drawn_with_its_turning_points_and_a_bar_as_long_as_a_period() -> None:
    records = made_recordings.records("hunting")
    (figure,) = [part for part in parts_of("rests", records) if isinstance(part, Figure)]
    rest = restless(made_recordings.reduction("hunting").rests)
    assert rest is not None
    bar = next(trace for trace in figure.data if trace["name"] == "One period")
    assert bar["x"][1] - bar["x"][0] == pytest.approx(rest.period.value, abs=2e-3)
    turns = next(trace for trace in figure.data if trace["name"] == "Turning point")
    assert turns["x"] == pytest.approx(rest.turn_s[: len(turns["x"])], rel=1e-5)


def test_every_trial_lies_in_the_lane_of_its_kind() -> None:
    trials = made_recordings.reduction("healthy").trials
    figure = trials_figure(trials, TAG, "Dead band and resolution")
    for trace in figure.data:
        what, means = trace["name"].split(", ")
        own = [each for each in trials if each.what == what.lower().replace(" ", "_")]
        own = [each for each in own if (each.means == "ramp") == (means == "ramps")]
        assert trace["x"] == pytest.approx([each.middle_pct for each in own], rel=1e-5)
        ends = np.add(trace["x"], trace["error_x"]["array"])
        assert ends == pytest.approx([each.high_pct for each in own], abs=2e-4)


def test_a_bad_spot_is_marked_full_where_it_was_seen_both_ways() -> None:
    track = made_recordings.reduction("bad_spot").track
    assert track is not None
    figure = track_figure(track, TAG, "Feedback over the position")
    mark = next(each for each in figure.data if each["name"] == "Bad spot, both ways" and "marker" in each)
    assert mark["x"] == pytest.approx([62.0], abs=1.0)
    assert mark["y"][0] < -4.0
    assert not mark["marker"]["symbol"].endswith("-open")


def test_a_page_of_half_an_hour_at_100_hz_stays_below_its_budget() -> None:
    records = made.records()
    assessment = with_logs(records, RecordingResult("logs/FV-1/1.as_left.parquet", "", "", long_reduction()))
    parts = [*recording_sections.recordings(records, assessment), *sections.strokes(records, assessment)]
    assert sum(len(json.dumps(part.bundle())) for part in parts) < 400_000


values = st.lists(st.floats(-30, 130) | st.just(float("nan")), min_size=1, max_size=400)


@given(drawn=values, buckets=st.integers(1, 60), step_s=st.sampled_from([0.001, 0.1, 1.0, 7.0]))
def test_a_thinned_channel_keeps_its_extremes_its_order_and_its_ends(
    drawn: list[float], buckets: int, step_s: float
) -> None:
    channel = np.array(drawn)
    time_s = np.arange(channel.size) * step_s
    x, y = thinned(time_s, channel, buckets=buckets)
    assert len(x) == len(y) <= channel.size
    assert len(x) <= 2 * max(buckets, 1) + buckets + 2 or channel.size <= 2 * buckets
    assert x == sorted(x)
    known = [value for value in y if value is not None]
    if np.isfinite(channel).any():
        assert min(known) == pytest.approx(np.nanmin(channel), abs=0.0051)
        assert max(known) == pytest.approx(np.nanmax(channel), abs=0.0051)
    else:
        assert known == []


def test_nothing_recorded_is_nothing_drawn() -> None:
    assert thinned(np.empty(0), np.empty(0)) == ([], [])
