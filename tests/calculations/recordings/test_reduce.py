"""A whole recording reduced: each part goes to its calculation, and what is told fits together."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis.strategies import booleans, integers

from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.reduce import Reduction, reduce_recording
from kit.calculations.recordings.smallest import smallest_command
from tests.calculations.recordings.made import (
    constant_speed,
    first_order,
    later,
    lost_signal,
    mirrored,
    programme,
    resting,
    same,
    stepped,
    stroked,
    walked,
    with_play,
)


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


def times_of(found: Reduction) -> list[float]:
    figures = [each.time for each in found.strokes] + [each.t63 for each in found.steps]
    return [each.value for each in figures if each.value is not None]


@settings(max_examples=6)
@given(by_s=integers(0, 10**6), mirrors=booleans())
def test_a_walk_recorded_later_or_the_other_way_round_tells_the_same(by_s: int, mirrors: bool) -> None:
    made = walked(0.25, 0.01)
    one, other = reduce_recording(made, same), reduce_recording(later(mirrored(made) if mirrors else made, by_s), same)
    assert len(one.steps) == 8
    assert [each.opens for each in one.strokes] == [True, False]
    assert [each.opens for each in other.strokes] == ([False, True] if mirrors else [True, False])
    assert times_of(other) == pytest.approx(times_of(one), abs=1e-6)
    assert len(times_of(one)) == 10
    assert len(other.readings) == len(one.readings) == 11
    assert [each.kind for each in other.rests] == [each.kind for each in one.rests]
    assert other.starts.value == pytest.approx(one.starts.value)
    assert other.starts.beside["starts"] == 10.0


@pytest.mark.parametrize(("to_pct", "count"), [(41.9, 0), (42.1, 1)])
def test_steps_of_two_percent_of_travel_are_responses(to_pct: float, count: int) -> None:
    made = stepped(first_order(1.0, 0.2), interval_s=0.1, to_pct=to_pct)
    found = reduce_recording(made, same)
    assert len(found.steps) == count
    reverse = replace(made, command_pct=100.0 - made.command_pct)
    assert len(reduce_recording(reverse, lambda command: 100.0 - command).steps) == count


def test_a_stroke_is_no_step_and_a_step_no_stroke() -> None:
    found = reduce_recording(stroked(), same)
    assert (len(found.strokes), len(found.steps)) == (2, 0)
    found = reduce_recording(stepped(constant_speed(0.2, 4.0), interval_s=0.1), same)
    assert (len(found.strokes), len(found.steps)) == (0, 1)


def test_what_was_recorded_beside_is_told() -> None:
    found = reduce_recording(stroked(), same, feedback_is_raw=True)
    assert [(each.end, each.makes) for each in found.switch_events] == [
        ("closed", False),
        ("open", True),
        ("open", False),
        ("closed", True),
    ]
    assert found.running_supply_v.value == pytest.approx(225.0)
    assert found.supply_dip_pct.value == pytest.approx(100.0 * 6.0 / 231.0)
    assert found.track is not None
    assert found.track.low_margin.value == pytest.approx(-0.3)
    assert reduce_recording(stroked(), same).track.low_margin.value is None
    assert reduce_recording(replace(stroked(), travel_is_feedback=True), same).track is None
    assert found.starts.beside["starts"] == 2.0
    assert found.losses == ()


def test_segments_that_a_person_set_stand() -> None:
    made = stroked()
    mine = (Segment("stroke_open", 5.0, 45.0),)
    found = reduce_recording(made, same, segments=mine)
    assert found.segments == mine
    assert len(found.strokes) == 1
    assert found.readings == ()


def test_small_steps_outside_of_the_segments_that_a_person_set_do_not_count() -> None:
    up = [(50.0 + 0.1 * number, 5.0) for number in range(12)]
    down = [(51.1 - 0.1 * number, 5.0) for number in range(1, 20)]
    time, command = programme([(40.0, 20.0), *up, *down])
    made = Recording(time, command, with_play(command, 0.45))
    whole = reduce_recording(made, same)
    (dead_band,) = [each for each in whole.trials if each.what == "dead_band"]
    around = Segment("hold", dead_band.at_s, dead_band.at_s)
    assert reduce_recording(made, same, segments=(around,)).trials == (dead_band,)
    away = Segment("hold", dead_band.at_s + 0.01, dead_band.at_s + 0.02)
    assert reduce_recording(made, same, segments=(away,)).trials == ()


def test_a_valve_that_hunts_shows_neither_dead_band_nor_resolution() -> None:
    up = [(50.0 + 0.1 * number, 5.0) for number in range(12)]
    time, command = programme([(40.0, 70.0), *up])
    travel = with_play(command, 0.45)
    hunts = travel + np.where(time < 70.0, np.abs((time / 4.0) % 1.0 * 2.0 - 1.0) - 0.5, 0.0)
    assert reduce_recording(Recording(time, command, travel), same).trials != ()
    found = reduce_recording(Recording(time, command, hunts), same)
    assert [each.kind for each in found.rests] == ["hunting"]
    assert found.trials == ()


def test_each_loss_has_the_restoration_that_follows_it() -> None:
    one = lost_signal()
    two = Recording(
        np.concatenate((one.time_s, one.time_s + 90.0)),
        np.concatenate((one.command_pct, one.command_pct)),
        np.concatenate((one.travel_pct, one.travel_pct)),
        signal_lost=np.concatenate((one.signal_lost, one.signal_lost)),
    )
    found = reduce_recording(two, same).losses
    assert [each.lost_s for each in found] == pytest.approx([29.95, 119.95])
    assert [each.restored_s for each in found] == pytest.approx([59.9, 149.9])
    for_good = reduce_recording(replace(one, signal_lost=one.time_s >= 30.0), same).losses
    assert [each.restored_s for each in for_good] == [None]


def test_a_swing_is_held_against_half_of_the_dead_band_that_the_recording_shows() -> None:
    """A dead band of 3 % on ramps; five reversals of 1 % at rest are then none, and hunting where nothing is known."""
    time = np.arange(0.0, 270.0, 0.125)
    command = np.interp(time, [0, 60, 120, 183, 270], [40, 40, 60, 39, 39])
    shaken = np.where(time < 60.0, np.abs((time / 13.0) % 1.0 * 2.0 - 1.0) - 0.5, 0.0)
    known = Recording(time, command, with_play(command, 3.0) + shaken)
    found = reduce_recording(known, same)
    assert smallest_command(found.trials, "dead_band").value == pytest.approx(3.0, abs=0.3)
    assert [each.kind for each in found.rests] == ["noise", "at_rest"]
    alone = resting(50.0 + shaken[:480], 0.125)
    assert [each.kind for each in reduce_recording(alone, same).rests] == ["hunting"]


def test_delays_are_medians_and_the_lag_is_that_of_the_smallest_steps() -> None:
    """Dead times 0.5, 0.5 and 2 s; T63 of the steps up to 1.5 times the smallest."""
    pieces = [
        stepped(constant_speed(dead, took), interval_s=0.125, from_pct=low, to_pct=high)
        for dead, took, low, high in ((0.5, 1.0, 40.0, 44.0), (0.5, 1.5, 44.0, 49.0), (2.0, 8.0, 49.0, 69.0))
    ]
    time = 0.125 * np.arange(sum(len(piece) for piece in pieces))
    command, travel = (
        np.concatenate([getattr(piece, name) for piece in pieces]) for name in ("command_pct", "travel_pct")
    )
    ramp = np.interp(np.arange(0.0, 100.0, 0.125), [0, 20, 60, 100], [69, 69, 89, 68])  # no hold tells of its delay
    time = np.append(time, time[-1] + 0.125 * (1 + np.arange(ramp.size)))
    made = Recording(time, np.append(command, ramp), np.append(travel, with_play(ramp, 2.0)))
    found = reduce_recording(made, same)
    (dead_band,) = [each for each in found.trials if each.what == "dead_band" and each.means == "ramp"]
    dead = np.median([each.dead_time.value for each in found.steps])
    lag = np.median([each.t63.value for each in found.steps[:2]])
    assert dead == pytest.approx(0.56, abs=0.03)
    assert lag == pytest.approx(0.56 + 0.632 * 1.25, abs=0.05)
    slack = 0.5 * (lag - dead)
    rates = (20.0 + 21.0) / 40.0
    assert dead_band.half_width_pct == pytest.approx(rates * (slack + 0.5 * 0.125), rel=0.03)


def test_one_travel_ahead_of_its_command_leaves_nothing_timed_from_the_command() -> None:
    """Two steps with dead times of 0.2 and 1.2 s, and the command 0.8 s late: -0.6 and 0.4 s, of which one tells."""
    pieces = [
        stepped(constant_speed(dead, 2.0), interval_s=0.1, from_pct=low, to_pct=high)
        for dead, low, high in ((0.2, 40.0, 60.0), (1.2, 60.0, 80.0))
    ]
    command, travel = (
        np.concatenate([getattr(piece, name) for piece in pieces]) for name in ("command_pct", "travel_pct")
    )
    time = 0.1 * np.arange(command.size)
    made = Recording(time, command, np.interp(time + 0.8, time, travel))
    found = reduce_recording(made, same)
    assert "the two have no common clock" in found.no_clock
    assert found.no_clock.endswith("(1 of 2 steps, the first at 10 s)")
    assert len(found.steps) == 2
    for each in found.steps:
        for figure in (each.dead_time, each.t63, each.t86, each.settling_time, each.end_of_travel):
            assert (figure.value, figure.why_not) == (None, found.no_clock)
    true = reduce_recording(Recording(time, command, travel), same)
    assert true.no_clock == ""
    assert [each.dead_time.value for each in true.steps] == pytest.approx([0.25, 1.25], abs=0.05)


def test_a_loss_is_not_timed_by_a_command_that_the_travel_leads() -> None:
    lost = lost_signal()
    time = np.arange(0.0, 150.0, 0.1)
    stepped_first = np.where(time < 20.0, 40.0, 50.0)
    command = np.concatenate([stepped_first[:600], lost.command_pct])
    early = np.interp(time[:600] + 1.0, time[:600], np.clip(5.0 * (time[:600] - 20.2) + 40.0, 40.0, 50.0))
    travel = np.concatenate([early, lost.travel_pct])
    signal_lost = np.concatenate([np.zeros(600, dtype=bool), lost.signal_lost])
    found = reduce_recording(Recording(time, command, travel, signal_lost=signal_lost), same)
    assert found.no_clock
    assert [each.time.why_not for each in found.losses] == [found.no_clock]
    assert found.losses[0].position.value is not None
