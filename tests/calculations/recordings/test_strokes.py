"""Full strokes: speed over the travel, pulses and their duty."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.lag import lagged
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.strokes import Stroke, reduce_stroke
from tests.calculations.recordings.made import later, mirrored, noisy, same

PART = Segment("stroke_open", 5.0, 1e9)


def reduced(recording: Recording, segment: Segment = PART) -> Stroke:
    channels = channels_of(recording)
    found = reduce_stroke(recording, segment, channels, motion_of(recording, channels.travel), same)
    assert found is not None
    return found


def stroke(times: list[float], heights: list[float], *, interval_s: float = 0.125, length_s: float = 80.0) -> Recording:
    """From closed to open at 10 s."""
    time = np.arange(0.0, length_s, interval_s)
    return Recording(time, np.where(time >= 10.0, 100.0, 0.0), np.interp(time, times, heights))


def pulsed(period_s: float, duty_pct: float, *, interval_s: float = 0.03125, missing: int = -1) -> Recording:
    """5 % a second in pulses; the pause number ``missing`` is left out."""
    time = np.arange(0.0, 40.0 + 20.0 * 100.0 / duty_pct, interval_s)
    phase = (time - 10.5) / period_s
    on = (time >= 10.5) & ((phase % 1.0 < duty_pct / 100.0) | (np.floor(phase) == missing))
    travel = np.minimum(np.cumsum(np.where(on, 5.0 * interval_s, 0.0)), 100.0)
    return Recording(time, np.where(time >= 10.0, 100.0, 0.0), travel)


def test_pulses_are_told_with_their_duty() -> None:
    """On for 40 % of each second: the stroke takes 100 / 40 times as long."""
    time = np.arange(0.0, 90.0, 0.02)
    on = ((time - 10.3) % 1.0 < 0.4) & (time >= 10.3)
    travel = np.minimum(np.cumsum(np.where(on, 5.0 * 0.02, 0.0)), 100.0)
    command = np.where(time >= 10.0, 100.0, 0.0)
    found = reduce_recording(Recording(time, command, noisy(travel, 0.02)), same)
    (stroke,) = found.strokes
    assert stroke.is_pulsed
    assert abs(stroke.duty.value - 40.0) <= 2.0 * stroke.duty.standard_uncertainty
    assert stroke.time.value == pytest.approx(0.3 + 50.0, abs=1.1)


def test_a_duty_that_could_be_all_of_the_time_is_none() -> None:
    """88 % of 0.8 s leave 0.096 s of pause, at 16 samples a second: known to less than that."""
    (found,) = reduce_recording(pulsed(0.8, 88.0, interval_s=0.0625), same).strokes
    assert found.is_pulsed
    assert found.duty.value is None
    assert "too much of the pulses" in found.duty.why_not


def test_the_profile_has_the_speed_over_each_twentieth_of_the_travel() -> None:
    """5 % a second up to half of the travel, 2 % a second beyond; the ends, within 0.5 %, are not passed whole."""
    found = reduced(stroke([0, 10, 20, 45, 80], [0, 0, 50, 100, 100]))
    assert found.opens
    assert found.profile_travel_pct == pytest.approx(np.arange(2.5, 100.0, 5.0))
    assert found.profile_pct_s[1:10] == pytest.approx(np.full(9, 5.0))
    assert found.profile_pct_s[10:19] == pytest.approx(np.full(9, 2.0))
    assert np.isnan(found.profile_pct_s[[0, 19]]).all()
    wider = reduced(stroke([0, 10, 20, 45, 80], [-1, -1, 50, 101, 101]))
    assert np.isfinite(wider.profile_pct_s).all()


@settings(max_examples=25)
@given(
    duration_s=floats(5, 40), by_s=integers(0, 10**6), mirrors=booleans(), end_pct=floats(92, 99), offset=floats(0, 4)
)
def test_a_stroke_of_constant_speed_gives_it_back_wherever_it_passes(
    duration_s: float, by_s: int, mirrors: bool, end_pct: float, offset: float
) -> None:
    made = stroke([0, 10, 10 + duration_s, 80], [offset, offset, end_pct, end_pct])
    other = later(mirrored(made) if mirrors else made, by_s)
    found = reduced(other, Segment("stroke_open", 5.0 + by_s, 80.0 + by_s))
    speed = (end_pct - offset) / duration_s
    known = np.isfinite(found.profile_pct_s)
    speeds = found.profile_pct_s[known]
    assert speeds[1:-1] == pytest.approx(np.full(speeds.size - 2, speed), rel=1e-6)
    assert speeds[[0, -1]] == pytest.approx([speed, speed], rel=0.15)  # no sample lies on the corner at either end
    low, high = (100.0 - end_pct, 100.0 - offset) if mirrors else (offset, end_pct)
    inside = (found.profile_travel_pct - 2.5 >= low + 0.5) & (found.profile_travel_pct + 2.5 <= high - 0.5)
    assert known.tolist() == inside.tolist()
    assert found.opens is not mirrors
    assert not found.is_pulsed
    assert found.time.value == pytest.approx(duration_s - 0.5 / speed + 0.0625, abs=0.02)


def test_the_profile_takes_the_first_passage_of_a_travel_that_comes_back() -> None:
    found = reduced(stroke([0, 10, 16, 18, 32, 80], [0, 0, 60, 40, 100, 100]))
    speeds = found.profile_pct_s
    assert speeds[1:12] == pytest.approx(np.full(11, 10.0))
    assert speeds[12] == pytest.approx(5.0 / ((65 - 40) / (60 / 14) + 2.0), rel=0.05)
    assert speeds[13:19] == pytest.approx(np.full(6, 60.0 / 14.0))


def test_a_stroke_that_does_not_come_to_rest_has_no_profile() -> None:
    found = reduced(stroke([0, 10, 80], [0, 0, 60]))
    assert np.isnan(found.profile_pct_s).all()
    assert found.profile_travel_pct.size == 20
    assert found.time.value is None


def test_a_part_without_a_step_is_no_stroke() -> None:
    made = stroke([0, 10, 30, 80], [0, 0, 100, 100])
    channels = channels_of(made)
    motion = motion_of(made, channels.travel)
    assert reduce_stroke(made, Segment("stroke_open", 30.0, 70.0), channels, motion, same) is None


def test_pulses_by_hand() -> None:
    """On for 0.5 s of each second: the 20 s that 100 % take at 5 % a second become 40, with 39 pauses between.

    Those between 5 and 95 % of the way count: 36 of the 39, two of them cut off by the bounds. The window is one
    sample, and so is what sampling leaves open; both, over the second, are the half width of the duty.
    """
    found = reduced(pulsed(1.0, 50.0))
    assert found.is_pulsed
    assert found.pauses_are_regular
    assert found.pauses in (34, 35, 36)
    assert found.duty.beside == {"period_s": pytest.approx(1.0, abs=0.02), "pauses": float(found.pauses)}
    assert found.duty.value == pytest.approx(50.0, abs=3.2)
    component, behind = found.duty.components
    assert behind.value < 5.0
    window_s = motion_of(pulsed(1.0, 50.0), channels_of(pulsed(1.0, 50.0)).travel).window_s
    assert component.value == pytest.approx(100.0 * (window_s + 0.03125), rel=0.02)
    assert abs(found.duty.value - 50.0) <= component.value
    assert found.duty.at_s == pytest.approx(10.5 + 2.0, abs=1.1)


def test_pulses_behind_a_filter_are_known_no_better_than_the_motion_that_goes_on() -> None:
    """On for 0.5 s of each second, a filter of 0.15 s."""
    made = pulsed(1.0, 50.0)
    behind = lagged(made.travel_pct, float(made.time_s[1] - made.time_s[0]), 0.15)
    found = reduced(replace(made, travel_pct=noisy(behind, 0.01)))
    assert found.duty.value > 55.0
    assert abs(found.duty.value - 50.0) <= 2.0 * found.duty.standard_uncertainty


@settings(max_examples=15)
@given(duty_pct=floats(30, 80), period_s=floats(0.8, 2.0), by_s=integers(0, 10**6), mirrors=booleans())
def test_the_duty_of_pulses_is_what_they_were_made_with(
    duty_pct: float, period_s: float, by_s: int, mirrors: bool
) -> None:
    made = pulsed(period_s, duty_pct)
    made = replace(made, travel_pct=noisy(made.travel_pct, 0.01))
    one = reduced(made)
    other = reduced(later(mirrored(made) if mirrors else made, by_s), Segment("stroke_open", 5.0 + by_s, 1e9))
    assert one.is_pulsed
    assert abs(one.duty.value - duty_pct) <= 2.0 * one.duty.standard_uncertainty
    assert one.duty.beside["period_s"] == pytest.approx(period_s, rel=0.05)
    assert other.pauses == one.pauses
    assert other.duty.value == pytest.approx(one.duty.value, abs=1e-6)


def test_a_pause_that_was_not_seen_leaves_the_duty_as_it_is() -> None:
    found = reduced(pulsed(1.0, 50.0, missing=12))
    assert found.is_pulsed
    assert found.duty.value == pytest.approx(50.0, abs=3.2)
    assert found.duty.beside["period_s"] == pytest.approx(1.0, abs=0.02)


@pytest.mark.parametrize(("count", "told"), [(2, False), (3, True)])
def test_pulses_take_three_pauses(count: int, told: bool) -> None:
    """Of a second each, after every 10 % from 30 % on."""
    times, heights = [0.0, 10.0, 16.0], [0.0, 0.0, 30.0]
    for _ in range(count):
        times += [times[-1] + 1.0, times[-1] + 3.0]
        heights += [heights[-1], heights[-1] + 10.0]
    found = reduced(stroke([*times, times[-1] + 20.0], [*heights, 100.0]))
    assert found.pauses == count
    assert found.is_pulsed is told
    assert (found.duty.value is not None) is told
    if told:
        assert found.duty.value == pytest.approx(100.0 * 2.0 / 3.0, abs=9.0)
        assert found.duty.beside["period_s"] == pytest.approx(3.0, abs=0.2)


def test_pauses_at_the_ends_of_the_way_do_not_count() -> None:
    """At 3, 4 and 97 % of the travel, and one at its half."""
    times = [0.0, 10.0, 10.6, 11.6, 11.8, 12.8, 22.0, 23.0, 32.4, 33.4, 34.0]
    found = reduced(stroke(times, [0, 0, 3, 3, 4, 4, 50, 50, 97, 97, 100]))
    assert found.pauses == 1
    assert found.duty.why_not == "the stroke is not pulsed, or its pauses are too short for this sampling"


def test_irregular_pauses_are_no_pulses() -> None:
    times, heights = [0.0, 10.0], [0.0, 0.0]
    for number, pause in enumerate([0.5, 4.0, 0.6, 2.5, 6.0, 0.5]):
        times += [times[-1] + 1.0 + (number % 3), 0.0]
        times[-1] = times[-2] + pause
        heights += [heights[-1] + 5.0 * (1 + number % 3), heights[-1] + 5.0 * (1 + number % 3)]
    found = reduced(stroke([*times, times[-1] + 10.0], [*heights, 100.0]))
    assert found.pauses >= 3
    assert not found.is_pulsed
    assert found.duty.why_not == "the pauses on the way are not regular"


def test_pulses_of_fewer_than_six_samples_do_not_tell_their_duty() -> None:
    found = reduced(pulsed(1.0, 50.0, interval_s=0.25))
    assert found.duty.value is None
    assert found.duty.why_not in (
        "the pulses are too short for this sampling to tell their duty",
        "the pauses on the way are not regular",
        "the stroke is not pulsed, or its pauses are too short for this sampling",
    )


def test_a_stroke_of_two_samples_is_too_quick() -> None:
    found = reduced(stroke([0, 10, 10.2, 80], [0, 0, 100, 100]))
    assert found.duty.why_not == "the stroke was too quick for this sampling"
    assert found.pauses == 0


def test_a_stroke_that_was_not_answered_has_no_pulses() -> None:
    found = reduced(stroke([0, 80], [20, 20]))
    assert (found.pauses, found.is_pulsed, found.duty.value) == (0, False, None)
    assert found.time.why_not == "the valve did not answer the step"
    assert np.isnan(found.profile_pct_s).all()


@pytest.mark.parametrize(("swings_pct", "is_timed"), [(1.0, True), (1.9, False)])
def test_a_stroke_that_ends_in_swings_has_no_time(swings_pct: float, is_timed: bool) -> None:
    """Two samples a second of a travel that goes to and fro throughout: it never comes to stay within 0.5 %."""
    made = stroke([10.0, 30.0], [0.0, 100.0], interval_s=0.5)
    swings = 0.5 * swings_pct * np.sin(2.0 * np.pi * made.time_s / 1.7)
    swinging = replace(made, travel_pct=made.travel_pct + noisy(swings, 0.02))
    channels = channels_of(swinging)
    channels = replace(channels, travel=replace(channels.travel, deviation=swings_pct / 5.0))
    found = reduce_stroke(swinging, PART, channels, motion_of(swinging, channels.travel), same)
    assert found is not None
    assert (found.time.value is not None) is is_timed
    if not is_timed:
        assert found.time.why_not.startswith("where it should rest, the travel goes 1.9 % to and fro: stop its hunting")


def told_twice(position_noise_pct: float, duty_pct: float = 60.0) -> Recording:
    """A pulsed stroke with an even feedback and a position that is read with a noise."""
    made = pulsed(1.0, duty_pct, interval_s=0.1)
    read = noisy(made.travel_pct, position_noise_pct)
    return replace(made, travel_pct=read, position_pct=read, feedback_pct=noisy(made.travel_pct, 0.03))


def test_the_feedback_shows_the_pulses_that_noise_hides_in_the_position() -> None:
    """100 % at 5 % a second in pulses of 0.6 s: some 33 pulses, of which those between 5 and 95 % count."""
    (found,) = reduce_recording(told_twice(0.6), same).strokes
    assert not found.is_pulsed
    assert 25 <= found.feedback_pauses <= 33
    assert found.duty.value is None


def test_pulses_seen_in_the_position_and_a_stroke_in_one_go_take_none_from_the_feedback() -> None:
    (seen,) = reduce_recording(told_twice(0.02), same).strokes
    assert (seen.is_pulsed, seen.feedback_pauses) == (True, 0)
    (even,) = reduce_recording(told_twice(0.6, duty_pct=100.0), same).strokes
    assert (even.is_pulsed, even.feedback_pauses) == (False, 0)
