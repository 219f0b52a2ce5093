"""Which limits hold, and what they come to."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.assessment.limits import limit_set_for, required_tests, tolerance_for
from kit.basis.registers import Tag
from kit.basis.settings import LimitSet
from tests.assessment.builders import GOOD, LOOP_MA, TAG, check, finding, limit, records, settings, stroke


def test_nominal_percentages_are_of_the_tags_own_time():
    tag = Tag("T", command_range=LOOP_MA, limits="modulating", stroke_time_open_s=20.0)
    made = records(
        {"strokes": [{"direction": "open", "time_s": 21.9}, {"direction": "close", "time_s": 21.9}]},
        limit("stroke_time_open", of_nominal_pct=10),
        limit("stroke_time_close", of_nominal_pct=10),
        tag=tag,
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    opening, closing = check(assessment, "stroke_time_open"), check(assessment, "stroke_time_close")
    assert (opening.lower_limit, opening.upper_limit, opening.verdict) == (18.0, 22.0, "pass")
    assert closing.verdict == "not_assessable"
    assert "gives no stroke time" in closing.reason


def test_a_limit_set_that_unit_toml_lacks_is_said():
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, tag=Tag("T", command_range=LOOP_MA, limits="unheard"))
    assert "unheard" in assess_tag(made).reason


def test_a_blank_limit_cell_falls_back_to_the_duty():
    tag = Tag("T", command_range=LOOP_MA, duty="modulating")
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, limit("inaccuracy", plus_minus=1), tag=tag, instruments=GOOD)
    assert assess_tag(made).verdict == "pass"


def test_a_limit_set_without_tests_of_its_own_takes_those_of_the_unit():
    made = records({"readings": stroke(0, 0, 0, 0, 0)}, limit("inaccuracy", plus_minus=1), instruments=GOOD)
    unit = dataclasses.replace(made.settings, tests=("strokes:open",))
    assert assess_tag(dataclasses.replace(made, settings=unit)).verdict == "incomplete"
    own = LimitSet("modulating", made.settings.limit_sets["modulating"].limits, ("readings:up",))
    unit = dataclasses.replace(unit, limit_sets={"modulating": own})
    assert assess_tag(dataclasses.replace(made, settings=unit)).verdict == "pass"


@pytest.mark.parametrize(
    ("check", "target", "form", "limits"),
    [
        ("inaccuracy", 0.0, {"plus_minus": 1.5}, (-1.5, 1.5)),
        ("travel_gain", 1.0, {"plus_minus": 0.25}, (0.75, 1.25)),
        ("open_switch_position", 100.0, {"plus_minus": 2.0}, (98.0, 102.0)),
        ("fail_position", 0.0, {"plus_minus": 0.0}, (0.0, 0.0)),
        ("stroke_time_open", 20.0, {"of_nominal_pct": 10.0}, (18.0, 22.0)),
        ("stroke_time_open", 20.0, {"of_nominal_pct": 0.0}, (20.0, 20.0)),
        ("starts_per_hour", 1200.0, {"of_nominal_pct": 5.0}, (None, 1260.0)),
        ("starts_per_hour", 1200.0, {"plus_minus": 30.0}, (None, 1230.0)),
        ("hysteretic_error", 0.0, {"maximum": 1.0}, (None, 1.0)),
        ("loop_margin", None, {"minimum": 2.0}, (2.0, None)),
        ("dead_time", None, {"minimum": 0.1, "maximum": 0.0}, (0.1, 0.0)),
    ],
)
def test_a_limit_comes_to_figures_in_the_unit_of_its_check(check, target, form, limits):
    tolerance, why_not = tolerance_for(limit(check, **form), finding(check, 1.0, target=target))
    assert (tolerance.lower, tolerance.upper) == pytest.approx(limits)
    assert why_not == ""


@pytest.mark.parametrize(
    ("check", "why_not"),
    [
        (
            "fail_position",
            "the register gives no fail action for this cause, or the position before the loss was not recorded",
        ),
        ("restored_position", "the command after restoration was not recorded"),
        ("stroke_time_close", "the register gives no stroke time for this direction"),
        ("starts_per_hour", "the register gives no starts_per_hour_max"),
        ("inaccuracy", "the check has no target"),
        ("travel_gain", "the check has no target"),
        ("closed_switch_position", "the check has no target"),
        ("open_switch_position", "the check has no target"),
        ("dead_time", "the check has no target to measure a plus-minus limit from"),
    ],
)
@pytest.mark.parametrize("form", ["plus_minus", "of_nominal_pct"])
def test_a_limit_about_a_target_that_is_not_known_says_what_is_missing(check, why_not, form):
    assert tolerance_for(limit(check, **{form: 1.0}), finding(check, 1.0)) == (None, why_not)


def test_a_tag_whose_limit_set_is_not_there_says_which_there_are():
    two = dataclasses.replace(settings(), limit_sets={name: LimitSet(name, {}, ()) for name in ("a", "b")})
    named = limit_set_for(Tag("T", limits="c", duty="modulating"), two)
    assert named.limit_set is None
    assert named.why_not == "the register names the limit set c, which unit.toml does not have (it has a, b)"
    by_duty = limit_set_for(Tag("T", duty="on_off"), dataclasses.replace(two, limit_sets={}))
    assert by_duty.limit_set is None
    assert by_duty.why_not == (
        "the register names no limit set and unit.toml has none called after the duty (it has none)"
    )


def test_the_set_that_the_register_names_comes_before_the_duty():
    two = dataclasses.replace(settings(), limit_sets={name: LimitSet(name, {}, ()) for name in ("a", "on_off")})
    assert limit_set_for(Tag("T", limits="a", duty="on_off"), two).limit_set.name == "a"
    assert limit_set_for(Tag("T", duty="on_off"), two).limit_set.name == "on_off"


def test_a_tag_without_a_limit_set_still_needs_the_tests_of_its_unit():
    unit = dataclasses.replace(settings(), tests=("strokes",))
    assert required_tests(Tag("T"), unit) == ("strokes",)
    assert required_tests(Tag("T", limits="modulating"), unit) == ("strokes",)


def test_a_safety_function_needs_its_limit_set_named():
    """The limits of its duty are not those of its function: a blank cell gives none."""
    made = settings(limit("inaccuracy", plus_minus=1.0))
    tag = dataclasses.replace(TAG, limits="", duty="modulating", safety_function=True)
    assert limit_set_for(tag, made).limit_set is None
    assert "a safety function needs one named" in limit_set_for(tag, made).why_not
    assert limit_set_for(dataclasses.replace(tag, limits="modulating"), made).limit_set is not None
