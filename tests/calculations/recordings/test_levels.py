"""Levels and changes of a command."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import floats, integers, lists, sampled_from

from kit.calculations.recordings.levels import Change, Level, Part, command_parts, zigzag
from kit.calculations.recordings.noise import Noise, noise_of
from tests.calculations.recordings.made import programme

CLEAN = Noise(0.0, 0.0)


def parts_of(time: np.ndarray, command: np.ndarray) -> list[Part]:
    return command_parts(time, command, noise_of(command, float(time[1] - time[0])))


def told(parts: list[Part]) -> list[str]:
    return ["level" if isinstance(part, Level) else part.kind for part in parts]


@settings(max_examples=40)
@given(
    steps=lists(floats(1, 60), min_size=1, max_size=5),
    interval_s=sampled_from([0.05, 0.1, 0.5]),
    by_s=floats(0, 1e4),
    mirrors=integers(0, 1),
    noise_pct=sampled_from([0.0, 0.02]),
)
def test_a_programme_of_levels_gives_back_its_levels(
    steps: list[float], interval_s: float, by_s: float, mirrors: int, noise_pct: float
) -> None:
    """Each level of 15 s at its command, and each step half way between two samples."""
    heights = np.cumsum([10.0, *(step if number % 2 else -step for number, step in enumerate(steps))])
    time, command = programme(
        [(float(each), 15.0) for each in heights], interval_s=interval_s, noise_pct=noise_pct, start_number=3
    )
    command = 100.0 - command if mirrors else command
    heights = 100.0 - heights if mirrors else heights
    parts = parts_of(time + by_s, command)
    assert told(parts) == ["level", *["step", "level"] * len(steps)]
    for number, part in enumerate(parts[::2]):
        assert isinstance(part, Level)
        assert part.command_pct == pytest.approx(heights[number], abs=0.02 if noise_pct else 1e-9)
        assert part.duration_s == pytest.approx(15.0, abs=1.01 * interval_s)
        assert part.to_s - part.from_s == part.duration_s
        assert (part.from_s, part.to_s) == (time[part.first] + by_s, time[part.last] + by_s)
    for number, part in enumerate(parts[1::2]):
        assert isinstance(part, Change)
        assert part.half_way_s == pytest.approx(by_s + 15.0 * (number + 1) - interval_s / 2, abs=1e-6)
        assert part.half_width_s == pytest.approx(interval_s / 2)
        assert part.change_pct == pytest.approx(heights[number + 1] - heights[number], abs=0.04 if noise_pct else 1e-9)


@pytest.mark.parametrize("heading", [1.0, -1.0])
@pytest.mark.parametrize(("took_s", "kind"), [(2.8, "step"), (3.2, "ramp")])
def test_a_change_of_three_seconds_is_a_step_and_a_longer_one_a_ramp(heading: float, took_s: float, kind: str) -> None:
    time = np.arange(0.0, 60.0, 0.1)
    command = 50.0 + heading * np.interp(time, [0, 20, 20 + took_s, 60], [0, 0, 20, 20])
    wanted = kind if kind == "step" else "ramp_up" if heading > 0 else "ramp_down"
    parts = parts_of(time, command)
    assert told(parts) == ["level", wanted, "level"]
    change = parts[1]
    assert isinstance(change, Change)
    assert (change.from_pct, change.to_pct) == pytest.approx((50.0, 50.0 + 20.0 * heading))
    assert change.half_way_s == pytest.approx(20.0 + took_s / 2, abs=0.051)
    assert change.half_width_s == pytest.approx(took_s / 2, abs=0.11)
    assert (change.from_s, change.to_s) == pytest.approx((20.0, 20.0 + took_s), abs=0.11)


@pytest.mark.parametrize("noise_pct", [0.0, 0.03])
def test_a_triangle_is_two_ramps(noise_pct: float) -> None:
    time = np.arange(0.0, 140.0, 0.1)
    command = np.interp(time, [0, 20, 60, 110, 140], [40, 40, 60, 35, 35])
    command = command + np.random.default_rng(1).normal(0.0, noise_pct, time.size) if noise_pct else command
    parts = parts_of(time, command)
    assert told(parts) == ["level", "ramp_up", "ramp_down", "level"]
    up, down = parts[1:3]
    assert isinstance(up, Change)
    assert isinstance(down, Change)
    assert up.to_pct == pytest.approx(60.0, abs=0.3)
    assert (up.from_s, up.to_s, down.to_s) == pytest.approx((20.0, 60.0, 110.0), abs=1.0)


def test_a_rise_of_less_than_a_percent_is_no_ramp() -> None:
    time = np.arange(0.0, 60.0, 0.1)
    small, great = (np.interp(time, [0, 20, 26, 60], [50, 50, 50 + rise, 50 + rise]) for rise in (0.9, 1.1))
    assert told(parts_of(time, small)) == ["level", "unclear", "level"]
    assert told(parts_of(time, great)) == ["level", "ramp_up", "level"]


@pytest.mark.parametrize(("held_s", "levels"), [(1.6, 2), (2.3, 3)])
def test_a_level_lasts_two_seconds(held_s: float, levels: int) -> None:
    time, command = programme([(20.0, 10.0), (50.0, held_s), (80.0, 10.0)])
    assert told(parts_of(time, command)).count("level") == levels


def test_a_step_that_overshoots_its_levels_is_unclear() -> None:
    """By a quarter of the step; by a tenth it is one."""
    time = np.arange(0.0, 40.0, 0.1)
    far, near = (np.interp(time, [0, 20, 20.3, 20.6, 40], [0, 0, top, 20, 20]) for top in (25.0, 22.0))
    assert told(parts_of(time, far)) == ["level", "unclear", "level"]
    assert told(parts_of(time, near)) == ["level", "step", "level"]


def test_a_step_with_a_sample_on_its_way_lies_where_it_passes_its_half() -> None:
    """From 0 to 10 with 8 between: 5 is passed 5 / 8 of an interval after the last sample at 0."""
    time = np.arange(0.0, 40.0, 0.1)
    command = np.where(time < 20.05, 0.0, 10.0)
    command[201] = 8.0
    (change,) = [part for part in parts_of(time, command) if isinstance(part, Change)]
    assert change.half_way_s == pytest.approx(20.0 + 0.0625)
    assert change.half_width_s == pytest.approx(0.05)


@pytest.mark.parametrize("amount_pct", [0.15, 0.25])
def test_a_creep_below_a_fifth_of_a_percent_is_no_change(amount_pct: float) -> None:
    time = np.arange(0.0, 120.0, 0.1)
    command = np.interp(time, [0, 40, 60, 120], [50, 50, 50 + amount_pct, 50 + amount_pct])
    assert (len(parts_of(time, command)) == 1) is (amount_pct < 0.2)


def test_a_short_excursion_that_comes_back_is_no_change() -> None:
    time = np.arange(0.0, 40.0, 0.1)
    short, long = np.full(time.size, 50.0), np.full(time.size, 50.0)
    short[200:203], long[200:206] = 80.0, 80.0
    long[206:] = 50.1
    assert told(parts_of(time, short)) == ["level"]
    assert told(parts_of(time, long)) == ["level", "unclear", "level"]


def test_fewer_than_three_samples_have_no_parts() -> None:
    assert command_parts(np.arange(2.0), np.zeros(2), CLEAN) == []


@given(values=lists(floats(-50, 50), min_size=1, max_size=60), least=floats(0.1, 20))
def test_a_zigzag_turns_by_more_than_its_least_and_by_turns_up_and_down(values: list[float], least: float) -> None:
    series = np.array(values)
    turns = zigzag(series, least)
    assert (np.diff(turns) > 0).all()
    swings = np.diff(series[turns])
    assert (np.abs(swings) > least).all()
    assert (swings[1:] * swings[:-1] < 0.0).all()
    assert zigzag(-series, least).tolist() == turns.tolist()


def test_a_zigzag_of_a_triangle_turns_at_its_corners() -> None:
    """Down first: the first turn is a trough; a way back of just the least is none."""
    assert zigzag(np.array([5.0, 1.0, 3.0, 0.0, 4.0, 2.0]), 2.0).tolist() == [3]
    assert zigzag(np.array([5.0, 1.0, 3.1, 0.0, 4.0, 1.9]), 2.0).tolist() == [1, 2, 3, 4]
    assert zigzag(np.array([0.0, 2.0, 2.0, 0.0]), 1.0).tolist() == [2]
