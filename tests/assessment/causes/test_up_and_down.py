"""Up and down: play inside and outside the loop, exchanged columns, a loose reading."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment.causes.up_and_down import EXCHANGED, INSIDE, LOOSE, OUTSIDE, UNPLACED
from tests.assessment.builders import TAG
from tests.assessment.causes.stages import found, runs

PLAY = runs((0.0, -1.0, -1.0, -1.0, 0.0), (0.0, 1.0, 1.0, 1.0, 0.0))  # down 2 % above up, none on the stops


def behind(half):
    return runs((0.0, half, half, half, 0.0), (0.0, -half, -half, -half, 0.0))


def test_play_without_feedback_readings_has_no_place():
    (cause,) = found({"hysteretic_error": "fail"}, position_runs=PLAY, value=2.0)
    assert (cause.pattern, cause.explains) == (UNPLACED, (("hysteretic_error", ""),))
    assert cause.evidence.startswith("Down lies +2.0 % of travel from up between the ends")
    assert cause.decide == "Feedback readings beside the position, both ways."


def test_play_that_the_feedback_does_not_show_lies_behind_its_take_off():
    """Feedback less position carries the whole 2 % the other way, so that the feedback itself has none."""
    (cause,) = found(
        {"hysteretic_error": "fail", "feedback_hysteretic_error": "fail"},
        position_runs=PLAY,
        feedback_runs=behind(1.0),
        value=2.0,
    )
    assert (cause.pattern, cause.runner_up) == (OUTSIDE, "")
    assert cause.explains == (("hysteretic_error", ""), ("feedback_hysteretic_error", ""))
    assert cause.decide == "Shake the coupling by hand, with the equipment isolated."


@pytest.mark.parametrize("half", [0.0, 0.2])
def test_play_that_the_feedback_shows_too_lies_inside_the_loop(half):
    (cause,) = found(
        {"hysteretic_error": "conditional_fail"}, position_runs=PLAY, feedback_runs=behind(half), value=2.0
    )
    assert (cause.pattern, cause.runner_up) == (INSIDE, "")


def test_a_share_near_a_half_names_both():
    (cause,) = found({"hysteretic_error": "fail"}, position_runs=PLAY, feedback_runs=behind(0.45), value=2.0)
    assert {cause.pattern, cause.runner_up} == {INSIDE, OUTSIDE}


def test_down_below_up_is_no_play_and_a_reverse_action_turns_it_round():
    under = runs((0.0, 1.0, 1.0, 1.0, 0.0), (0.0, -1.0, -1.0, -1.0, 0.0))
    (cause,) = found({"hysteretic_error": "fail"}, position_runs=under, value=2.0)
    assert cause.pattern == EXCHANGED
    reverse = dataclasses.replace(TAG, action="reverse")
    (cause,) = found({"hysteretic_error": "fail"}, position_runs=under, value=2.0, tag=reverse)
    assert cause.pattern == UNPLACED


def test_the_shape_comes_before_the_play():
    both = runs((3.0, 3.0, 3.0, 3.0, 0.0), (5.0, 5.0, 5.0, 5.0, 0.0))
    causes = found({"inaccuracy": "fail", "hysteretic_error": "fail"}, position_runs=both)
    assert [each.pattern for each in causes] == ["zero shift", UNPLACED]


def test_points_read_one_way_only_show_no_play():
    assert found({"hysteretic_error": "fail"}, position_runs=runs((1.0,) * 5)) == ()


def test_same_way_readings_that_differ_are_a_loose_lever_or_reading():
    (cause,) = found({"repeatability": "fail"}, position_runs=PLAY)
    assert (cause.pattern, cause.explains) == (LOOSE, (("repeatability", ""),))
