"""Which check stands behind a verdict, and how near each is to its limit."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis.strategies import floats

from kit.assessment.judge import judge
from kit.assessment.ranking import limit_margin, limit_share, share_pct, worst_check
from tests.assessment.builders import finding, limit, result, stage


@pytest.mark.parametrize(
    ("value", "limits", "share"),
    [
        (1.5, (-1.0, 2.0), 2 / 3),  # from 0.5, the middle, with 1.5 to either side
        (-1.0, (-1.0, 2.0), 1.0),
        (0.5, (-1.0, 2.0), 0.0),
        (2.0, (2.0, 2.0), 0.0),
        (2.1, (2.0, 2.0), math.inf),
        (0.5, (None, 2.0), 0.25),
        (0.0, (None, 0.0), 0.0),
        (0.1, (None, 0.0), math.inf),
        (-3.0, (None, -2.0), 0.0),
        (-1.0, (None, -2.0), math.inf),
        (4.0, (2.0, None), 0.5),
        (1.0, (2.0, None), 2.0),
        (0.0, (2.0, None), math.inf),
        (-1.0, (2.0, None), math.inf),
        (0.0, (0.0, None), 0.0),
        (-1.0, (-2.0, None), 0.0),
        (1.0, (None, None), -1.0),
        (None, (-1.0, 1.0), -1.0),
    ],
)
def test_share_of_the_way_to_the_limit_worked_by_hand(value, limits, share):
    assert limit_share(result("inaccuracy", "pass", value, limits)) == pytest.approx(share)


@given(value=floats(0.01, 100), limit=floats(0.01, 100))
def test_a_value_is_inside_its_limit_where_its_share_is_below_one(value, limit):
    assert (limit_share(result("inaccuracy", "pass", value, (None, limit))) <= 1) == (value <= limit)
    assert (limit_share(result("inaccuracy", "pass", value, (limit, None))) <= 1) == (value >= limit)


@pytest.mark.parametrize(
    ("value", "limits", "share"),
    [
        (1.5, (-1.0, 2.0), 200 / 3),
        (-0.5, (-1.0, 2.0), -200 / 3),
        (0.5, (-1.0, 2.0), 0.0),
        (0.5, (None, 2.0), 25.0),
        (-0.5, (None, 2.0), 0.0),
        (4.0, (2.0, None), -50.0),
        (-1.0, (2.0, None), -math.inf),
        (0.1, (None, 0.0), math.inf),
        (1.0, (None, None), None),
        (None, (-1.0, 1.0), None),
    ],
)
def test_the_sign_of_a_share_is_that_of_the_nearer_limit(value, limits, share):
    assert share_pct(result("inaccuracy", "pass", value, limits)) == (None if share is None else pytest.approx(share))


def test_the_sign_is_that_of_the_run_that_decides():
    """Runs of 28.6, 28.6 and 32 s against 27 to 33: the mean, 29.7, lies below the middle, the worst run 2/3 above."""
    judged = judge(
        replace(finding("stroke_time_open", 29.7), singly=(28.6, 28.6, 32.0)),
        limit("stroke_time_open", minimum=27.0, maximum=33.0),
        "simple",
    )
    assert share_pct(judged) == pytest.approx(200 / 3)


@pytest.mark.parametrize(
    ("graver", "lighter"),
    [
        ("fail", "conditional_fail"),
        ("conditional_fail", "not_tested"),
        ("not_tested", "conditional_pass"),
        ("not_assessable", "conditional_pass"),
        ("stale", "conditional_pass"),
        ("conditional_pass", "pass"),
    ],
)
def test_the_gravest_verdict_comes_first_however_near_the_others_are(graver, lighter):
    grave = result("zero_error", graver, 0.1, (-1.0, 1.0))
    light = result("span_error", lighter, 0.9, (-1.0, 1.0))
    assert worst_check(stage(light, grave)) is grave
    assert worst_check(stage(grave, light)) is grave


def test_of_equal_verdicts_the_one_farthest_towards_its_limit_counts():
    near, far = (result("inaccuracy", "pass", value, (-1.0, 1.0)) for value in (-0.9, 0.8))
    assert worst_check(stage(far, near)) is near
    gap, unjudged = result("dead_band", "not_tested"), result("dead_time", "not_assessable", 0.5, (None, 1.0))
    assert worst_check(stage(gap, unjudged)) is unjudged


def test_information_stands_behind_no_verdict():
    assert worst_check(stage(result("inaccuracy", "information", 5.0))) is None
    assert worst_check(stage()) is None


@pytest.mark.parametrize(
    ("value", "limits", "margin"),
    [
        (1.5, (-1.0, 2.0), 0.5),
        (-0.75, (-1.0, 2.0), 0.25),
        (2.0, (-1.0, 2.0), 0.0),
        (2.5, (-1.0, 2.0), -0.5),
        (-4.0, (-1.0, 2.0), -3.0),
        (0.5, (None, 2.0), 1.5),
        (3.0, (None, 2.0), -1.0),
        (5.0, (2.0, None), 3.0),
        (0.0, (2.0, None), -2.0),
        (0.0, (0.0, None), 0.0),
        (1.0, (None, None), None),
        (None, (-1.0, 1.0), None),
    ],
)
def test_the_margin_to_the_nearer_limit_worked_by_hand(value, limits, margin):
    found = limit_margin(result("inaccuracy", "pass", value, limits))
    assert found == (None if margin is None else pytest.approx(margin))


def test_the_margin_is_that_of_the_run_that_decides():
    """Runs of 28.6, 28.6 and 32 s against 27 to 33: 1 s is left of the worst, 2.7 s of the mean."""
    judged = judge(
        replace(finding("stroke_time_open", 29.7), singly=(28.6, 28.6, 32.0)),
        limit("stroke_time_open", minimum=27.0, maximum=33.0),
        "simple",
    )
    assert limit_margin(judged) == pytest.approx(1.0)


@given(value=floats(-5, 5), low=floats(-3, 0), high=floats(0, 3))
def test_a_margin_and_a_share_agree_on_which_side_a_value_is(value, low, high):
    made = result("inaccuracy", "pass", value, (low, high))
    assert (limit_margin(made) < -1e-9) <= (limit_share(made) > 1)
    assert (limit_margin(made) > 1e-9) <= (limit_share(made) < 1)
