"""Channels that stand still or at their end: the bounds from both sides."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.basis.records import Problem
from kit.records.recordings.flags import gap_hides, suspicions

COUNT = 200
TIME = 0.5 * np.arange(COUNT)
ROWS = np.arange(2, 2 + COUNT)
MOVING = 100.0 * np.arange(COUNT) / COUNT  # 0.5 % a sample
FLICKER = np.where(np.arange(COUNT) % 2, 0.01, -0.01)


def told(time: Any = TIME, **columns: Any) -> list[Problem]:
    usual = {"command_pct": MOVING, "travel_pct": MOVING, **columns}
    return suspicions("logs/T/1.as_left.csv", Recording(time, **usual), ROWS)


def still(samples: int, first: int = 100) -> Any:
    """A position that repeats one value between its extremes for so many samples."""
    position = MOVING.copy()
    position[first : first + samples] = position[first]
    return position


def test_channels_that_follow_are_not_told() -> None:
    assert told(position_pct=MOVING, feedback_pct=MOVING) == []


@pytest.mark.parametrize(("samples", "frozen"), [(19, False), (20, True)])
def test_twenty_identical_values_are_frozen(samples: int, frozen: bool) -> None:
    found = told(position_pct=still(samples))
    assert [each.column for each in found] == (["position"] if frozen else [])
    assert all("stands still from 50 s to 59.5 s" in each.problem for each in found)
    assert all("move by 9.5 %: frozen?" in each.problem for each in found)
    assert [(each.row, each.value, each.set_aside) for each in found] == ([(102, "50 %", False)] if frozen else [])


@pytest.mark.parametrize(("step_s", "frozen"), [(5.0 / 24, True), (4.9 / 24, False)])
def test_less_than_five_seconds_is_not_frozen(step_s: float, frozen: bool) -> None:
    found = told(time=step_s * np.arange(COUNT), position_pct=still(25))
    assert bool(found) == frozen


@pytest.mark.parametrize(("moves_pct", "frozen"), [(5.0, True), (4.9, False)])
def test_what_should_not_have_moved_by_five_percent_is_not_frozen(moves_pct: float, frozen: bool) -> None:
    command = np.zeros(COUNT)
    command[110:] = moves_pct
    position = np.linspace(0.0, 1.0, COUNT)
    position[100:130] = position[100]
    assert bool(told(command_pct=command, position_pct=position)) == frozen


@pytest.mark.parametrize(("samples", "saturated"), [(4, False), (5, True)])
@pytest.mark.parametrize("end", ["least", "greatest"])
def test_five_samples_at_an_extreme_are_saturated(samples: int, saturated: bool, end: str) -> None:
    steep = 2.0 * MOVING
    feedback = steep.copy()
    if end == "least":
        feedback[:samples] = feedback[samples - 1]
    else:
        feedback[-samples:] = feedback[-samples]
    found = told(position_pct=3.0 * MOVING, feedback_pct=feedback)
    assert [each.column for each in found] == (["feedback"] if saturated else [])
    assert all("stays at its extreme" in each.problem and "saturated?" in each.problem for each in found)


def test_a_feedback_is_held_against_the_position_and_else_against_the_command() -> None:
    stands = np.full(COUNT, 50.0) + np.linspace(0, 0.1, COUNT)
    feedback = still(30)
    assert told(feedback_pct=feedback, position_pct=stands) == []
    assert [each.column for each in told(feedback_pct=feedback)] == ["feedback"]


@pytest.mark.parametrize(("blanks", "lost"), [(1, False), (2, True)])
def test_two_blank_commands_are_a_loss_of_signal(blanks: int, lost: bool) -> None:
    command = MOVING.copy()
    command[60 : 60 + blanks] = np.nan
    found = told(command_pct=command)
    assert [(each.row, each.column, each.value) for each in found] == (
        [(62, "command", "30 s to 30.5 s")] if lost else []
    )


def test_blank_commands_are_told_twenty_times_at_most() -> None:
    command = np.where(np.arange(COUNT) % 3 == 0, 50.0, np.nan)
    assert len(told(command_pct=command)) == 20


def test_a_channel_without_a_number_is_not_told() -> None:
    assert told(position_pct=np.full(COUNT, np.nan), feedback_pct=MOVING[:COUNT]) == []


@pytest.mark.parametrize(("columns", "name"), [({"position_pct": MOVING}, "position"), ({}, "feedback")])
def test_blank_travel_is_told_where_it_lies_and_no_more(columns: dict[str, Any], name: str) -> None:
    travel = np.where((np.arange(COUNT) >= 40) & (np.arange(COUNT) < 60), np.nan, MOVING)
    given = dict.fromkeys(columns, travel)
    (problem,) = told(travel_pct=travel, **given)
    assert (problem.row, problem.column, problem.value) == (42, name, "20 s to 29.5 s")
    assert (problem.status, problem.problem) == ("flag", "It is blank here: nothing is read into it.")


@pytest.mark.parametrize(("samples", "status"), [(21, "flag"), (22, "open")])
def test_a_blank_that_may_hide_a_hold_is_open(samples: int, status: str) -> None:
    """21 samples every half second are 10 s from the first to the last."""
    command = np.where((np.arange(COUNT) >= 40) & (np.arange(COUNT) < 40 + samples), np.nan, MOVING)
    assert [each.status for each in told(command_pct=command)] == [status]


@pytest.mark.parametrize(
    ("lasts_s", "command", "travel", "hides"),
    [
        (600.0, 50.0, 45.0, False),  # a logger that stood still between two tests
        (600.0, 50.9, 46.9, False),
        (10.0, 75.0, 70.0, False),
        (10.5, 51.1, 45.0, True),
        (10.5, 50.0, 47.1, True),
        (10.5, np.nan, 45.0, True),
    ],
)
def test_a_gap_over_which_something_changed_may_hide_a_test(
    lasts_s: float, command: float, travel: float, hides: bool
) -> None:
    """Before it 50 % of command and 45 % of travel, after it what is given."""
    time = np.concatenate((np.arange(20.0), 19.0 + lasts_s + np.arange(20.0)))
    sides = [np.repeat(each, 20) for each in ((50.0, command), (45.0, travel))]
    recording = Recording(time, *sides, gaps=((19.0, 19.0 + lasts_s),))
    assert gap_hides(recording, 19.0, 19.0 + lasts_s) is hides
