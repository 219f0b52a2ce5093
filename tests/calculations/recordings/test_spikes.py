"""Bad samples: what is left out, and what a valve did and must not be."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats, integers, sampled_from

from kit.basis.recording import Recording
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.spikes import spikes_in, without_spikes
from tests.calculations.recordings.made import (
    Array,
    constant_speed,
    noisy,
    resting,
    same,
    second_order,
    stepped,
    stroked,
    walked,
)


def spoilt(channel: Array, places: list[int], by: float) -> Array:
    found = channel.copy()
    found[places] += by
    return found


def with_travel(recording: Recording, travel: Array) -> Recording:
    return replace(recording, travel_pct=travel, position_pct=travel)


def channels(recording: Recording) -> dict[str, int]:
    return {each.channel: int(each.at_s.size) for each in spikes_in(recording)}


@pytest.mark.parametrize("interval_s", [0.01, 0.1, 0.5, 1.0])
def test_a_recording_without_bad_samples_has_none(interval_s: float) -> None:
    assert spikes_in(walked(interval_s, 0.05)) == ()
    assert spikes_in(stroked(0.05)) == ()


@given(
    channel=sampled_from(["command", "travel", "feedback"]),
    place=integers(3, 440),
    by=sampled_from([-60.0, -25.0, 25.0, 60.0]),
    noise_pct=sampled_from([0.0, 0.02]),
    length=integers(1, 2),
)
def test_a_bad_sample_at_rest_is_found_on_any_channel_and_nothing_else_is(
    channel: str, place: int, by: float, noise_pct: float, length: int
) -> None:
    """At 10 samples a second, in the rest before or after a stroke of 20 s."""
    made = stroked(noise_pct)
    place = place if place < 95 else 305 + place % 190
    assert made.feedback_pct is not None
    places = list(range(place, place + length))
    if channel == "command":
        made = replace(made, command_pct=spoilt(made.command_pct, places, by))
    elif channel == "travel":
        made = with_travel(made, spoilt(made.travel_pct, places, by))
    else:
        made = replace(made, feedback_pct=spoilt(made.feedback_pct, places, by))
    (found,) = spikes_in(made)
    assert (found.channel, found.at_s.tolist()) == (channel, made.time_s[places].tolist())
    assert found.depth == pytest.approx(abs(by), abs=0.3)
    assert found.left_out


def test_one_bad_sample_moves_no_stroke_time() -> None:
    """A stroke of 20 s: a sample that falls to 40 % at 45 s made it one of 35 s."""
    made = stroked(0.02)
    bad = with_travel(made, spoilt(made.travel_pct, [450], -60.0))
    one, other = reduce_recording(made, same), reduce_recording(bad, same)
    assert [each.time.value for each in other.strokes] == pytest.approx(
        [each.time.value for each in one.strokes], rel=1e-4
    )
    assert other.spikes[0].at_s.tolist() == [45.0]
    assert np.isnan(other.recording.travel_pct[450])


def test_a_bad_sample_of_the_command_moves_no_hold() -> None:
    made = walked(0.1, 0.02)
    bad = replace(made, command_pct=spoilt(made.command_pct, [880, 1092], -70.0))
    one, other = reduce_recording(made, same), reduce_recording(bad, same)
    assert [each.command_pct for each in other.readings] == pytest.approx(
        [each.command_pct for each in one.readings], abs=0.005
    )
    assert len(other.segments) == len(one.segments)


def test_values_that_no_instrument_gives_are_left_out_however_many_in_a_row() -> None:
    made = walked(0.1, 0.02)
    travel = made.travel_pct.copy()
    travel[200:203] = -9999.0
    assert channels(with_travel(made, travel)) == {"travel": 3}


def test_a_bad_sample_in_a_slow_stroke_is_found() -> None:
    made = stroked(0.02)
    assert channels(with_travel(made, spoilt(made.travel_pct, [200], 30.0))) == {"travel": 1}


@pytest.mark.parametrize(("lasts", "depth_pct"), [(1, 9.5), (2, 13.0)])
def test_a_bad_sample_in_motion_is_no_speed_that_another_may_have(lasts: int, depth_pct: float) -> None:
    """10 % a second at 5 samples a second: 5 % away within the stroke, where the travel is not back where it was."""
    made = stepped(constant_speed(0.3, 6.0), interval_s=0.2, from_pct=20.0, to_pct=80.0, noise_pct=0.02)
    travel = spoilt(spoilt(made.travel_pct, list(range(66, 66 + lasts)), -5.0), [200], depth_pct)
    bad = [each.at_s.tolist() for each in spikes_in(with_travel(made, travel)) if each.channel == "travel"]
    assert bad[0][-1] == pytest.approx(made.time_s[200])


@pytest.mark.parametrize("interval_s", [0.2, 0.5, 1.0])
@pytest.mark.parametrize("damping", [0.15, 0.4])
def test_the_overshoot_of_a_fast_valve_is_none(interval_s: float, damping: float) -> None:
    """20 % in half a second: the peak is one sample at 1 to 5 samples a second."""
    for offset in np.linspace(0.0, 0.9, 10):
        made = stepped(second_order(damping, 6.0), interval_s=interval_s, offset=float(offset), noise_pct=0.02)
        assert spikes_in(made) == ()


@pytest.mark.parametrize("interval_s", [0.1, 0.5, 1.0])
def test_swings_that_last_a_sample_are_none(interval_s: float) -> None:
    """A valve that hunts by 3 % with two or three samples a period, no stroke having shown how fast it is."""
    time = interval_s * np.arange(600)
    for samples in (2.0, 2.3, 3.1):
        made = resting(50.0 + 1.5 * np.sin(2.0 * np.pi * time / (samples * interval_s) + 0.4), interval_s)
        assert spikes_in(made) == ()
        once = 50.0 + np.where(np.arange(600) % 150 == 70, 3.0, 0.0)
        assert spikes_in(resting(once, interval_s)) == ()


def test_a_full_speed_kick_of_a_sample_is_none() -> None:
    """A motor of 10 % a second that goes 4 % and back within two samples of 0.5 s."""
    made = stepped(constant_speed(0.3, 2.0), interval_s=0.5, noise_pct=0.02)
    assert spikes_in(with_travel(made, spoilt(made.travel_pct, [100], 4.9))) == ()
    assert channels(with_travel(made, spoilt(made.travel_pct, [100], 12.0))) == {"travel": 1}


def test_a_bad_spot_of_the_track_is_left_to_the_track() -> None:
    """The feedback falls for a sample at 50 % each way while the valve runs: no bad sample, and still a dropout."""
    made = stroked(0.02)
    assert made.feedback_pct is not None
    bad = replace(made, feedback_pct=spoilt(made.feedback_pct, [200, 201, 600, 601], -30.0))
    assert spikes_in(bad) == ()
    track = reduce_recording(bad, same).track
    assert track is not None
    assert track.dropouts.value == 1.0


def test_a_pulse_of_the_command_that_the_valve_answers_is_one() -> None:
    """A pulse of one sample at 1 sample a second: answered by 2 % it is a pulse, unanswered a bad sample."""
    time = np.arange(200.0)
    command = np.where(time == 100.0, 70.0, 50.0)
    travel = np.where((time > 100.0) & (time < 104.0), 52.0, 50.0)
    assert channels(Recording(time, command, np.full(200, 50.0))) == {"command": 1}
    assert spikes_in(Recording(time, command, travel)) == ()


def test_interruptions_beside_a_loss_of_signal_belong_to_it() -> None:
    time = 0.1 * np.arange(600)
    lost = (time >= 30.0) | ((time >= 28.95) & (time < 29.05))
    command = np.where(lost, -25.0, 50.0)
    assert spikes_in(Recording(time, command, np.full(600, 50.0), signal_lost=lost)) == ()
    alone = (time >= 9.95) & (time < 10.05)
    made = Recording(time, np.where(alone, -25.0, 50.0), np.full(600, 50.0), signal_lost=alone)
    found = without_spikes(made, spikes_in(made))
    assert found.signal_lost is not None
    assert not found.signal_lost.any()
    assert np.isnan(found.command_pct[100])


def test_many_bad_samples_are_told_and_none_is_left_out() -> None:
    made = walked(0.1, 0.02)
    places = list(range(300, 2400, 20))
    (found,) = spikes_in(with_travel(made, spoilt(made.travel_pct, places, -70.0)))
    assert not found.left_out
    assert found.at_s.size > 50
    assert without_spikes(made, (found,)) is made


@given(by_s=floats(0.0, 1e4), sign=sampled_from([-1.0, 1.0]), offset=floats(-20.0, 20.0))
def test_bad_samples_are_the_same_later_turned_round_and_moved(by_s: float, sign: float, offset: float) -> None:
    made = walked(0.25, 0.02)
    one = with_travel(made, spoilt(made.travel_pct, [100], 45.0))
    other = replace(
        with_travel(one, offset + sign * one.travel_pct),
        time_s=one.time_s + by_s,
        command_pct=offset + sign * one.command_pct,
    )
    assert channels(other) == channels(one) == {"travel": 1}


def test_a_bad_sample_of_the_supply_is_left_out_at_rest_and_inrush_is_not() -> None:
    made = stroked(0.0)
    assert made.supply_v is not None
    supply = noisy(made.supply_v, 0.2)
    assert channels(replace(made, supply_v=spoilt(supply, [60], -200.0))) == {"supply": 1}
    assert spikes_in(replace(made, supply_v=spoilt(supply, [101], -20.0))) == ()
