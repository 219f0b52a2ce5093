"""How often the motor starts, and what the travel may hide of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats, integers, sampled_from

from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.motor_starts import Starts, count_starts, starts_per_hour
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.reduce import reduce_recording
from tests.calculations.recordings.made import moved, noisy, programme, resting, whole


def counted(recording: Recording, parts: Sequence[Segment] | None = None) -> Starts:
    channels = channels_of(recording)
    own = (whole(recording),) if parts is None else parts
    return count_starts(recording, motion_of(recording, channels.travel), channels, own)


def starts(recording: Recording, ramps: tuple[tuple[float, float], ...] = ()) -> Quantity:
    parts = [whole(recording), *(Segment("ramp_up", start, end) for start, end in ramps)]
    return starts_per_hour([counted(recording, parts)])


@pytest.mark.parametrize("interval_s", [0.05, 0.2])
def test_starts_are_counted_and_pulses_of_one_run_are_one_start(interval_s: float) -> None:
    time = np.arange(0.0, 600.0, interval_s)
    runs = [(20.0 + 25.0 * number, 4.0) for number in range(20)]
    speed = np.zeros(time.size)
    for start, length in runs:
        speed[(time >= start) & (time < start + length)] = 2.0 if round(start / 25.0) % 2 else -2.0
    pulsed = (time >= 540.0) & (time < 560.0) & ((time % 2.0) < 1.0)
    speed[pulsed] = 2.0
    travel = noisy(50.0 + np.cumsum(speed) * interval_s, 0.02)
    recording = resting(travel, interval_s)
    figure = starts(recording)
    assert figure.beside["starts"] == 21
    assert figure.value == pytest.approx(21 * 6.0, rel=0.01)


def test_starts_over_less_than_a_minute_are_not_stated() -> None:
    recording = resting(np.full(100, 50.0), 0.1)
    assert starts(recording).value is None


def test_gaps_do_not_count_in_the_duration_of_starts_per_hour() -> None:
    """Five starts in two minutes of recording are 150 an hour, however long the break between them was."""
    first = moved([0, *[t for n in range(5) for t in (10 + 20 * n, 12 + 20 * n)], 120],
                  [10, *[h for n in range(5) for h in (10 + 8 * n, 18 + 8 * n)], 50], length_s=120.0)  # fmt: skip
    assert starts(first).value == pytest.approx(150.0, rel=0.002)
    broken = replace(first, time_s=np.where(first.time_s < 60.05, first.time_s, first.time_s + 3600.0))
    broken = replace(broken, gaps=((60.0, 3660.1),))
    found = starts(broken)
    assert found.beside["starts"] == 5.0
    assert found.value == pytest.approx(150.0, rel=0.002)
    assert found.beside["running_share_pct"] == pytest.approx(100.0 * 5 * 2 / 120, rel=0.1)
    by_name = {each.name: each.standard_uncertainty for each in found.components}
    assert by_name["sampling, one start more or less a recording"] == pytest.approx(30.0 / 3**0.5, rel=0.002)
    assert by_name["noise, chance in less than an hour"] == pytest.approx((6.0 * 29 / 30) ** 0.5 * 30.0, rel=0.002)


def test_less_than_a_minute_of_recording_says_nothing_whatever_the_gaps() -> None:
    short = resting(np.full(500, 50.0), 0.1)
    long_gap = replace(short, time_s=np.where(short.time_s < 25.0, short.time_s, short.time_s + 600.0))
    assert starts(replace(long_gap, gaps=((24.9, 625.0),))).why_not == "less than a minute was recorded"
    still = starts(resting(np.full(610, 50.0), 0.1))
    assert (still.value, still.at_s, still.beside["running_share_pct"]) == (0.0, None, 0.0)


@pytest.mark.parametrize(("pause_s", "count"), [(1.7, 1.0), (2.3, 2.0)])
def test_a_pause_of_two_seconds_ends_a_run(pause_s: float, count: float) -> None:
    stop = 13.0 + pause_s
    one_way = moved([0, 10, 13, stop, stop + 3, 90], [10, 10, 16, 16, 22, 22], length_s=90.0)
    back = moved([0, 10, 13, stop, stop + 3, 90], [10, 10, 16, 16, 10, 10], length_s=90.0)
    found = starts(one_way)
    assert (found.beside["starts"], found.beside["episodes"]) == (count, 2.0)
    assert found.at_s == pytest.approx(10.0, abs=0.11)
    assert starts(back).beside["starts"] == 2.0


def test_every_jump_on_a_ramp_of_the_command_is_a_start() -> None:
    recording = moved([0, 10, 13, 14, 17, 90], [10, 10, 16, 16, 22, 22], length_s=90.0)
    assert starts(recording).beside["starts"] == 1.0
    assert starts(recording, ((12.0, 30.0),)).beside["starts"] == 2.0
    assert starts(recording, ((20.0, 30.0), (5.0, 13.0))).beside["starts"] == 1.0


def cycles(period_s: float, length_s: float, interval_s: float, pause_share: float = 0.0) -> Recording:
    """Swings of 1 % with the command at rest: two starts a period."""
    time = np.arange(0.0, length_s, interval_s)
    half = period_s / 2.0
    run = half * (1.0 - pause_share)
    travel = 50.0 + np.interp(time % period_s, [0.0, run, half, half + run, period_s], [0.0, 1.0, 1.0, 0.0, 0.0])
    return resting(noisy(travel, 0.005), interval_s)


@pytest.mark.parametrize("pause_share", [0.0, 0.5])
def test_every_reversal_of_a_hunting_valve_is_a_start(pause_share: float) -> None:
    """5 minutes, 4 s a period: 150 reversals, with a pause or without."""
    found = reduce_recording(cycles(4.0, 300.0, 0.1, pause_share), float)
    (rest,) = found.rests
    assert found.starts.beside["starts"] >= rest.reversals
    assert found.starts.beside["starts"] == pytest.approx(150, abs=2)


@settings(max_examples=40)
@given(
    period_s=floats(1.5, 10),
    pause_share=floats(0, 0.8),
    rate_hz=sampled_from([10, 20, 50, 100]),
    noise_pct=sampled_from([0.0, 0.005, 0.02]),
    start_number=integers(0, 10**6),
)
def test_the_starts_of_a_limit_cycle_are_counted_or_the_reason_is_told(
    period_s: float, pause_share: float, rate_hz: int, noise_pct: float, start_number: int
) -> None:
    """Codes of 12 bits written with three decimals."""
    made = cycles(period_s, 120.0, 1.0 / rate_hz, pause_share)
    step = 100.0 / 4095
    travel = np.round(np.round(noisy(made.travel_pct, noise_pct, start_number) / step) * step, 3)
    figure = reduce_recording(replace(made, travel_pct=travel, position_pct=travel), float).starts
    if figure.value is None:
        assert "record" in figure.why_not
        return
    true = 2.0 * 120.0 / period_s * 30.0
    assert abs(figure.value - true) <= 2.0 * figure.standard_uncertainty


def test_an_hour_is_known_to_a_start_and_a_minute_to_what_chance_leaves() -> None:
    """16 starts: of an hour 16 an hour to one start; of 6 minutes 160, give or take root of 17 x 0.9, tenfold."""
    nothing = {"doubtful": 0.0, "hidden": 0.0, "running_s": 0.0, "hides_pct": 0.05}
    hour, part = (starts_per_hour([Starts(16, 16, duration_s=seconds, **nothing)]) for seconds in (3600.0, 360.0))
    assert (hour.value, part.value) == (16.0, pytest.approx(160.0))
    assert hour.standard_uncertainty == pytest.approx(1.0 / 3**0.5)
    assert part.standard_uncertainty == pytest.approx(((17 * 0.9) + 1.0 / 3.0) ** 0.5 * 10.0)


def test_a_rest_of_a_minute_without_a_start_says_little_of_an_hour() -> None:
    figure = starts(resting(np.full(610, 50.0), 0.1))
    assert figure.value == 0.0
    assert 2.0 * figure.standard_uncertainty > 100.0


def test_a_creep_that_only_long_means_show_is_counted_and_may_be_none() -> None:
    """0.02 % a second for 60 s under noise of 0.02 %: a motor that runs slowly, or a valve that gives way."""
    time = np.arange(0.0, 300.0, 0.1)
    recording = resting(noisy(50.0 + 0.02 * np.clip(time - 100.0, 0.0, 60.0), 0.02), 0.1)
    found = counted(recording)
    assert (found.shown, found.doubtful) == (1, 1.0)
    tail = moved([0, 100, 105, 165, 300], [10, 10, 20, 21, 21], length_s=300.0)
    assert counted(replace(tail, travel_pct=noisy(tail.travel_pct, 0.02))).shown == 1


def test_a_step_the_other_way_that_nothing_answers_may_hide_a_start() -> None:
    time, command = programme([(50.0, 30.0), (52.0, 30.0), (51.9, 30.0), (51.8, 30.0)])
    recording = Recording(time, command, noisy(np.minimum(command, np.where(time < 30.5, 50.0, 52.0)), 0.005))
    parts = [Segment("step", start, start + 35.0) for start in (25.0, 55.0, 85.0)]
    still = replace(recording, travel_pct=noisy(np.where(time < 30.5, 50.0, 52.0), 0.005))
    assert counted(still, parts).hidden == pytest.approx(1.0)
    answered = replace(recording, travel_pct=noisy(np.where(time < 60.5, recording.travel_pct, 51.9), 0.005))
    assert counted(answered, parts).hidden == pytest.approx(0.0)


def test_a_slow_motion_on_a_ramp_may_be_many_jumps() -> None:
    """A stroke of 10 % a second tells the speed; on the ramp the travel goes at 0.5 % a second for 60 s."""
    made = moved([0, 10, 15, 60, 120, 150], [10, 10, 60, 60, 90, 90], length_s=150.0, interval_s=0.5)
    ramp = (Segment("hold", 0.0, 55.0), Segment("ramp_up", 55.0, 125.0))
    assert counted(made, ramp).hidden > 30.0
    assert "may be hidden" in counted(made, ramp).why_not
    assert counted(made, [whole(made)]).why_not == ""


@pytest.mark.parametrize(("interval_s", "why"), [(2.0, "show no pause of 2 s"), (0.5, "record at 10 Hz or faster")])
def test_what_cannot_be_counted_says_what_would_do(interval_s: float, why: str) -> None:
    figure = reduce_recording(cycles(3.0, 300.0, interval_s), float).starts
    assert figure.value is None
    assert why in figure.why_not
    assert "record" in figure.why_not


def test_turns_at_every_sample_and_noise_that_hides_moves_are_not_counted() -> None:
    alternating = resting(50.0 + np.array([0.0, 2.0, 1.0])[np.arange(1200) % 3], 0.1)
    clean = Channels(Noise(0.0, 0.0), Noise(0.0, 0.0), Noise(0.0, 0.0))
    quiet = count_starts(alternating, motion_of(alternating, clean.travel), clean, [whole(alternating)])
    assert "turns at nearly every sample" in quiet.why_not
    loud = resting(noisy(np.full(1200, 50.0), 0.3), 0.1)
    assert "look like noise" in counted(loud).why_not


def test_small_starts_that_look_like_wander_of_the_travel_are_hidden_ones() -> None:
    """0.2 % every 8 s, 37 times in 300 s, through a filter of 0.4 s at five samples a second."""
    time = np.arange(0.0, 300.0, 0.2)
    since = time % 8.0
    stairs = 0.2 * (np.floor(time / 8.0) - np.exp(-since / 0.4))
    recording = resting(noisy(50.0 + stairs, 0.01), 0.2)
    known = Noise(0.01, 0.0)
    wanders = Channels(known, replace(known, wander=0.1), known)
    motion = motion_of(recording, Noise(0.1, 0.0))
    found = count_starts(recording, motion, wanders, (whole(recording),))
    assert found.shown + found.hidden >= 37.0
    assert found.hidden > 10.0


@pytest.mark.parametrize(("pause_s", "shown", "doubtful"), [(1.0, 20, 10.0), (0.05, 10, 0.0), (3.0, 20, 0.0)])
def test_in_service_a_short_pause_may_be_one_between_pulses(pause_s: float, shown: int, doubtful: float) -> None:
    """Ten runs of 2 s at 2 % a second there and back, each broken once, at 50 samples a second."""
    time = np.arange(0.0, 200.0, 0.02)
    into, way = time % 20.0, np.where((time // 20.0) % 2.0 == 0.0, 2.0, -2.0)
    runs = ((into > 5.0) & (into < 6.0)) | ((into > 6.0 + pause_s) & (into < 7.0 + pause_s))
    recording = resting(noisy(50.0 + np.cumsum(np.where(runs, way, 0.0)) * 0.02, 0.01), 0.02)
    channels = channels_of(recording)
    motion = motion_of(recording, channels.travel)
    found = count_starts(recording, motion, channels, (whole(recording),), in_service=True)
    assert (found.shown, found.doubtful) == (shown, doubtful)


def small_steps(ways: Sequence[int], size_pct: float, noise_pct: float, number: int = 1) -> Recording:
    """Steps 6 s apart that the travel follows over 2 s."""
    time = np.arange(0.0, 6.0 * (len(ways) + 1), 0.1)
    levels = 50.0 + size_pct * np.cumsum([0, *ways])
    edges = 6.0 * np.arange(1, len(ways) + 1)
    command = levels[np.searchsorted(edges, time, side="right")]
    follows = np.interp(time, np.sort([*edges, *(edges + 2.0)]), np.repeat(levels, 2)[1:-1])
    travel = noisy(follows, noise_pct, number)
    return Recording(time, noisy(command, 0.02, number), travel, position_pct=travel)


def steps_of(recording: Recording) -> list[Segment]:
    return [Segment("step", at, at + 6.0) for at in np.arange(6.0, recording.duration_s - 1.0, 6.0).tolist()]


def test_steps_that_the_travel_follows_where_no_move_shows_may_each_hide_a_start() -> None:
    """20 up and 20 down by 0.1 %: 2 % each way in starts of 0.1 % at least."""
    made = small_steps([1] * 20 + [-1] * 20, 0.1, 0.06)
    found = counted(made, steps_of(made))
    assert found.shown < 10
    assert found.hidden > 25.0
    assert "starts may be hidden" in found.why_not


def test_steps_that_show_and_steps_that_the_travel_does_not_follow_hide_none() -> None:
    made = small_steps([1] * 20 + [-1] * 20, 1.0, 0.02)
    assert (counted(made, steps_of(made)).shown, counted(made, steps_of(made)).hidden) == (40, 0.0)
    still = replace(made, travel_pct=noisy(np.full(len(made), 50.0), 0.06))
    assert (counted(still, steps_of(made)).shown, counted(still, steps_of(made)).hidden) == (0, 1.0)


def test_what_moves_leave_of_the_way_on_a_ramp_may_be_small_starts() -> None:
    """10 % in 600 s, of which a jump of 2 % shows: 8 % in starts of 0.1 % at least, and what its ends hide."""
    time = np.arange(0.0, 660.0, 0.1)
    slow = np.interp(time, [30.0, 630.0], [40.0, 48.0]) + 2.0 * (time > 300.0)
    travel = noisy(slow, 0.15)
    made = Recording(time, np.interp(time, [30.0, 630.0], [40.0, 50.0]), travel, position_pct=travel)
    found = counted(made, [Segment("ramp_up", 30.0, 630.0)])
    assert 72.0 < found.hidden < 110.0
    assert found.why_not != ""


def test_a_move_that_goes_on_through_the_next_step_hides_none() -> None:
    """10 to 60 % in 25 s, sent on from 40 to 60 % meanwhile."""
    made = moved([0, 20, 45, 90], [10, 10, 60, 60], length_s=90.0)
    command = np.select([made.time_s < 20.0, made.time_s < 30.0], [10.0, 40.0], 60.0)
    parts = [Segment("step", 15.0, 30.0), Segment("step", 25.0, 90.0)]
    found = counted(replace(made, command_pct=command), parts)
    assert (found.shown, found.hidden) == (1, pytest.approx(0.0, abs=1e-9))


def test_quick_jumps_between_silent_steps_and_on_ramps_hide_no_start() -> None:
    """Steps of 0.1 % every 4 s, every fifth answered by 0.5 %, then a ramp in jumps of 0.5 %: each start shows."""
    time = np.arange(0.0, 500.0, 0.02)
    command = 50.0 + 0.1 * np.clip(np.floor((time - 60.0) / 4.0), 0.0, 50.0) + np.clip((time - 300.0) / 20.0, 0.0, 8.0)
    answered = np.interp(time, time + 0.8, command)
    travel = 50.0 + 0.5 * np.floor((answered - 50.0) / 0.5 + 1e-9)
    recording = Recording(time, noisy(command, 0.002), noisy(travel, 0.02))
    found = reduce_recording(recording, float).counted_starts
    assert found.why_not == ""
    assert found.shown == pytest.approx(10 + 16, abs=1)
    assert found.hidden < 5.0
