"""A recording is cut into the tests that are in it, whatever the noise."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, integers

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.holds import static_readings
from kit.calculations.recordings.segments import cut_recording, stretches_of
from tests.calculations.recordings.made import later, lost_signal, mirrored, noisy, programme, resting, same, walked


@pytest.mark.parametrize("interval_s", [0.01, 0.1, 1.0])
@pytest.mark.parametrize(("noise_pct", "quantum_pct"), [(0.0, 0.0), (0.02, 0.0), (0.1, 0.0), (0.02, 0.1)])
def test_a_walk_is_cut_the_same_at_every_rate_and_noise(
    interval_s: float, noise_pct: float, quantum_pct: float
) -> None:
    counts = Counter(each.what for each in cut_recording(walked(interval_s, noise_pct, quantum_pct), same))
    assert counts == {"rest": 1, "hold": 10, "step": 8, "stroke_open": 1, "stroke_close": 1}


def test_a_hold_begins_where_the_travel_came_to_rest() -> None:
    holds = [each for each in cut_recording(walked(0.01, 0.02), same) if each.what == "hold"]
    assert holds[0].from_s == pytest.approx(70.0 + 2.5, abs=0.1)
    assert holds[0].to_s == pytest.approx(90.0, abs=0.02)


@pytest.mark.parametrize("noise_pct", [0.0, 0.05])
def test_small_steps_are_steps_and_slow_ramps_are_ramps(noise_pct: float) -> None:
    steps = [(50.0 + 0.25 * number, 6.0) for number in range(9)]
    time, command = programme([(50.0, 20.0), *steps[1:], (52.0, 20.0)], interval_s=0.05, noise_pct=noise_pct)
    ramp_time = np.arange(0.0, 100.0, 0.05)
    ramp = 52.0 + 0.2 * np.minimum(ramp_time, 100.0 - ramp_time)
    tail = np.full(400, 52.0)
    noise = np.random.default_rng(2).normal(0.0, noise_pct, ramp.size + tail.size) if noise_pct else 0.0
    command = np.concatenate((command, np.concatenate((ramp, tail)) + noise))
    time = 0.05 * np.arange(command.size)
    counts = Counter(each.what for each in cut_recording(Recording(time, command, command.copy()), same))
    assert counts["step"] == 8
    assert (counts["ramp_up"], counts["ramp_down"]) == (1, 1)


def test_a_loss_of_signal_parts_the_levels_before_and_after() -> None:
    time = np.arange(0.0, 60.0, 0.1)
    lost = (time >= 20.0) & (time < 35.0)
    command = np.where(lost, -25.0, 50.0)
    travel = np.where(lost, np.maximum(50.0 - 10.0 * (time - 20.5), 0.0), np.where(time < 20.5, 50.0, 50.0))
    recording = Recording(time, command, np.minimum(travel, 50.0), signal_lost=lost)
    found = [(each.what, round(each.from_s), round(each.to_s)) for each in cut_recording(recording, same)]
    assert ("signal_lost", 15, 35) in found
    assert ("signal_restored", 35, 60) in found
    assert "step" not in [what for what, *_ in found]


def test_no_test_reaches_across_a_gap() -> None:
    time = np.concatenate((np.arange(0.0, 20.0, 0.1), np.arange(30.0, 60.0, 0.1)))
    command = np.where(time < 25.0, 20.0, 70.0)
    recording = Recording(time, command, command.copy(), gaps=((19.9, 30.0),))
    found = [each.what for each in cut_recording(recording, same)]
    assert "gap" in found
    assert "step" not in found
    channels = channels_of(recording)
    assert static_readings(recording, cut_recording(recording, same, channels), channels).readings == ()


@settings(max_examples=10)
@given(by_s=integers(0, 10**6), mirrors=booleans())
def test_a_walk_recorded_later_or_the_other_way_round_has_the_same_parts(by_s: int, mirrors: bool) -> None:
    recording = walked(0.25, 0.02)
    other = later(mirrored(recording) if mirrors else recording, by_s)
    opposite = {"stroke_open": "stroke_close", "stroke_close": "stroke_open"} if mirrors else {}
    expected = [(opposite.get(each.what, each.what), each.from_s, each.to_s) for each in cut_recording(recording, same)]
    found = [(each.what, each.from_s - by_s, each.to_s - by_s) for each in cut_recording(other, same)]
    assert [what for what, *_ in found] == [what for what, *_ in expected]
    assert [each for _, *times in found for each in times] == pytest.approx(
        [each for _, *times in expected for each in times], abs=1e-6
    )


def test_every_part_of_a_walk_lies_where_it_was_made() -> None:
    """A step begins 5 s before its change and lasts until the next; the rest of 70 s is one, holds of 20 s are not."""
    found = [(each.what, each.from_s, each.to_s) for each in cut_recording(walked(0.1, 0.0), same)]
    assert [each for each in found if each[0] == "rest"] == [("rest", 0.0, pytest.approx(69.9))]
    steps = [each for each in found if each[0] == "step"]
    assert steps[0] == ("step", pytest.approx(64.9), pytest.approx(89.9))
    strokes = [each for each in found if each[0] == "stroke_open"]
    assert strokes == [("stroke_open", pytest.approx(184.9), pytest.approx(219.9))]


@pytest.mark.parametrize(("asks_pct", "what"), [(89.9, "step"), (90.1, "stroke_open"), (-90.1, "stroke_close")])
def test_a_step_that_asks_for_nine_tenths_of_the_travel_is_a_stroke(asks_pct: float, what: str) -> None:
    time, command = programme([(50.0 - asks_pct / 2, 20.0), (50.0 + asks_pct / 2, 30.0)])
    found = [each.what for each in cut_recording(Recording(time, command, command.copy()), same)]
    assert what in found
    assert len(set(found) - {"hold", what}) == 0


@pytest.mark.parametrize(("seconds", "what"), [(58.0, "hold"), (59.2, "rest")])
def test_a_level_of_a_minute_is_a_rest_less_the_samples_at_its_ends(seconds: float, what: str) -> None:
    recording = resting(np.full(round(seconds * 10), 50.0), 0.1)
    assert [each.what for each in cut_recording(recording, same)] == [what]


def test_a_hold_that_settles_too_late_is_none() -> None:
    """The travel arrives 0.6 s before the command changes again, or 1.5 s."""
    time, command = programme([(20.0, 20.0), (40.0, 10.0), (80.0, 20.0)])
    late, early = (np.interp(time, [0, 20, end, 30, 33, 50], [20, 20, 40, 40, 80, 80]) for end in (29.4, 28.5))
    holds = [
        [each.from_s for each in cut_recording(Recording(time, command, travel), same) if each.what == "hold"]
        for travel in (late, early)
    ]
    assert [len(each) for each in holds] == [2, 3]
    assert holds[1][1] == pytest.approx(28.5, abs=0.15)


def test_stretches_end_at_losses_and_gaps() -> None:
    marks = np.zeros(400, dtype=bool)
    marks[100:120] = True
    marks[300] = True  # a lost sample, and no loss
    time = np.arange(400) * 0.1 + np.where(np.arange(400) >= 200, 5.0, 0.0)
    recording = Recording(
        time, np.full(400, 50.0), np.full(400, 50.0), signal_lost=marks, gaps=((time[199], time[200]),)
    )
    assert stretches_of(recording) == [(0, 99), (120, 199), (200, 399)]


def test_a_restoration_lasts_until_the_command_changes_or_breaks_off() -> None:
    recording = lost_signal()
    found = {each.what: each for each in cut_recording(recording, same)}
    assert (found["signal_lost"].from_s, found["signal_lost"].to_s) == pytest.approx((25.0, 59.9))
    assert (found["signal_restored"].from_s, found["signal_restored"].to_s) == pytest.approx((59.9, 89.9))
    command = np.where(recording.time_s >= 75.0, 60.0, recording.command_pct)
    changed = {each.what: each for each in cut_recording(replace(recording, command_pct=command), same)}
    assert changed["signal_restored"].to_s == pytest.approx(74.9)
    broken = {each.what: each for each in cut_recording(replace(recording, gaps=((70.0, 70.1),)), same)}
    assert broken["signal_restored"].to_s == pytest.approx(70.0)
    lost = recording.signal_lost | (recording.time_s >= 80.0)
    again = cut_recording(replace(recording, signal_lost=lost), same)
    assert next(each.to_s for each in again if each.what == "signal_restored") == pytest.approx(79.9)


def test_the_command_while_the_signal_is_lost_makes_no_noise() -> None:
    recording = lost_signal()
    wild = np.where(recording.signal_lost, noisy(recording.command_pct, 5.0), noisy(recording.command_pct, 0.02))
    assert channels_of(replace(recording, command_pct=wild)).command.deviation == pytest.approx(0.02, rel=0.2)


def test_a_valve_that_never_rests_has_the_noise_of_its_quietest_stretch() -> None:
    """Wild, but for 200 samples of 2,000; a valve that is at rest for most of the time has its own noise."""
    wild = noisy(np.full(2000, 50.0), 1.0)
    wild[600:800] = noisy(np.full(200, 50.0), 0.02)
    found = channels_of(resting(wild, 0.1))
    assert found.travel == found.quiet_travel
    assert found.travel.deviation == pytest.approx(0.02, rel=0.3)
    calm = channels_of(resting(noisy(np.full(2000, 50.0), 0.02), 0.1))
    assert calm.travel.deviation == pytest.approx(0.02, rel=0.1)
    assert calm.quiet_travel.deviation <= calm.travel.deviation
