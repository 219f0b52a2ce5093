"""Probable causes of what failed."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from kit.assessment import assess_tag
from kit.assessment.causes import _DECIDE, probable_causes
from kit.basis.verdicts import CHECK_VERDICTS
from kit.calculations.patterns import TEMPLATES
from kit.calculations.position import reduce_runs
from tests.assessment.builders import GOOD, TAG, limit, records, result, stroke

POSITION_CHECKS = (
    *("zero_error", "span_error", "inaccuracy"),
    *("independent_linearity", "terminal_linearity", "zero_based_linearity"),
)


def test_what_fails_comes_with_its_probable_cause_and_a_punch_item():
    made = records(
        {"readings": stroke(0, -1.25, -2.5, -3.75, -5)}, limit("inaccuracy", plus_minus=1.5), instruments=GOOD
    )
    assessment = assess_tag(made)
    assert assessment.stages[0].causes[0].pattern == "span error about the closed end"
    assert [(each.check, each.category) for each in assessment.punch_list] == [("inaccuracy", "B")]
    assert "-5 % of travel span (100.0 % command, up)" in assessment.punch_list[0].evidence


def runs(up, down=None, commands=(0.0, 25.0, 50.0, 75.0, 100.0)):
    """Errors up and, where given, down at these commands."""
    at = np.array([*commands, *(commands if down else ())])
    errors = np.array([*up, *(down or ())])
    return reduce_runs(at, errors, np.arange(at.size) < len(commands), np.ones(at.size))


def causes(verdicts, position, feedback=None, tag=TAG):
    checks = tuple(result(check, verdict, 9.0, (-1.0, 1.0)) for check, verdict in verdicts.items())
    return probable_causes(tag, checks, position, feedback)


SHIFT = runs((2.0, 2.0, 2.0, 2.0, 0.0))  # clipped at 100 % of travel


@pytest.mark.parametrize("check", POSITION_CHECKS)
@pytest.mark.parametrize("verdict", CHECK_VERDICTS)
def test_a_cause_is_looked_for_only_where_a_limit_is_exceeded(check, verdict):
    found = causes({check: verdict}, SHIFT)
    assert [each.pattern for each in found] == (["zero shift"] if verdict in ("fail", "conditional_fail") else [])


@pytest.mark.parametrize("check", ["repeatability", "dead_band", "stroke_time_open", "feedback_inaccuracy"])
def test_checks_that_the_curve_says_nothing_of_have_no_cause(check):
    assert causes({check: "fail"}, SHIFT) == ()


def test_without_position_readings_there_is_no_cause():
    assert causes({"inaccuracy": "fail", "hysteretic_error": "fail"}, None) == ()


def test_a_cause_comes_with_its_evidence_and_the_look_that_decides():
    (found,) = causes({"zero_error": "fail"}, SHIFT)
    assert found.evidence == ("The mean positions follow this pattern, +2.0 % of travel, to within 0.0 % of travel.")
    assert found.decide == "Position on the closed stop, and the signal at the valve's terminals against the source."
    assert found.runner_up == ""


def test_a_pattern_without_a_parameter_names_none_and_a_near_one_is_the_runner_up():
    """Position 100 less the command: the mirror of what is asked."""
    (found,) = causes({"inaccuracy": "fail"}, runs((100.0, 50.0, 0.0, -50.0, -100.0)))
    assert found.pattern == "action reversed"
    assert found.evidence == "The mean positions follow this pattern, to within 0.0 % of travel."


@pytest.mark.parametrize("errors", [(0.0, 0.0, 0.0, 0.0, 0.0), (0.1, 0.1, 0.1, 0.1, 0.1)])
def test_what_looks_as_asked_resembles_no_fault(errors):
    assert causes({"inaccuracy": "fail"}, runs(errors)) == ()


def test_fewer_than_three_points_resemble_nothing():
    assert causes({"inaccuracy": "fail"}, runs((5.0, 5.0), commands=(0.0, 50.0))) == ()


def test_every_pattern_has_a_look_that_decides():
    assert set(_DECIDE) == {template.pattern for template in TEMPLATES} - {"as asked"}
    assert all(text.endswith(".") for text in _DECIDE.values())


def test_the_pattern_is_sought_in_what_the_tag_asks_for():
    """A reverse action: 2 % too far open everywhere is a zero shift of the mirror."""
    reverse = dataclasses.replace(TAG, action="reverse")
    (found,) = causes({"inaccuracy": "fail"}, runs((0.0, 2.0, 2.0, 2.0, 2.0)), tag=reverse)
    assert (found.pattern, "+2.0 %" in found.evidence) == ("zero shift", True)


@pytest.mark.parametrize(
    ("position", "feedback", "trusted"),
    [
        (2.0, -2.0, True),  # the feedback agrees with the command
        (2.0, -1.5, True),  # to 0.5 % exactly
        (2.0, -1.4, False),
        (1.0, -1.0, True),  # the position is off by 1 % exactly
        (0.9, -0.9, False),  # the position hardly differs either
        (2.0, 2.0, False),  # it would be off by 4 %
    ],
)
def test_a_feedback_that_agrees_while_the_position_does_not_was_moved(position, feedback, trusted):
    found = causes({"inaccuracy": "fail"}, runs((position,) * 5), runs((feedback,) * 5))
    assert (
        "feedback element moved on its shaft or taught at wrong ends" in [each.pattern for each in found]
    ) == trusted


def test_the_evidence_of_a_moved_feedback():
    found = causes({"inaccuracy": "fail"}, runs((2.0,) * 5), runs((-1.8,) * 5))[-1]
    assert found.evidence == "Feedback agrees with the command to 0.2 % on average while the position does not."
    assert found.decide == (
        "Pointer against the travel stop, and the tightness of the feedback coupling with the equipment isolated."
    )
    assert found.runner_up == ""


def test_feedback_at_other_points_is_not_held_beside_the_position():
    other = runs((-2.0,) * 3, commands=(0.0, 50.0, 100.0))
    assert len(causes({"inaccuracy": "fail"}, runs((2.0,) * 5), other)) == 1
    assert len(causes({"inaccuracy": "fail"}, runs((2.0,) * 5), None)) == 1


PLAY = runs((-1.0,) * 5, (1.0,) * 5)  # up and down differ by 2 %


def test_play_without_feedback_readings_has_no_place():
    (found,) = causes({"hysteretic_error": "fail"}, PLAY)
    assert found.pattern == "play, friction or dead band"
    assert found.evidence == ("Up and down means differ by up to 2.0 %; without feedback readings the place is open.")
    assert (found.runner_up, found.decide) == ("", "Feedback readings beside the position, both ways.")


def test_play_that_the_feedback_does_not_show_lies_behind_its_take_off():
    """Feedback minus position carries more than half of the 2 %."""
    (found,) = causes({"hysteretic_error": "fail"}, PLAY, runs((0.6,) * 5, (-0.6,) * 5))
    assert found.pattern == "play between the feedback take-off and the stem"
    assert found.evidence == ("Up and down means differ by up to 2.0 % in position and the feedback does not show it.")
    assert found.runner_up == "dead band or friction inside the positioning loop"
    assert found.decide == "Shake the coupling by hand, with the equipment isolated."


@pytest.mark.parametrize("half", [0.0, 0.3, 0.5])
def test_play_that_the_feedback_shows_too_lies_inside_the_loop(half):
    (found,) = causes({"hysteretic_error": "conditional_fail"}, PLAY, runs((half,) * 5, (-half,) * 5))
    assert found.pattern == "dead band or friction inside the positioning loop"
    assert found.evidence == "Up and down means differ by up to 2.0 % in position and in feedback alike."
    assert found.runner_up == "play between the feedback take-off and the stem"
    assert found.decide == "The dead band setting, then packing friction."


def test_the_shape_comes_before_the_play():
    both = runs((3.0,) * 5, (5.0,) * 5)
    found = causes({"inaccuracy": "fail", "hysteretic_error": "fail"}, both)
    assert [each.pattern for each in found] == ["zero shift", "play, friction or dead band"]


def test_points_read_one_way_only_show_no_play():
    (found,) = causes({"hysteretic_error": "fail"}, runs((1.0,) * 5))
    assert "by up to 0.0 %" in found.evidence
