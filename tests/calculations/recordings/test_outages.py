"""Losses of signal and supply, by cause: the bounds from both sides."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.outages import outages_of, supply_lost
from kit.calculations.recordings.segments import cut_recording, stretches_of
from tests.calculations.recordings.made import Array, resting, same, with_supply_lost

UNKNOWN = ("signal_open", "signal_short", "both_off")


def places(recording: Recording) -> list[tuple[int, int]]:
    return [(each.first, each.last) for each in outages_of(recording)]


@pytest.mark.parametrize(("first", "last", "lost"), [(200, 200, False), (200, 201, False), (200, 202, True)])
def test_a_loss_lasts_two_tenths_of_a_second(first: int, last: int, lost: bool) -> None:
    marks = np.zeros(400, dtype=bool)
    marks[first : last + 1] = True
    recording = replace(resting(np.full(400, 50.0), 0.1), signal_lost=marks)
    assert places(recording) == ([(first, last)] if lost else [])


@pytest.mark.parametrize(("between", "count"), [(9, 1), (12, 2)])
def test_losses_less_than_a_second_apart_are_one(between: int, count: int) -> None:
    marks = np.zeros(400, dtype=bool)
    marks[100:120] = True
    marks[119 + between : 160] = True
    recording = replace(resting(np.full(400, 50.0), 0.1), signal_lost=marks)
    found = outages_of(recording)
    assert len(found) == count
    assert (found[0].from_place, found[-1].to_place) == (100, 159)


def test_a_recording_without_marks_has_no_loss() -> None:
    recording = resting(np.full(400, 50.0), 0.1)
    assert outages_of(recording) == []
    assert outages_of(replace(recording, signal_lost=np.zeros(400, dtype=bool))) == []
    assert stretches_of(recording) == [(0, 399)]


def test_a_contact_that_bounces_before_a_loss_makes_its_begin_uncertain() -> None:
    """0.3 s off, 0.5 s on, and then off for 5 s: the loss is the long one, 0.8 s sooner at the soonest."""
    marks = np.zeros(400, dtype=bool)
    marks[100:104] = marks[109:160] = marks[165:168] = True
    (found,) = outages_of(replace(resting(np.full(400, 50.0), 0.1), signal_lost=marks))
    assert (found.from_place, found.first, found.last, found.to_place) == (100, 109, 159, 167)
    assert found.unsure_s == pytest.approx(0.9)


def lost(command_pct: Any, supply_v: Any = None) -> Recording:
    """Without signal from 20 to 40 s."""
    time = 0.1 * np.arange(600)
    without = (time >= 20.0) & (time < 40.0)
    command = np.where(without, command_pct, 50.0)
    return Recording(time, command, np.full(600, 50.0), signal_lost=without, supply_v=supply_v)


ON = np.full(600, 24.0)
OFF = np.where((0.1 * np.arange(600) >= 20.0) & (0.1 * np.arange(600) < 40.0), 0.0, 24.0)


@pytest.mark.parametrize(
    ("command_pct", "supply_v", "causes"),
    [
        (-25.0, ON, ("signal_open", "signal_short")),
        (-25.0, None, UNKNOWN),
        (-25.0, np.full(600, np.nan), UNKNOWN),
        (110.0, ON, ("signal_short",)),
        (110.0, None, ("signal_short",)),
        (-25.0, OFF, ("both_off",)),
    ],
)
def test_what_was_taken_away_shows_in_command_and_supply(
    command_pct: float, supply_v: Array | None, causes: tuple[str, ...]
) -> None:
    (found,) = outages_of(lost(command_pct, supply_v))
    assert (found.causes, found.is_blank) == (causes, False)


def test_a_command_that_is_blank_shows_nothing() -> None:
    (found,) = outages_of(lost(np.nan, ON))
    assert found.is_blank


@pytest.mark.parametrize("off_v", [0.0, 6.0, 12.0, 18.0])
def test_a_supply_that_goes_while_the_command_stays_is_a_loss_of_supply(off_v: float) -> None:
    """12 V are what a back-feed leaves of 24; 18 V are low, and no motor's sag, for the valve rests."""
    (found,) = outages_of(with_supply_lost(off_v))
    assert (found.causes, found.of_supply, found.of_signal) == (("supply_off",), True, False)
    assert (found.first, found.last) == (300, 599)
    parts = cut_recording(with_supply_lost(off_v), same)
    assert [each.what for each in parts] == ["hold", "supply_lost", "supply_restored", "hold"]
    assert stretches_of(with_supply_lost(off_v)) == [(0, 299), (600, 899)]


def test_without_a_command_the_signal_may_have_gone_with_the_supply() -> None:
    made = with_supply_lost()
    (found,) = outages_of(replace(made, command_pct=np.full(len(made), np.nan)))
    assert (found.causes, found.of_signal) == (("supply_off", "both_off"), False)


def test_a_supply_that_a_running_motor_sags_has_not_gone() -> None:
    """A stroke of 100 s with a sag of 30 %: the valve never rests meanwhile."""
    time = 0.1 * np.arange(2000)
    travel = np.interp(time, [20.0, 120.0], [0.0, 100.0])
    sags = np.where((time >= 20.0) & (time < 120.0), 16.8, 24.0)
    running = Recording(time, np.where(time < 20.0, 0.0, 100.0), travel, supply_v=sags)
    assert not supply_lost(running).any()
    stalled = replace(running, travel_pct=np.minimum(travel, 90.0))
    assert supply_lost(stalled).any()


def test_a_supply_that_decays_is_lost_from_where_it_is_low() -> None:
    """24 V exp(-t / 2 s): 0.85 after 0.33 s, half after 1.39 s."""
    time = 0.1 * np.arange(600)
    supply = np.where(time < 30.0, 24.0, 24.0 * np.exp(-np.maximum(time - 30.0, 0.0) / 2.0))
    recording = replace(resting(np.full(600, 50.0), 0.1), supply_v=supply)
    (found,) = outages_of(recording)
    assert recording.time_s[found.first] == pytest.approx(30.4)
    assert found.unsure_s == pytest.approx(1.0, abs=0.11)


@pytest.mark.parametrize(("tau_s", "sinks"), [(1.0, True), (0.01, False)])
def test_a_signal_that_sinks_is_lost_where_it_crosses_its_failure_level(tau_s: float, sinks: bool) -> None:
    """From 50 % towards -25 %: -2.5 % after 1.2 time constants."""
    time = 0.1 * np.arange(900)
    command = np.where(time < 30.0, 50.0, -25.0 + 75.0 * np.exp(-np.maximum(time - 30.0, 0.0) / tau_s))
    recording = Recording(time, command, np.full(900, 50.0), signal_lost=command <= -2.5, supply_v=np.full(900, 24.0))
    (found,) = outages_of(recording)
    assert found.unsure_s == pytest.approx(1.2 if sinks else 0.0, abs=0.21)
    assert recording.time_s[found.from_place] == pytest.approx(30.0, abs=0.11)
    assert stretches_of(recording) == [(0, found.from_place - 1)]


def test_a_ramp_before_a_loss_is_no_sinking_signal() -> None:
    time = 0.1 * np.arange(900)
    command = np.interp(time, [10.0, 30.0], [90.0, 10.0])
    marks = time >= 30.0
    recording = Recording(time, np.where(marks, -25.0, command), command, signal_lost=marks)
    (found,) = outages_of(recording)
    assert (found.from_place, found.unsure_s) == (300, 0.0)


def test_no_supply_at_all_is_no_loss_of_it() -> None:
    recording = resting(np.full(100, 50.0), 0.1)
    for supply in (np.full(100, np.nan), np.zeros(100), np.full(100, 24.0)):
        assert not supply_lost(replace(recording, supply_v=supply)).any()
