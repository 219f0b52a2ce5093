"""Levels and changes of a command."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import DataObject, booleans, floats, integers, lists, sampled_from
from hypothesis.strategies import data as hypothesis_data

from kit.calculations.recordings.levels import Change, Level, Part, command_parts
from kit.calculations.recordings.noise import Noise, noise_of
from tests.calculations.recordings.made import noisy, programme

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


def test_a_step_that_overshoots_its_levels_is_an_excursion() -> None:
    """By a quarter of the step; by a tenth it is one."""
    time = np.arange(0.0, 40.0, 0.1)
    far, near = (np.interp(time, [0, 20, 20.3, 20.6, 40], [0, 0, top, 20, 20]) for top in (25.0, 22.0))
    assert told(parts_of(time, far)) == ["level", "excursion", "level"]
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


@pytest.mark.parametrize("interval_s", [0.01, 0.02, 0.1, 0.5, 1.0])
@pytest.mark.parametrize("back_pct", [50.0, 50.02, 50.1])
@pytest.mark.parametrize("lasts_s", [0.1, 0.15, 0.3, 1.0, 1.9])
def test_an_excursion_is_erased_by_what_it_lasts_and_never_a_step(
    interval_s: float, back_pct: float, lasts_s: float
) -> None:
    """0.2 s or one sample moves no valve; a second at 2 Hz does, and 80 % and back is no step from 50 to 50 %."""
    time = np.arange(0.0, 40.0, interval_s)
    samples = max(round(lasts_s / interval_s), 1)
    command = np.where(time < 20.0, 50.0, back_pct)
    start = int(np.searchsorted(time, 20.0))
    command[start : start + samples] = 80.0
    found = told(parts_of(time, command))
    if samples > 1 and samples * interval_s > 0.2:
        assert found == ["level", "excursion", "level"]
    else:
        assert "excursion" in found if back_pct == 50.1 else found == ["level"]


def test_blinks_do_not_move_the_height_of_a_level() -> None:
    """Two, of 0.15 s each: the second would else lie between levels 0.1 % apart."""
    time = np.arange(0.0, 40.0, 0.05)
    command = noisy(np.full(time.size, 50.0), 0.005)
    command[200:203], command[500:503] = 80.0, 80.0
    (level,) = parts_of(time, command)
    assert isinstance(level, Level)
    assert level.command_pct == pytest.approx(50.0, abs=0.001)


@pytest.mark.parametrize("interval_s", [0.02, 0.1, 0.5, 1.0])
@pytest.mark.parametrize(("noise_pct", "step_pct"), [(0.0, 100.0 / 4095), (0.02, 100.0 / 4095), (0.02, 0.0)])
def test_the_holds_at_both_ends_of_a_ramp_that_comes_back_are_kept(
    interval_s: float, noise_pct: float, step_pct: float
) -> None:
    time = np.arange(0.0, 160.0, interval_s)
    command = noisy(np.interp(time, [0, 20, 60, 100, 160], [50, 50, 60, 50, 50]), noise_pct)
    command = np.round(command / step_pct) * step_pct if step_pct else command
    parts = parts_of(time, command)
    assert told(parts) == ["level", "ramp_up", "ramp_down", "level"]
    assert [round(each.command_pct) for each in parts if isinstance(each, Level)] == [50, 50]


@pytest.mark.parametrize("interval_s", [0.02, 0.1, 0.5])
@pytest.mark.parametrize(("by_pct", "every_s"), [(0.5, 1.4), (2.0, 1.4), (5.0, 1.5)])
@pytest.mark.parametrize("noise_pct", [0.0, 0.02])
def test_small_steps_in_quick_succession_are_no_ramp(
    interval_s: float, by_pct: float, every_s: float, noise_pct: float
) -> None:
    jogs = [(50.0 + by_pct * number, every_s) for number in range(1, 9)]
    time, command = programme(
        [(50.0, 20.0), *jogs, (50.0 + 9.0 * by_pct, 20.0)], interval_s=interval_s, noise_pct=noise_pct
    )
    assert told(parts_of(time, command)) == ["level", "jogs", "level"]


@pytest.mark.parametrize("rate_pct_s", [0.05, 0.2, 1.0, 5.0])
@pytest.mark.parametrize("interval_s", [0.02, 0.1, 0.5])
@pytest.mark.parametrize("step_pct", [0.0, 100.0 / 4095])
def test_a_ramp_is_not_jogged(rate_pct_s: float, interval_s: float, step_pct: float) -> None:
    time = np.arange(0.0, 40.0 + 20.0 / rate_pct_s, interval_s)
    command = 40.0 + np.clip((time - 20.0) * rate_pct_s, 0.0, 20.0)
    command = np.round(command / step_pct) * step_pct if step_pct else command
    assert told(parts_of(time, command)) == ["level", "ramp_up", "level"]


@pytest.mark.parametrize(("by_pct", "every_s"), [(0.1, 4.0), (0.25, 6.0), (2.0, 7.0), (0.25, 3.0)])
@pytest.mark.parametrize("interval_s", [0.02, 0.1, 0.5])
def test_a_slow_staircase_is_its_steps(by_pct: float, every_s: float, interval_s: float) -> None:
    stairs = [(50.0 + by_pct * number, every_s) for number in range(1, 21)]
    time, command = programme([(50.0, 20.0), *stairs, (50.0 + 21 * by_pct, 20.0)], interval_s=interval_s)
    found = told(parts_of(time, noisy(command, 0.005)))
    assert found == ["level", *["step", "level"] * 21]


@pytest.mark.parametrize(("memory", "moves_pct"), [(0.9, 3.0), (0.98, 1.0)])
@pytest.mark.parametrize("start_number", range(5))
def test_a_command_that_moves_all_the_time_rests_nowhere_and_ramps_nowhere(
    memory: float, moves_pct: float, start_number: int
) -> None:
    """In service: each second it is a share of what it was, and something new."""
    new = np.random.default_rng(start_number).normal(0.0, moves_pct, 3600)
    command = np.empty(3600)
    stands = 0.0
    for place, each in enumerate(new.tolist()):
        stands = memory * stands + each
        command[place] = 60.0 + stands
    assert set(told(parts_of(np.arange(3600.0), command))) == {"unclear"}


@settings(max_examples=60, deadline=None)
@given(data=hypothesis_data(), rate_hz=sampled_from([1.0, 2.0, 5.0, 10.0, 25.0, 100.0]), noise_pct=floats(0.0, 0.03))
def test_any_mix_of_holds_steps_jogs_and_pauses_is_recovered_level_by_level(
    data: DataObject, rate_hz: float, noise_pct: float
) -> None:
    """Levels of 3 to 60 s and pauses of ten minutes, apart by 0.5 % and more; 12-bit codes written with 3 decimals.

    Quick jogs between two levels add none, as long as the recorder has three samples in each.
    """
    interval_s = 1.0 / rate_hz
    least_s = max(3.0, 3.5 * interval_s)
    parts: list[tuple[float, float]] = [(data.draw(floats(20, 80)), 10.0)]
    levels = [parts[0][0]]
    for _ in range(data.draw(integers(1, 8))):
        heading = -1.0 if parts[-1][0] > 50.0 else 1.0
        if rate_hz >= 5.0 and data.draw(booleans()):
            by_pct = heading * data.draw(floats(0.5, 2.0))
            parts += [(parts[-1][0] + by_pct * number, 1.0) for number in range(1, 5)]
        height = parts[-1][0] + heading * data.draw(floats(0.5, 45.0))
        long_s = 600.0 if rate_hz <= 5.0 and data.draw(integers(0, 9)) == 0 else data.draw(floats(least_s, 60.0))
        parts.append((height, long_s))
        levels.append(height)
    time, command = programme(parts, interval_s=interval_s, noise_pct=noise_pct, start_number=1)
    command = np.round(np.round(command / (100.0 / 4095)) * (100.0 / 4095), 3)
    found = [each for each in parts_of(time, command) if isinstance(each, Level)]
    assert [each.command_pct for each in found] == pytest.approx(levels, abs=0.02 + 2.0 * noise_pct)


def test_fewer_than_three_samples_have_no_parts() -> None:
    assert command_parts(np.arange(2.0), np.zeros(2), CLEAN) == []


@pytest.mark.parametrize("rate_hz", [5.0, 10.0, 50.0])
@pytest.mark.parametrize("slow", [Noise(0.02, 0.0, wander=0.05), Noise(0.02, 0.0, hum=0.15, hum_period_s=50.0)])
def test_no_wander_or_slow_hum_hides_a_clear_step(rate_hz: float, slow: Noise) -> None:
    """0.2 % every 6 s in noise of 0.02 %, whatever else the command does at other times."""
    time = np.arange(0.0, 180.0, 1.0 / rate_hz)
    command = noisy(50.0 + 0.2 * np.floor(time / 6.0), 0.02)
    assert told(command_parts(time, command, slow)) == ["level", *["step", "level"] * 29]


def test_a_slow_beat_alone_has_no_steps() -> None:
    time = np.arange(0.0, 600.0, 0.1)
    command = noisy(50.0 + 0.15 * np.sin(2.0 * np.pi * time / 50.0), 0.02)
    assert told(command_parts(time, command, Noise(0.02, 0.0, hum=0.15, hum_period_s=50.0))) == ["level"]


def test_a_step_whose_level_crept_before_it_is_a_step() -> None:
    """25 %, and as under hum 0.08 and 0.16 % more for 1.8 s each, which are no levels; then 50 %."""
    time = np.arange(0.0, 40.0, 0.05)
    command = np.select([time < 16.4, time < 18.2, time < 20.0], [25.0, 25.08, 25.16], 50.0)
    parts = command_parts(time, noisy(command, 0.004), Noise(0.004, 0.0))
    (change,) = [each for each in parts if isinstance(each, Change)]
    assert (change.kind, round(change.from_s, 2), round(change.to_s, 2)) == ("step", 19.95, 20.0)
    assert change.half_way_s == pytest.approx(20.0, abs=0.05)
