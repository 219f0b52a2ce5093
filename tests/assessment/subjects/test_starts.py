"""Where losses have to begin and end before they prove anything."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis.strategies import floats, sampled_from

from kit.assessment import assess_tag
from kit.assessment.stage import assess_stage
from kit.assessment.subjects.loss import LOSS
from kit.basis.quantity import Quantity
from tests.assessment.builders import GOOD, TAG, check, limit, records
from tests.assessment.made import loss, read, recorded, reduction, stage_records

BLANK = float("nan")
TWO = (limit("fail_position", plus_minus=2.0), limit("fail_time", maximum=30.0))


def lost(*rows, action="closed", cause="signal_open", limits=TWO, tests=(), rule="simple"):
    """Position and time on loss from rows of position before, position after and time."""
    names = ("position_before_pct", "position_after_pct", "time_s")
    tag = dataclasses.replace(TAG, fail_action=action, fail_action_supply=None)
    made = [{"cause": cause, **dict(zip(names, each, strict=False))} for each in rows]
    return assess_tag(records({"fail_tests": made}, *limits, tag=tag, instruments=GOOD, tests=tests, rule=rule))


def verdicts(*rows, **further):
    found = lost(*rows, **further)
    cause = further.get("cause", "signal_open")
    return tuple(check(found, name, cause).verdict for name in ("fail_position", "fail_time"))


@pytest.mark.parametrize(
    ("action", "before", "after", "verdict"),
    [
        ("closed", 10.1, 0.0, "pass"),
        ("closed", 10.0, 0.0, "not_tested"),
        ("open", 89.9, 100.0, "pass"),
        ("open", 90.0, 100.0, "not_tested"),
        ("hold", 10.1, 10.1, "pass"),
        ("hold", 10.0, 10.0, "not_tested"),
        ("hold", 89.9, 89.9, "pass"),
        ("hold", 90.0, 90.0, "not_tested"),
        ("closed", BLANK, 0.0, "not_assessable"),
    ],
)
def test_a_loss_has_to_begin_where_the_actions_can_be_told_apart(action, before, after, verdict):
    assert verdicts((before, after, 8.0), action=action) == (verdict, verdict)


def test_a_loss_from_each_end_tells_a_hold_too():
    assert verdicts((2.0, 2.0, 1.0), (98.0, 98.0, 1.0), action="hold")[0] == "pass"
    assert verdicts((2.0, 2.0, 1.0), (3.0, 3.0, 1.0), action="hold")[0] == "not_tested"


def test_the_reason_says_where_to_begin_or_what_to_write():
    reason = check(lost((0.0, 0.0, 1.0)), "fail_position", "signal_open").reason
    assert reason == "begun at 0 %, where a valve that does otherwise may rest too: repeat it from mid travel"
    blank = check(lost((BLANK, 0.0, 1.0)), "fail_position", "signal_open").reason
    assert blank == "the position before the loss was not recorded: write position_before_pct (fail_tests)"
    unknown = check(lost((60.0, 60.0, 1.0), cause="supply_off"), "fail_position", "supply_off").reason
    assert "the register gives no fail action for this cause" in unknown


def test_a_time_counts_from_where_it_was_taken():
    """The loss from mid travel has no time; the one that has began at its own end."""
    assert verdicts((60.0, 0.0), (0.0, 0.0, 0.5)) == ("pass", "not_tested")


def test_a_failure_stays_one_wherever_it_began():
    assert verdicts((0.0, 30.0, 40.0))[0] == "fail"


@pytest.mark.parametrize(
    "limits", [(), (limit("fail_position", minimum=-200.0),), (limit("fail_position", plus_minus=110.0),)]
)
@pytest.mark.parametrize(("action", "after"), [("closed", 100.0), ("open", 0.0), ("hold", 100.0)])
def test_the_wrong_end_is_never_a_pass_whatever_the_limits_say(limits, action, after):
    before = 40.0
    found = check(lost((before, after, 8.0), action=action, limits=limits), "fail_position", "signal_open")
    assert found.verdict == "fail"
    assert found.limit_source.startswith("House definition: more than ")


@pytest.mark.parametrize(("after", "verdict"), [(10.0, "information"), (10.1, "fail")])
def test_without_a_limit_ten_percent_is_the_wrong_place(after, verdict):
    found = check(lost((60.0, after), limits=()), "fail_position", "signal_open")
    assert found.verdict == verdict


def test_a_limit_of_its_own_says_how_far_off_is_still_right():
    assert verdicts((60.0, 12.0, 8.0), limits=(limit("fail_position", plus_minus=15.0), TWO[1])) == (
        "pass",
        "not_assessable",
    )


def test_a_time_to_the_wrong_end_answers_nothing():
    found = check(lost((60.0, 100.0, 8.0)), "fail_time", "signal_open")
    assert (found.verdict, found.reason) == (
        "not_assessable",
        "the valve did not go where the register's fail action asks for",
    )


@pytest.mark.parametrize(
    ("limits", "tests", "verdict"),
    [
        ((), (), "information"),
        ((limit("fail_position", maximum=2.0),), (), "not_assessable"),
        ((), ("fail_tests:supply_off",), "not_assessable"),
    ],
)
def test_without_a_fail_action_in_the_register_a_loss_of_supply_has_no_target(limits, tests, verdict):
    found = check(lost((60.0, 0.0), cause="supply_off", limits=limits, tests=tests), "fail_position", "supply_off")
    assert found.verdict == verdict


def test_a_required_loss_begun_at_its_own_end_was_not_made():
    found = check(lost((0.0, 0.0), limits=(), tests=("fail_tests:signal_open",)), "fail_position", "signal_open")
    assert found.verdict == "not_tested"


def test_recorded_losses_begin_and_end_where_typed_ones_have_to():
    def short(*losses):
        found = recorded(LOSS, reduction(losses=losses))
        return tuple(
            found[name, "signal_open"].shortfall_verdict if found[name, "signal_open"].shortfall else ""
            for name in ("fail_position", "fail_time")
        )

    good = loss(read(0.0, "travel"), before=Quantity(60.0), time=read(8.0))
    at_end = loss(read(0.0, "travel"), before=Quantity(0.0), time=read(8.0))
    assert short(good) == ("", "")
    assert short(at_end) == ("not_tested", "not_tested")
    assert short(loss(read(0.0, "travel"), time=read(8.0))) == ("not_assessable", "not_assessable")
    wrong = loss(read(100.0, "travel"), before=Quantity(60.0), time=read(8.0))
    assert short(wrong) == ("", "not_assessable")
    assert recorded(LOSS, reduction(losses=(wrong,)))["fail_position", "signal_open"].house_limit.plus_minus == 10.0


def test_a_typed_wrong_end_beside_a_recorded_right_one_is_no_information():
    """Without a limit on it: one of the two is wrong, and which is for a person to find out."""
    rows = {"fail_tests": [{"cause": "signal_open", "position_before_pct": 60.0, "position_after_pct": 100.0}]}
    right = loss(read(0.0, "travel"), before=Quantity(60.0))
    found = assess_stage(stage_records(rows, reduction(losses=(right,))), decides=False)
    verdicts = {each.detail: each.verdict for each in found.result.checks if each.check == "fail_position"}
    assert verdicts == {"signal_open": "not_assessable", "signal_open, typed": "information"}
    near = {"fail_tests": [{**rows["fail_tests"][0], "position_after_pct": 3.0}]}
    found = assess_stage(stage_records(near, reduction(losses=(right,))), decides=False)
    assert {each.verdict for each in found.result.checks if each.check == "fail_position"} == {"information"}


@given(
    action=sampled_from(["closed", "open", "hold"]),
    before=floats(0, 100),
    after=floats(-5, 105),
    half=floats(0.5, 100),
    rule=sampled_from(["simple", "guarded", "by_ratio"]),
)
def test_a_pass_moved_to_within_its_limit_and_never_to_the_other_half(action, before, after, half, rule):
    """Whatever the limit: who passes stands within it and within half the travel, and did not begin there."""
    given_limit = (limit("fail_position", plus_minus=half),)
    found = check(lost((before, after), action=action, limits=given_limit, rule=rule), "fail_position", "signal_open")
    if found.verdict in ("pass", "conditional_pass"):
        target = {"closed": 0.0, "open": 100.0, "hold": before}[action]
        assert abs(after - target) <= min(half, 50.0) + 1e-6
        assert abs(before - target) > 10.0 or (action == "hold" and 10.0 < before < 90.0)
