"""Supply voltage while the motor runs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, floats, integers

from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.supply import running_supply
from tests.calculations.recordings.made import later, mirrored, moved, noisy, stroked


def supply_of(recording: Recording) -> tuple[Quantity, Quantity]:
    return running_supply(recording, motion_of(recording, channels_of(recording).travel))


def running(idle_v: float, running_v: float, noise_v: float = 0.0) -> Recording:
    """Two runs of 10 s, in which the supply is lower."""
    made = moved([0, 20, 30, 50, 60, 90], [10, 10, 60, 60, 10, 10], length_s=90.0)
    on = (np.abs(made.time_s - 25.0) <= 5.0) | (np.abs(made.time_s - 55.0) <= 5.0)
    volts = np.where(on, running_v, idle_v)
    return replace(made, supply_v=noisy(volts, noise_v) if noise_v else volts)


def test_the_supply_falls_while_the_motor_runs() -> None:
    recording = stroked()
    running, dip = running_supply(recording, motion_of(recording, channels_of(recording).travel))
    assert running.value == pytest.approx(225.0)
    assert dip.value == pytest.approx(100.0 * 6.0 / 231.0)


@settings(max_examples=30)
@given(
    idle_v=floats(20, 400), dip=floats(-0.05, 0.3), by_s=integers(0, 10**6), mirrors=booleans(), times=floats(0.5, 2)
)
def test_a_dip_is_what_it_was_made_with_and_knows_no_scale(
    idle_v: float, dip: float, by_s: int, mirrors: bool, times: float
) -> None:
    made = running(idle_v, idle_v * (1.0 - dip))
    other = later(mirrored(made) if mirrors else made, by_s)
    on, fall = supply_of(replace(other, supply_v=times * other.supply_v))
    assert on.value == pytest.approx(times * idle_v * (1.0 - dip))
    assert fall.value == pytest.approx(100.0 * dip, abs=1e-6)
    assert fall.beside == {
        "idle_v": pytest.approx(times * idle_v),
        "running_v": pytest.approx(times * idle_v * (1.0 - dip)),
    }


def test_a_dip_by_hand() -> None:
    """230 V idle, 207 V running: 10 % of idle.

    d(dip)/d(idle) = 100 x 207 / 230 squared, d(dip)/d(running) = -100 / 230.
    """
    on, dip = supply_of(running(230.0, 207.0))
    assert on.value == pytest.approx(207.0)
    assert dip.value == pytest.approx(10.0)
    assert on.relies_on == (Reliance("supply", pytest.approx(207.0), 1.0),)
    assert dip.relies_on == (
        Reliance("supply", pytest.approx(230.0), pytest.approx(100.0 * 207.0 / 230.0**2), 0),
        Reliance("supply", pytest.approx(207.0), pytest.approx(-100.0 / 230.0), 1),
    )


def test_noise_goes_into_both_by_their_own_samples() -> None:
    """Of the samples, each mean takes 1.25 times its noise over the root of their number."""
    made = running(230.0, 207.0, 0.5)
    on, dip = supply_of(made)
    assert abs(on.value - 207.0) < 4.0 * on.standard_uncertainty
    assert abs(dip.value - 10.0) < 4.0 * dip.standard_uncertainty
    runs = 2 * round((10.0 - 2 * 0.3) / 0.1)
    assert on.standard_uncertainty == pytest.approx(1.25 * 0.5 / runs**0.5, rel=0.15)
    assert (on.components[0].name, on.components[0].unit) == ("noise, running supply", "V")
    assert (dip.components[0].name, dip.components[0].unit) == ("noise, running and idle supply", "% of idle")
    idle = 900 - 2 * round((10.0 + 2 * 0.7) / 0.1)
    expected = (
        (100.0 / 230.0 * on.standard_uncertainty) ** 2 + (100.0 * 207.0 / 230.0**2 * 1.25 * 0.5 / idle**0.5) ** 2
    ) ** 0.5
    assert dip.standard_uncertainty == pytest.approx(expected, rel=0.1)


def test_the_middle_four_fifths_count() -> None:
    """One sample in twenty of either is wild."""
    made = running(230.0, 207.0)
    wild = made.supply_v.copy()
    wild[::20] += 500.0
    on, dip = supply_of(replace(made, supply_v=wild))
    assert on.value == pytest.approx(207.0)
    assert dip.value == pytest.approx(10.0)


def test_starts_and_ends_of_a_run_do_not_count() -> None:
    """Within 0.3 s of either the motor may not run yet, or coast; within 0.6 s outside the supply comes back."""
    made = running(230.0, 207.0)
    near = np.min([np.abs(made.time_s - edge) for edge in (20.0, 30.0, 50.0, 60.0)], axis=0) < 0.25
    outside = (np.abs(made.time_s - 40.0) > 20.35) | (np.abs(made.time_s - 40.0) < 9.65)
    late = np.min([np.abs(made.time_s - edge) for edge in (20.0, 30.0, 50.0, 60.0)], axis=0) < 0.55
    wild = np.where(near | (late & outside), 500.0, made.supply_v)
    on, dip = supply_of(replace(made, supply_v=wild))
    assert on.value == pytest.approx(207.0)
    assert dip.value == pytest.approx(10.0)


def test_only_runs_half_as_long_as_the_longest_count() -> None:
    made = moved([0, 20, 30, 50, 52, 90], [10, 10, 60, 60, 70, 70], length_s=90.0)
    volts = np.select([np.abs(made.time_s - 25.0) <= 5.0, np.abs(made.time_s - 51.0) <= 1.0], [207.0, 150.0], 230.0)
    assert supply_of(replace(made, supply_v=volts))[0].value == pytest.approx(207.0)
    half = moved([0, 20, 30, 50, 56, 90], [10, 10, 60, 60, 90, 90], length_s=90.0)
    volts = np.select([np.abs(half.time_s - 25.0) <= 5.0, np.abs(half.time_s - 53.0) <= 3.0], [207.0, 150.0], 230.0)
    assert 180.0 < supply_of(replace(half, supply_v=volts))[0].value < 200.0


def test_without_a_column_without_motion_or_without_volts_there_is_a_reason() -> None:
    made = running(230.0, 207.0)
    for volts in (None, np.full(len(made), np.nan)):
        assert {each.why_not for each in supply_of(replace(made, supply_v=volts))} == {"the supply was not recorded"}
    still = replace(made, travel_pct=np.full(len(made), 10.0))
    assert {each.why_not for each in supply_of(still)} == {"the supply was not recorded both at rest and in motion"}
    assert supply_of(running(0.9, 0.81))[1].value == pytest.approx(10.0)
    dead = replace(made, supply_v=np.zeros(len(made)))
    assert {each.why_not for each in supply_of(dead)} == {"the idle supply is not above 0 V"}


@pytest.mark.parametrize(("count", "told"), [(4, False), (5, True)])
def test_five_samples_of_motion_are_enough(count: int, told: bool) -> None:
    made = running(230.0, 207.0)
    known = np.flatnonzero(np.abs(made.time_s - 25.0) < 3.0)[:count]
    volts = np.where(np.abs(made.time_s - 40.0) <= 21.0, np.nan, made.supply_v)
    volts[known] = 207.0
    on, _ = supply_of(replace(made, supply_v=volts))
    assert (on.value == pytest.approx(207.0)) is told


@pytest.mark.parametrize("off_v", [0.0, 60.0, 115.0])
def test_seconds_without_supply_are_neither_idle_nor_running(off_v: float) -> None:
    """Lost from 65 to 80 s: read as idle, 115 V made the dip negative."""
    made = running(230.0, 207.0)
    lost = (made.time_s >= 65.0) & (made.time_s < 80.0)
    returns = (made.time_s >= 80.0) & (made.time_s < 81.5)
    volts = np.select([lost, returns], [off_v, 218.0], made.supply_v)
    assert supply_of(replace(made, supply_v=volts))[1].value == pytest.approx(10.0)


def test_a_motor_in_pulses_runs_where_the_supply_is_low() -> None:
    """On for four tenths of the time in motion: the middle of all of it would be a dip of 4 %."""
    made = running(230.0, 207.0)
    pulses = (np.arange(len(made)) % 10 < 4) & (made.supply_v < 220.0)
    noise_v = np.random.default_rng(4).normal(0.0, 0.3, len(made))
    dip = supply_of(replace(made, supply_v=np.where(pulses, 207.0, 230.0) + noise_v))[1]
    assert dip.value == pytest.approx(10.0, abs=0.1)


def test_runs_that_differ_leave_the_dip_open_by_as_much() -> None:
    """Four runs at 200, 205, 210 and 215 V: their scatter is 6.5 V, that of their mean half of it."""
    starts = [20.0, 50.0, 80.0, 110.0]
    times = [each for start in starts for each in (start, start + 10.0)]
    made = moved([0.0, *times, 150.0], [10.0, 10.0, *[60.0, 60.0, 10.0, 10.0] * 2][:10], length_s=150.0)
    volts = np.full(len(made), 230.0)
    for start, on_v in zip(starts, (200.0, 205.0, 210.0, 215.0), strict=True):
        volts[(made.time_s >= start) & (made.time_s <= start + 10.0)] = on_v
    on, dip = supply_of(replace(made, supply_v=volts))
    assert on.standard_uncertainty == pytest.approx(6.45 / 2.0, rel=0.05)
    assert dip.standard_uncertainty == pytest.approx(100.0 / 230.0 * 6.45 / 2.0, rel=0.05)


def test_a_motor_that_runs_in_part_of_the_motion_or_creeps_at_rest_lowers_no_dip() -> None:
    """10 %; it runs for 3 s of each 10 s in motion, then for 7 s and an eighth of each rest, in which nothing shows."""
    made = running(23.0, 23.0, 0.4)
    part = (made.time_s % 1.0) < 0.3
    moves = (np.abs(made.time_s - 25.0) <= 5.0) | (np.abs(made.time_s - 55.0) <= 5.0)
    creeps = ~moves & ((made.time_s % 8.0) < 1.0)
    for on in (moves & part, (moves & ((made.time_s % 1.0) < 0.7)) | creeps):
        dip = supply_of(replace(made, supply_v=made.supply_v - 2.3 * on))[1]
        assert abs(dip.value - 10.0) <= 2.0 * dip.standard_uncertainty < 6.0
        assert dip.value > 8.0


def test_a_motor_that_hardly_runs_in_the_motion_tells_no_dip() -> None:
    """In one sample of forty: their mean is within noise, their scatter is not."""
    made = running(230.0, 230.0, 0.5)
    moves = (np.abs(made.time_s - 25.0) <= 5.0) | (np.abs(made.time_s - 55.0) <= 5.0)
    rare = moves & (np.arange(made.time_s.size) % 40 == 3)
    on, dip = supply_of(replace(made, supply_v=made.supply_v - 2.5 * rare))
    assert (on.value, dip.value) == (None, None)
    assert "record faster" in dip.why_not
