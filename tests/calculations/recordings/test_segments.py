"""A recording is cut into the tests that are in it, whatever the noise."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.holds import static_readings
from kit.calculations.recordings.levels import Change, command_parts, zigzag
from kit.calculations.recordings.noise import Noise, noise_of
from kit.calculations.recordings.reduce import reduce_recording
from kit.calculations.recordings.segments import channels_of, cut_recording
from tests.calculations.recordings.made import programme, same

WALK = [(0, 70), (25, 20), (50, 20), (75, 20), (100, 20), (50, 20), (0, 20), (100, 30), (0, 30), (50, 20), (60, 15)]


def walked(interval_s: float, noise_pct: float, quantum_pct: float = 0.0) -> Recording:
    time, command = programme([(float(c), float(s)) for c, s in WALK], interval_s=interval_s)
    speed = 10.0
    travel = np.empty_like(command)
    stands = command[0]
    for place, asked in enumerate(command.tolist()):
        stands += float(np.clip(asked - stands, -speed * interval_s, speed * interval_s))
        travel[place] = stands
    generator = np.random.default_rng(3)
    command = command + generator.normal(0.0, noise_pct, time.size)
    travel = travel + generator.normal(0.0, noise_pct, time.size)
    if quantum_pct:
        command, travel = (np.round(each / quantum_pct) * quantum_pct for each in (command, travel))
    return Recording(time, command, travel, position_pct=travel)


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


def test_static_readings_say_from_where_the_command_came() -> None:
    recording = walked(0.1, 0.02)
    channels = channels_of(recording)
    readings = static_readings(recording, cut_recording(recording, same, channels), channels)
    assert [(round(each.command_pct), each.rising, each.cycle) for each in readings] == [
        (0, True, 1),
        (25, True, 1),
        (50, True, 1),
        (75, True, 1),
        (100, True, 1),
        (50, False, 1),
        (0, False, 1),
        (100, True, 2),
        (0, False, 2),
        (50, True, 3),
        (60, True, 3),
    ]
    assert all(abs(each.travel_pct - each.command_pct) < 0.02 for each in readings)


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
    assert static_readings(recording, cut_recording(recording, same, channels), channels) == ()


def test_a_glitch_of_one_sample_is_no_change() -> None:
    time = np.arange(0.0, 40.0, 0.1)
    command = np.full(time.size, 50.0)
    command[200] = 80.0
    parts = command_parts(time, command, noise_of(command, 0.1))
    assert not [part for part in parts if isinstance(part, Change)]


def test_a_creep_of_the_source_is_no_change() -> None:
    time = np.arange(0.0, 120.0, 0.1)
    parts = command_parts(time, 50.0 + 0.001 * time, Noise(0.0, 0.0))
    assert not [part for part in parts if isinstance(part, Change)]


def test_zigzag_finds_the_turns_of_a_triangle() -> None:
    values = np.concatenate((np.arange(0.0, 10.0), np.arange(10.0, 0.0, -1.0), np.arange(0.0, 5.0)))
    assert zigzag(values, 2.0).tolist() == [10, 20]


@pytest.mark.parametrize(
    "recording",
    [
        Recording(np.empty(0), np.empty(0), np.empty(0)),
        Recording(np.array([0.0, 1.0]), np.array([10.0, 20.0]), np.array([10.0, 20.0])),
        Recording(np.arange(50.0), np.full(50, np.nan), np.full(50, np.nan)),
        Recording(np.arange(500.0), np.full(500, 30.0), np.full(500, 30.0), position_pct=np.full(500, 30.0)),
        Recording(np.arange(500.0), np.full(500, 30.0), np.full(500, np.nan)),
        Recording(np.arange(200.0) ** 1.01, np.linspace(0, 100, 200), np.linspace(0, 100, 200)),
    ],
    ids=["empty", "two rows", "all lost", "constant", "no travel", "one ramp"],
)
def test_an_awkward_recording_gives_reasons_and_no_crash(recording: Recording) -> None:
    found = reduce_recording(recording, same)
    assert found.steps == ()
    assert found.strokes == ()
    assert found.starts.value is None or found.starts.value >= 0.0
    assert all(each.kind == "at_rest" for each in found.rests)


def test_noise_of_a_normal_channel_is_its_standard_deviation() -> None:
    values = np.random.default_rng(1).normal(0.0, 0.05, 20_000)
    assert noise_of(values, 0.01).deviation == pytest.approx(0.05, rel=0.03)


def test_noise_of_a_coarse_recorder_is_not_less_than_its_step_allows() -> None:
    values = np.round(np.random.default_rng(1).normal(0.0, 0.03, 5000) / 0.1) * 0.1
    found = noise_of(values, 0.01)
    assert found.flickers
    assert found.quantum == pytest.approx(0.1)
    assert found.deviation >= 0.1 / 12**0.5
