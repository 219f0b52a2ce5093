"""What figures and tables show of a recording, against what the recording was made with."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.assessment.shown.loss_timeline import LEAST_RESTORED_S, expected_pct, first_motion_s, loss_timeline
from kit.assessment.shown.recording_curves import drawable, made_spans, one_of_each, restless, step_curve
from kit.assessment.shown.recording_values import Pulses, has_own_feedback, hold_readings, left_open, pulses
from kit.basis.quantity import Component, Quantity
from kit.basis.registers import Tag
from tests.views import made, made_recordings

TAG = made.tag()
NOISE = Component("noise", "", 0.5, "%", "normal", 1.0, 1.0)


def test_left_open_is_twice_the_standard_uncertainty():
    assert left_open(Quantity(40.0, components=(NOISE,))) == 1.0


def test_each_hold_has_its_ideal_its_error_and_what_is_left_open():
    reduction = made_recordings.reduction("healthy")
    tag = Tag("T", action="reverse")
    for found, reading in zip(hold_readings(reduction, tag), reduction.readings, strict=True):
        assert found.reading is reading
        assert found.ideal_pct == pytest.approx(min(max(100.0 - reading.command_pct, 0.0), 100.0))
        assert found.error_pct == pytest.approx(reading.travel_pct - found.ideal_pct)
        assert found.left_open_pct == 2.0 * reading.travel_deviation_pct


def test_a_feedback_that_stands_for_the_travel_is_not_shown_beside_it():
    assert has_own_feedback(made_recordings.reduction("healthy"))
    assert not has_own_feedback(made_recordings.reduction("feedback_only"))


def test_pulses_of_each_way_are_their_mean_duty_and_how_much_longer_a_stroke_takes():
    stroke = made_recordings.reduction("pulsed").strokes[0]
    quiet = dataclasses.replace(stroke, opens=True, duty=Quantity(None, "not pulsed"))
    closing = [
        dataclasses.replace(stroke, opens=False, duty=Quantity(duty, components=(NOISE,))) for duty in (30.0, 50.0)
    ]
    assert pulses([quiet, *closing]) == [Pulses(False, 40.0, 1.0, 2.5, 0.0625)]
    assert pulses([quiet]) == []


def test_a_step_runs_from_0_to_100_percent_of_its_own_change():
    for step in drawable(made_recordings.reduction("healthy").steps):
        curve = step_curve(step, -1.0, 10.0)
        assert curve.x[0] >= -1.0
        assert curve.x[-1] <= 10.0
        assert curve.y[curve.x < 0] == pytest.approx(0.0, abs=1.5)
        assert curve.y[-1] == pytest.approx(100.0, abs=1.5)


def test_responses_that_did_not_settle_cannot_be_drawn():
    assert drawable(made_recordings.reduction("hunting").steps) == []


def test_one_of_each_size_and_way_is_drawn_the_greatest_first():
    step = drawable(made_recordings.reduction("healthy").steps)[0]
    asked = [5.0, -10.0, 5.2, 10.0, -5.0]
    steps = [dataclasses.replace(step, asked_pct=each) for each in asked]
    assert [each.asked_pct for each in one_of_each(steps, 12)] == [10.0, -10.0, 5.0, -5.0]
    assert [each.asked_pct for each in one_of_each(steps, 2)] == [10.0, -10.0]


def test_the_restless_rest_is_the_one_that_swings_most():
    rest = restless(made_recordings.reduction("hunting").rests)
    assert rest is not None
    still, swinging = (dataclasses.replace(rest, amplitude=Quantity(each)) for each in (0.4, 1.4))
    noisy = dataclasses.replace(rest, kind="noise", amplitude=Quantity(9.0))
    assert restless([still, swinging, noisy]) is swinging
    assert restless([noisy]) is None


def test_a_switch_is_made_from_each_make_to_the_next_break_and_to_the_end():
    reduction = made_recordings.reduction("healthy")
    recording = reduction.recording
    for end, column in (("closed", recording.closed_switch), ("open", recording.open_switch)):
        spans = made_spans(reduction, end)
        assert spans is not None
        made_s = sum(stop - start for start, stop in spans)
        assert made_s == pytest.approx(np.count_nonzero(column > 0.5) * recording.interval_s, abs=0.5)
    unbroken = [each for each in reduction.switch_events if each.end == "closed"][:-1]
    closed = made_spans(dataclasses.replace(reduction, switch_events=unbroken), "closed")
    assert closed is not None
    assert closed[0][0] == recording.time_s[0]
    assert closed[-1] == (unbroken[-1].at_s, recording.time_s[-1])
    without = dataclasses.replace(recording, closed_switch=None)
    assert made_spans(dataclasses.replace(reduction, recording=without), "closed") is None


def test_times_of_a_loss_count_from_the_loss():
    reduction = made_recordings.reduction("fails_open")
    loss = reduction.losses[0]
    shown = loss_timeline(loss, reduction, TAG)
    assert [name for name, _ in shown.events] == ["signal lost", "first motion", "at rest", "signal restored"]
    times = dict(shown.events)
    assert times["first motion"] == first_motion_s(loss, reduction) == pytest.approx(0.6, abs=0.15)
    assert times["at rest"] == loss.time.value
    assert times["signal restored"] == pytest.approx(25.0, abs=0.2)
    assert shown.time_s[0] == pytest.approx(loss.segment.from_s - loss.lost_s)
    assert shown.travel_pct[0] == pytest.approx(50.0, abs=0.5)
    assert shown.time_s[-1] == pytest.approx(times["signal restored"] + max(LEAST_RESTORED_S, 25.0), abs=0.3)


def test_a_loss_that_moves_nothing_and_is_not_restored_has_one_event():
    reduction = made_recordings.reduction("healthy")
    unmoved = dataclasses.replace(reduction.motion, from_s=np.empty(0))
    loss = dataclasses.replace(reduction.losses[0], restored_s=None, time=Quantity(None, "it stayed"))
    shown = loss_timeline(loss, dataclasses.replace(reduction, motion=unmoved), TAG)
    assert shown.events == (("signal lost", 0.0),)
    assert shown.time_s[-1] == pytest.approx(loss.segment.to_s - loss.lost_s, abs=0.11)


@pytest.mark.parametrize(("action", "expected"), [("closed", 0.0), ("open", 100.0), (None, None)])
def test_what_is_expected_of_a_loss_is_what_the_register_says(action, expected):
    assert expected_pct(made_recordings.reduction("healthy").losses[0], made.tag(fail_action=action)) == expected


def test_a_valve_that_should_hold_is_expected_where_it_was():
    loss = made_recordings.reduction("healthy").losses[0]
    assert expected_pct(loss, made.tag(fail_action="hold")) == loss.before.value
    unknown = dataclasses.replace(loss, before=Quantity(None, "not at rest"))
    assert expected_pct(unknown, made.tag(fail_action="hold")) is None
