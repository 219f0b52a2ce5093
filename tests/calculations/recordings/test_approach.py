"""From which side a hold was come to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.holds import Holds, static_readings
from kit.calculations.recordings.segments import cut_recording
from tests.calculations.recordings.made import noisy, programme, same


def walked(parts: list[tuple[float, float]], *, speed_pct_s: float = 10.0, interval_s: float = 0.1) -> Recording:
    """A valve that starts at the first command and follows at an even speed."""
    time, command = programme(parts, interval_s=interval_s)
    travel = np.empty_like(command)
    stands = command[0]
    for place, asked in enumerate(command.tolist()):
        stands += float(np.clip(asked - stands, -speed_pct_s * interval_s, speed_pct_s * interval_s))
        travel[place] = stands
    return Recording(time, noisy(command, 0.01), noisy(travel, 0.01, 3))


def holds_of(recording: Recording, ideal: Callable[[float], float] = same) -> Holds:
    channels = channels_of(recording)
    return static_readings(recording, cut_recording(recording, ideal, channels), channels, ideal)


def reverse(command_pct: float) -> float:
    return 100.0 - command_pct


def sides(found: Holds) -> list[tuple[int, bool]]:
    return [(round(each.command_pct), each.rising) for each in found.readings]


def test_a_hold_that_the_command_was_called_back_to_is_come_to_from_the_other_side() -> None:
    """75 % for 6 s, in which the valve comes to 60 %; then 50 %."""
    found = holds_of(walked([(0, 20), (75, 6), (50, 20), (100, 20)]))
    assert sides(found) == [(0, True), (50, False), (100, True)]


def test_a_hold_that_the_command_was_called_back_to_before_the_valve_was_there_is_not() -> None:
    """75 % for 3 s, in which the valve comes to 30 %; then 50 %: the command fell, and the valve went on opening."""
    assert sides(holds_of(walked([(0, 20), (75, 3), (50, 20), (100, 20)])))[1] == (50, True)


@pytest.mark.parametrize(("called_back_s", "rises"), [(6, False), (3, True)])
def test_the_side_is_that_of_the_command_where_a_valve_closes_as_it_rises(called_back_s: float, rises: bool) -> None:
    """75 % until the valve has closed to 40 %, or to 70 %; then 50 %."""
    direct = walked([(0, 20), (75, called_back_s), (50, 20), (100, 20)])
    found = holds_of(replace(direct, travel_pct=100.0 - direct.travel_pct), reverse)
    assert sides(found) == sides(holds_of(direct)) == [(0, True), (50, rises), (100, True)]


def test_the_first_hold_of_a_valve_that_closes_as_the_command_rises_is_known_by_its_travel() -> None:
    """The recording begins while the valve closes from 60 to 50 %: its command rose."""
    time, command = programme([(50.0, 30.0), (25.0, 20.0)])
    travel = np.interp(time, [0, 10, 30, 33, 50], [60, 50, 50, 75, 75])
    found = holds_of(Recording(time, command, noisy(travel, 0.01)), reverse)
    assert sides(found) == [(50, True), (25, False)]


def test_the_hold_that_begins_a_run_is_one_of_which_nothing_shows_the_side() -> None:
    found = holds_of(walked([(0, 20), (50, 20), (0, 20)]))
    assert [each.begins_run for each in found.readings] == [True, False, False]


@pytest.mark.parametrize("abandoned_s", [1.5, 2.5, 5.0])
def test_a_step_that_is_taken_back_makes_the_hold_one_from_the_other_side(abandoned_s: float) -> None:
    found = holds_of(walked([(0, 20), (25, 20), (75, abandoned_s), (25, 20), (50, 20)]))
    assert sides(found) == [(0, True), (25, True), (25, False), (50, True)]


def test_a_step_that_is_taken_back_before_the_valve_moved_is_told() -> None:
    found = holds_of(walked([(0, 20), (25, 20), (75, 1.0), (25, 20), (50, 20)], speed_pct_s=2.0))
    assert sides(found) == [(0, True), (25, True), (50, True)]
    assert [each.why for each in found.left_out] == [
        "the command was called back before the travel had gone far enough to take up any play"
    ]


@pytest.mark.parametrize("beyond_s", [5.5, 20.0])
def test_a_hold_come_to_by_turning_back_two_percent_may_be_within_the_play(beyond_s: float) -> None:
    found = holds_of(walked([(0, 20), (52, beyond_s), (50, 20), (100, 20)]))
    assert (50, True) not in sides(found)
    assert (50, False) not in sides(found)
    assert "less than 3 % may be play" in " ".join(each.why for each in found.left_out)


def test_the_overshoot_of_a_valve_is_no_turning_back() -> None:
    """The command goes straight to 50 %; the valve comes to 52 % and back, which takes up less than any play."""
    time, command = programme([(0.0, 20.0), (50.0, 30.0), (100.0, 20.0)])
    travel = np.interp(time, [0, 20, 25, 27, 50, 55, 70], [0, 0, 52, 50, 50, 100, 100])
    assert sides(holds_of(Recording(time, command, noisy(travel, 0.01))))[1] == (50, True)


def test_a_travel_that_came_three_percent_beyond_a_hold_took_up_the_play_whatever_the_command_shows() -> None:
    """A step called back between two samples, or a valve that overshoots: it closed to 50 %."""
    time, command = programme([(0.0, 20.0), (50.0, 30.0), (100.0, 20.0)])
    travel = np.interp(time, [0, 20, 25, 27, 50, 55, 70], [0, 0, 54, 50, 50, 100, 100])
    assert sides(holds_of(Recording(time, command, noisy(travel, 0.01))))[1] == (50, False)


@pytest.mark.parametrize("noise_pct", [0.01, 0.08])
def test_a_valve_that_was_there_when_the_command_was_called_back_may_have_turned_within_the_noise(
    noise_pct: float,
) -> None:
    """It opens from 49.6 to 50.6 % in a second of 75 %, and comes back by 0.3 %."""
    time, command = programme([(0.0, 20.0), (50.0, 20.0), (75.0, 1.0), (50.0, 20.0), (100.0, 20.0)])
    travel = np.interp(time, [0, 20, 25, 40, 41, 42, 61, 66, 81], [0, 0, 49.6, 49.6, 50.6, 50.3, 50.3, 100, 100])
    found = holds_of(Recording(time, noisy(command, 0.01), noisy(travel, noise_pct)))
    assert sides(found) == [(0, True), (50, True), (100, True)]
    assert len(found.left_out) == 1


def test_a_command_that_is_elsewhere_for_a_blink_was_not_called_back() -> None:
    recording = walked([(0, 20), (25, 20), (25.1, 20)], interval_s=0.05)
    command = recording.command_pct.copy()
    command[395:398] = 80.0  # three samples, 0.1 s, just before it steps to 25 %
    found = holds_of(Recording(recording.time_s, command, recording.travel_pct))
    assert sides(found)[:2] == [(0, True), (25, True)]


def test_the_first_hold_in_the_middle_is_come_to_from_nobody_knows_where() -> None:
    found = holds_of(walked([(50, 20), (75, 20), (50, 20)]))
    assert sides(found) == [(75, True), (50, False)]
    assert found.left_out[0].why == "the first of a run, and nothing shows from which side it was come to"


def test_the_first_hold_in_the_middle_is_known_where_the_travel_shows_how_it_came_there() -> None:
    """The recording begins while the valve closes from 60 to 50 %."""
    time, command = programme([(50.0, 30.0), (75.0, 20.0)])
    travel = np.interp(time, [0, 10, 30, 33, 50], [60, 50, 50, 75, 75])
    assert sides(holds_of(Recording(time, command, noisy(travel, 0.01)))) == [(50, False), (75, True)]


@pytest.mark.parametrize(("begins_pct", "known"), [(4.0, True), (6.0, False), (94.0, False), (96.0, True)])
def test_a_run_begins_within_five_percent_of_an_end(begins_pct: float, known: bool) -> None:
    found = sides(holds_of(walked([(begins_pct, 20), (50, 20)])))
    assert ((round(begins_pct), begins_pct < 50) in found) is known
    assert found[-1] == (50, begins_pct < 50)


@pytest.mark.parametrize(("waits_s", "read"), [(5.0, False), (12.0, True)])
def test_a_valve_that_has_not_answered_yet_may_be_slow_and_later_it_is_stuck(waits_s: float, read: bool) -> None:
    """It stands at 0 % with 50 % asked for, and goes only after the next command."""
    time, command = programme([(0.0, 20.0), (50.0, waits_s), (100.0, 40.0)])
    travel = np.interp(time, [0, 20 + waits_s, 30 + waits_s, 60 + waits_s], [0, 0, 100, 100])
    found = holds_of(Recording(time, noisy(command, 0.01), noisy(travel, 0.01)))
    assert ((50, True) in sides(found)) is read
    assert read or found.left_out[0].why == "the travel had not answered yet: hold it longer"


@pytest.mark.parametrize(("from_s", "to_s", "over"), [(33.0, 39.0, True), (28.0, 34.0, True), (41.0, 41.1, False)])
def test_a_hold_that_was_come_to_over_a_loss_of_supply_is_left_out(from_s: float, to_s: float, over: bool) -> None:
    """From 25 to 75 % at 40 s, with the supply off before, so that the valve may have moved; 0.1 s is a lost sample."""
    recording = walked([(0, 20), (25, 20), (75, 20), (100, 20)])
    off = (recording.time_s >= from_s) & (recording.time_s <= to_s)
    found = holds_of(replace(recording, supply_v=np.where(off, 0.0, 24.0)))
    why = "come to over a gap or a loss of signal or supply"
    assert (why in [each.why for each in found.left_out]) == over
    assert sides(found)[-1] == (100, True)
