"""Moves that travel or feedback shows, quick or slow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.basis.recording import Recording
from kit.calculations.recordings.channels import channels_of
from kit.calculations.recordings.motion import motion_of
from kit.calculations.recordings.moves import Moves, moves_of
from tests.calculations.recordings.made import moved, noisy


def moves(recording: Recording) -> Moves:
    channels = channels_of(recording)
    return moves_of(recording, motion_of(recording, channels.travel), channels)


def shown(*corners: tuple[float, float], noise_pct: float = 0.01) -> Recording:
    made = moved([time for time, _ in corners], [height for _, height in corners], length_s=300.0)
    return replace(made, travel_pct=noisy(made.travel_pct, noise_pct))


def test_a_feedback_tells_what_the_motor_does_within_the_play_behind_it() -> None:
    """The feedback moves at 50 s, at 100 s with the travel, and back at 200 s; 0.6 of its range is the travel's."""
    travel = shown((0, 10), (100, 10), (105, 20), (300, 20))
    feedback = shown((0, 6), (50, 6), (51, 6.6), (100, 6.6), (105, 12.6), (200, 12.6), (201, 12), (300, 12))
    found = moves(replace(travel, feedback_pct=feedback.travel_pct))
    assert found.from_s == pytest.approx([50, 100, 200], abs=0.4)
    assert found.way.tolist() == [1, 1, -1]
    assert not found.slow.any()
    assert found.begun(90.0, 250.0) == 2
    assert len(moves(travel)) == 1
    other_way = moves(replace(travel, feedback_pct=100.0 - feedback.travel_pct))
    assert other_way.way.tolist() == [1, 1, -1]


def test_a_feedback_that_stands_for_the_travel_or_is_mostly_lost_adds_nothing() -> None:
    travel = shown((0, 10), (100, 10), (105, 20), (300, 20))
    feedback = shown((0, 6), (50, 6), (51, 6.6), (300, 6.6)).travel_pct
    assert len(moves(replace(travel, feedback_pct=feedback, travel_is_feedback=True))) == 1
    lost = np.where(np.arange(3000) < 1600, np.nan, feedback)
    assert len(moves(replace(travel, feedback_pct=lost))) == 1


def test_a_bad_spot_is_no_move_while_the_travel_moves() -> None:
    travel = shown((0, 10), (100, 10), (120, 60), (300, 60))
    feedback = travel.travel_pct.copy()
    feedback[1100:1103] = 0.0
    assert len(moves(replace(travel, feedback_pct=feedback))) == 1


def test_a_small_jump_under_noise_shows_in_long_means_and_a_tail_belongs_to_its_move() -> None:
    """0.15 % under noise of 0.06 %: less than six deviations of samples, more than those of means over 2 s."""
    jump = moves(shown((0, 10), (100, 10), (100.1, 10.15), (300, 10.15), noise_pct=0.06))
    assert (len(jump), jump.slow.tolist(), jump.way.tolist()) == (1, [True], [1])
    assert jump.from_s[0] == pytest.approx(99.0, abs=2.5)
    tail = moves(shown((0, 10), (100, 10), (104, 20), (130, 20.6), (300, 20.6), noise_pct=0.03))
    assert tail.slow.tolist() == [False]
    back = moves(shown((0, 10), (100, 10), (104, 20), (130, 19.4), (300, 19.4), noise_pct=0.03))
    assert back.way.tolist() == [1, -1]


def test_nothing_moves_in_a_recording_of_nothing() -> None:
    assert len(moves(Recording(np.empty(0), np.empty(0), np.empty(0)))) == 0
    assert len(moves(shown((0, 10), (300, 10)))) == 0
