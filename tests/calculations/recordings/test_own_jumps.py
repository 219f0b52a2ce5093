"""What a valve's own jumps leave open."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis.strategies import floats

from kit.calculations.recordings.own_jumps import with_own_jumps
from kit.calculations.recordings.trials import Found, Trial

STEP = 0.1


def trial(what: Found, asked_pct: float, moved_pct: float, step_pct: float = STEP) -> Trial:
    return Trial(
        what, "small_steps", asked_pct - STEP, asked_pct, 0.0, 50.0, 0.0, 50.0 - asked_pct, 0.0, moved_pct, step_pct
    )


def dead_band(asked_pct: float, moved_pct: float, again_pct: float) -> Trial:
    """Of a valve that answers one way every so often, by as much."""
    others = [trial("resolution", again_pct, again_pct) for _ in range(5)]
    return with_own_jumps([trial("dead_band", asked_pct, moved_pct), *others], 0.0)[0]


def stepped(pct: float, step_pct: float) -> float:
    """The first whole step that reaches it."""
    return float(np.ceil(pct / step_pct - 1e-9)) * step_pct


@given(starts=floats(0.02, 0.6), first=floats(0.3, 1.0), follows=floats(0.0, 1.5), step_pct=floats(0.02, 0.6))
def test_a_command_that_creeps_has_its_dead_band_within_what_steps_leave(
    starts: float, first: float, follows: float, step_pct: float
) -> None:
    """A motor that starts at ``first`` and again each ``starts``; the stem follows at the start that reaches the play.

    With steps each start is at the first command that reaches it.
    """
    first = max(first, starts)
    creeping = first
    while creeping < follows - 1e-9:
        creeping += starts
    asked = stepped(first, step_pct)
    while asked < follows - 1e-9:
        asked = stepped(asked + starts, step_pct)
    again, moved = stepped(starts, step_pct), asked - follows
    if moved < 0.03 or moved > 1.0:
        return
    on, back = (
        Trial(what, "small_steps", pct - step_pct, pct, 0.0, 50.0, 0.0, 50.0 - pct, 0.0, gone, step_pct)
        for what, pct, gone in (("resolution", again, again), ("dead_band", asked, moved))
    )
    found = with_own_jumps([back, *[on] * 5], 0.0)[0]
    assert found.low_pct - found.jump_pct - 1e-6 <= creeping <= found.high_pct + found.jump_pct + 1e-6


def test_a_valve_that_answers_each_step_keeps_its_bracket_and_what_it_has_gone_moves_it() -> None:
    """0.03 % of a step of 0.1: the play was taken up 0.03 before, and the motor may start 0.07 later."""
    assert (dead_band(0.6, 0.1, 0.1).low_pct, dead_band(0.6, 0.1, 0.1).high_pct) == pytest.approx((0.5, 0.6))
    found = dead_band(0.6, 0.03, 0.1)
    assert (found.low_pct, found.high_pct, found.jump_pct) == (pytest.approx(0.57), pytest.approx(0.67), 0.0)


def test_without_an_answer_one_way_starts_may_be_as_far_apart_as_the_dead_band() -> None:
    (found,) = with_own_jumps([trial("dead_band", 0.6, 0.1)], 0.0)
    assert (found.low_pct, found.high_pct) == pytest.approx((0.5, 1.1))


def test_a_stem_that_breaks_away_leaves_a_start_open_at_either_end() -> None:
    """0.4 % one way: 0.39 back is no more than a start, 0.6 is more than one brings; 0.1 tells that it follows."""
    assert dead_band(1.2, 0.6, 0.4).jump_pct == pytest.approx(0.4 * 0.5**0.5)
    assert dead_band(1.2, 0.39, 0.4).jump_pct == dead_band(1.2, 0.1, 0.4).jump_pct == 0.0


@pytest.mark.parametrize(("back_pct", "twice_pct"), [(0.6, 0.4), (0.4, 0.0)])
def test_a_stem_that_just_breaks_away_may_need_two_starts(back_pct: float, twice_pct: float) -> None:
    on = [trial("resolution", each, 0.4) for each in (0.4, 0.4, 0.5, 0.4)]
    found = with_own_jumps([*on, trial("dead_band", 1.2, back_pct)], 0.0)
    assert [each.jump_pct for each in found[:4]] == pytest.approx([twice_pct] * 4)


def test_starts_that_add_up_are_no_more_than_one_jump_was() -> None:
    found = with_own_jumps([trial("resolution", each, 0.4) for each in (0.2, 0.6, 0.2, 0.6)], 0.0)
    assert [each.jump_pct for each in found] == [0.0] * 4
