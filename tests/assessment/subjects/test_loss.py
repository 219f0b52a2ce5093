"""Losses of signal and supply, and restoration."""

from __future__ import annotations

import dataclasses
import math

import pytest

from kit.assessment import assess_tag
from kit.assessment.recordings.cause_of_loss import cause_of
from kit.assessment.subjects.loss import LOSS
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from tests.assessment.builders import GOOD, LOOP_MA, TAG, check, limit, records
from tests.assessment.made import loss, read, recorded, reduction, stage_records, typed
from tests.assessment.with_recordings import recorded as recorded_valve
from tests.assessment.with_recordings import with_recordings
from tests.making.valves import SignalLoss, VirtualValve


@pytest.mark.parametrize(
    ("action", "cause", "before", "after", "verdict"),
    [
        ("closed", "signal_open", 50.0, 0.5, "pass"),
        ("closed", "signal_open", 50.0, 100.0, "fail"),
        ("open", "signal_short", 50.0, 100.0, "pass"),
        ("hold", "signal_open", 50.0, 50.5, "pass"),
        ("hold", "signal_open", 50.0, 0.0, "fail"),
        ("open", "supply_off", 40.0, 40.0, "not_assessable"),  # the register leaves the supply's action blank
        ("open", "both_off", 40.0, 100.0, "not_assessable"),
    ],
)
def test_fail_position_is_held_against_the_action_for_its_cause(action, cause, before, after, verdict):
    made = records(
        {"fail_tests": [{"cause": cause, "position_before_pct": before, "position_after_pct": after, "time_s": 8.0}]},
        limit("fail_position", plus_minus=2.0),
        tag=Tag("T", command_range=LOOP_MA, limits="modulating", fail_action=action),
        instruments=GOOD,
    )
    assert check(assess_tag(made), "fail_position", cause).verdict == verdict


def test_holding_needs_no_fail_time():
    made = records(
        {"fail_tests": [{"cause": "supply_off", "position_before_pct": 50.0, "position_after_pct": 50.0}]},
        limit("fail_position", plus_minus=2.0),
        limit("fail_time", maximum=30.0),
        tag=dataclasses.replace(TAG, fail_action_supply="hold"),
        instruments=GOOD,
    )
    assert [each.check for each in assess_tag(made).stages[0].checks if each.verdict != "information"] == [
        "fail_position"
    ]


def test_a_valve_that_fails_the_wrong_way_fails() -> None:
    valve = VirtualValve(signal_loss=SignalLoss(action="open"))
    found = assess_tag(with_recordings(recorded_valve(valve), limits=(limit("fail_position", plus_minus=2.0),)))
    assert check(found, "fail_position", "signal_open").verdict == "fail"
    assert any("the register's fail action is closed" in each for each in found.remarks)


def lost(*rows, cause="signal_open", **further):
    return typed(LOSS, [{"cause": cause, **each} for each in rows], **further)


def at(after, before=float("nan"), **further):
    return {"position_before_pct": before, "position_after_pct": after, **further}


@pytest.mark.parametrize(
    ("cause", "action"),
    [("signal_open", "open"), ("signal_short", "open"), ("supply_off", "closed"), ("both_off", "closed")],
)
def test_the_supplys_action_counts_as_soon_as_the_supply_is_lost(cause, action):
    tag = dataclasses.replace(TAG, fail_action="open", fail_action_supply="closed")
    assert tag.fail_action_on(cause) == action
    target = {"open": 100.0, "closed": 0.0}[action]
    assert lost(at(50.0), cause=cause, tag=tag)["fail_position", cause].target == target


def test_of_several_losses_the_one_farthest_from_its_target_counts_with_where_it_came_from():
    """Closed: 3 % is farther from 0 than 1 %."""
    found = lost(at(1.0, 80.0), at(3.0, 40.0), at(2.0, 60.0))["fail_position", "signal_open"]
    assert (found.value, found.at, found.target) == (3.0, "from 40.0 %", 0.0)
    # one reading of the position: 0.3/sqrt(3) and 0.1/sqrt(12)
    budget = found.uncertainty.budget
    assert budget.standard_uncertainty == pytest.approx(math.sqrt(0.3**2 / 3 + 0.1**2 / 12))
    assert {each.instrument for each in budget.components} == {"P"}


def test_a_valve_that_holds_is_held_against_where_each_loss_found_it():
    tag = dataclasses.replace(TAG, fail_action="hold")
    found = lost(at(50.5, 50.0), at(78.0, 80.0), tag=tag)["fail_position", "signal_open"]
    assert (found.value, found.target, found.at) == (78.0, 80.0, "from 80.0 %")


def test_without_a_target_the_first_position_stands_and_has_no_target():
    bare = dataclasses.replace(TAG, fail_action=None)
    found = lost(at(30.0), at(70.0), tag=bare)["fail_position", "signal_open"]
    assert (found.value, found.target, found.at) == (30.0, None, "")
    holding = dataclasses.replace(TAG, fail_action="hold")  # without a position before, "hold" is no place
    assert lost(at(30.0), at(70.0), tag=holding)["fail_position", "signal_open"].target is None
    one = lost(at(30.0), at(70.0, 60.0), tag=holding)["fail_position", "signal_open"]
    assert (one.value, one.target) == (70.0, 60.0)


def test_a_loss_without_a_position_says_so():
    found = lost(at(float("nan"), 50.0))["fail_position", "signal_open"]
    assert (found.value, found.why_not) == (None, "no position recorded")


def test_the_longest_time_counts_and_carries_the_stopwatch():
    found = lost(at(0.0, time_s=8.0), at(0.0, time_s=9.0), at(0.0))["fail_time", "signal_open"]
    assert (found.value, found.needless, found.target) == (9.0, False, None)
    assert found.uncertainty.budget.standard_uncertainty == pytest.approx(math.sqrt(0.2**2 / 3 + 0.1**2 / 12))
    assert {each.instrument for each in found.uncertainty.budget.components} == {"S"}


@pytest.mark.parametrize(
    ("cause", "action", "supply", "needless"),
    [
        ("signal_open", "hold", "open", True),
        ("signal_open", "closed", "hold", False),
        ("both_off", "closed", "hold", True),
        ("supply_off", "hold", "closed", False),
    ],
)
def test_a_missing_time_is_needless_only_where_the_valve_holds_for_that_cause(cause, action, supply, needless):
    tag = dataclasses.replace(TAG, fail_action=action, fail_action_supply=supply)
    assert lost(at(50.0, 50.0), cause=cause, tag=tag)["fail_time", cause].needless == needless
    by_recording = recorded(LOSS, reduction(losses=(loss(Quantity(50.0)),)), tag=tag)
    assert by_recording["fail_time", "signal_open"].needless == (action == "hold")


def test_restoration_is_held_against_what_its_command_asks_for():
    """A reverse action: 30 % command asks for 70 %. Of two, the one farthest from its own."""
    tag = dataclasses.replace(TAG, action="reverse")
    rows = [
        at(0.0, 40.0, position_restored_pct=71.0, command_restored_pct=30.0),
        at(0.0, 60.0, position_restored_pct=47.0, command_restored_pct=50.0),
    ]
    found = lost(*rows, tag=tag)["restored_position", "signal_open"]
    assert (found.value, found.target, found.at) == (47.0, pytest.approx(50.0), "from 60.0 %")
    bare = lost(at(0.0, position_restored_pct=71.0))["restored_position", "signal_open"]
    assert (bare.value, bare.target) == (71.0, None)


def test_each_cause_has_three_rows_of_its_own_in_order():
    rows = [{"cause": cause, "position_after_pct": 0.0} for cause in ("both_off", "signal_open")]
    assert list(typed(LOSS, rows)) == [
        (name, cause)
        for cause in ("signal_open", "both_off")
        for name in ("fail_position", "fail_time", "restored_position")
    ]


def test_recorded_losses_are_of_the_signal_and_the_farthest_counts():
    """Closed: 4 % is farther than 1 %; the longest time 9 s; restored 5 % off rather than 1 %."""
    near = loss(
        read(1.0, "travel"), before=Quantity(50.0), time=read(9.0), restored=read(51.0, "travel"), command_pct=50.0
    )
    far = loss(
        read(4.0, "travel", 0.4), before=Quantity(70.0), time=read(8.0), restored=read(65.0, "travel"), command_pct=70.0
    )
    found = recorded(LOSS, reduction(losses=(near,)), reduction(losses=(far,)))
    position, time, restored = (
        found[name, "signal_open"] for name in ("fail_position", "fail_time", "restored_position")
    )
    assert (position.value, position.target, position.at) == (4.0, 0.0, "from 70.0 %")
    assert (time.value, time.at, time.needless) == (9.0, "", False)
    assert (restored.value, restored.target) == (65.0, 70.0)
    # 0.4 by noise, 0.3/sqrt(3) and 0.1/sqrt(12) by the instrument
    assert position.uncertainty.budget.standard_uncertainty == pytest.approx(math.sqrt(0.16 + 0.03 + 0.01 / 12))


def test_the_longest_recorded_time_counts_wherever_it_stands():
    unknown = loss(read(1.0, "travel"))
    timed = [loss(read(1.0, "travel"), time=read(time_s)) for time_s in (8.0, 9.0)]
    for losses in ((*timed, unknown), (unknown, *timed), tuple(reversed(timed))):
        assert recorded(LOSS, reduction(losses=losses))["fail_time", "signal_open"].value == 9.0


def test_a_recorded_valve_that_holds_is_held_against_where_it_stood():
    tag = dataclasses.replace(TAG, fail_action="hold")
    stood = loss(Quantity(49.0), before=Quantity(50.0))
    moved = loss(Quantity(60.0), before=Quantity(70.0))
    found = recorded(LOSS, reduction(losses=(stood, moved)), tag=tag)["fail_position", "signal_open"]
    assert (found.value, found.target, found.at) == (60.0, 70.0, "from 70.0 %")


def test_recorded_losses_without_a_target_or_a_value():
    bare = dataclasses.replace(TAG, fail_action=None)
    two = (loss(Quantity(30.0)), loss(Quantity(70.0), command_pct=50.0, restored=Quantity(58.0)))
    found = recorded(LOSS, reduction(losses=two), tag=bare)
    assert (found["fail_position", "signal_open"].value, found["fail_position", "signal_open"].target) == (30.0, None)
    assert found["fail_position", "signal_open"].at == ""
    assert (found["restored_position", "signal_open"].value, found["restored_position", "signal_open"].target) == (
        58.0,
        50.0,
    )
    unknown = loss(Quantity(None, "it did not come to rest"), time=Quantity(None, "it moved on"))
    nothing = recorded(LOSS, reduction(losses=(unknown,)))
    assert nothing["fail_position", "signal_open"].why_not == "it did not come to rest"
    assert nothing["fail_time", "signal_open"].why_not == "it moved on"
    assert nothing["restored_position", "signal_open"].why_not == "not recorded"


def test_a_recorded_position_with_a_target_comes_before_one_without():
    """A hold: without a position before the loss there is no target for the first one."""
    tag = dataclasses.replace(TAG, fail_action="hold")
    two = (loss(Quantity(10.0)), loss(Quantity(50.5), before=Quantity(50.5)))
    found = recorded(LOSS, reduction(losses=two), tag=tag)["fail_position", "signal_open"]
    assert (found.value, found.target) == (50.5, 50.5)


def test_a_recorded_loss_stands_for_the_test_of_an_open_signal():
    assert LOSS.recorded_tests(stage_records(None, reduction(losses=(loss(Quantity(0.0)),)))) == {
        "fail_tests",
        "fail_tests:signal_open",
    }
    assert LOSS.recorded_tests(stage_records(None, reduction())) == set()
    assert recorded(LOSS, reduction()) == {}


def time_of(*cells, action="closed"):
    rows = [{"cause": "signal_open", "position_before_pct": 60.0, "position_after_pct": 0.0, **each} for each in cells]
    made = records(
        {"fail_tests": rows},
        limit("fail_time", maximum=30.0),
        tag=dataclasses.replace(TAG, fail_action=action),
        instruments=GOOD,
    )
    return [each for each in assess_tag(made).deciding.checks if each.check == "fail_time"]


@pytest.mark.parametrize(
    ("time_s", "bounds", "verdict"),
    [
        (60.0, "time_s:above", "fail"),
        (20.0, "time_s:above", "not_assessable"),
        (20.0, "time_s:below", "pass"),
        (40.0, "time_s:below", "not_assessable"),
        (math.inf, "time_s:never", "fail"),
    ],
)
def test_a_time_on_loss_read_as_a_bound(time_s, bounds, verdict):
    (found,) = time_of({"time_s": 12.0}, {"time_s": time_s, "bounds": bounds})
    assert found.verdict == verdict


def test_a_valve_that_holds_is_right_not_to_move():
    assert time_of({"time_s": math.inf, "bounds": "time_s:never"}, action="hold") == []


SEEN = loss(read(3.0, "travel"), before=Quantity(50.0), time=read(4.0))
GUESSED = dataclasses.replace(loss(read(0.0, "travel"), before=Quantity(50.0), time=read(5.0)), is_blank=True)
BOUNCED = dataclasses.replace(loss(read(50.0, "travel"), before=Quantity(50.0)), lasted_s=0.5)


@pytest.mark.parametrize(
    ("unproven", "cause", "reason"),
    [
        (GUESSED, "cause_unknown", "the command is blank there"),
        (BOUNCED, "signal_open", "the loss lasted 0.5 s and moved the valve to no other place, which is too short"),
    ],
)
@pytest.mark.parametrize("action", ["closed", "hold"])
def test_what_shows_no_loss_passes_and_fails_nothing_and_gives_way_to_one_that_was_seen(
    unproven, cause, reason, action
):
    tag = dataclasses.replace(TAG, fail_action=action)
    alone = recorded(LOSS, reduction(losses=(unproven,)), tag=tag)
    for name in ("fail_position", "fail_time", "restored_position"):
        assert alone[name, cause].value is None
        assert reason in alone[name, cause].shortfall
    both = recorded(LOSS, reduction(losses=(unproven, SEEN)), tag=tag)
    assert (both["fail_position", "signal_open"].value, both["fail_time", "signal_open"].value) == (3.0, 4.0)
    assert reason not in both["fail_position", "signal_open"].shortfall


UNKNOWN = dataclasses.replace(SEEN, causes=("signal_open", "signal_short", "both_off"))
SUPPLY = dataclasses.replace(SEEN, causes=("supply_off",))


@pytest.mark.parametrize(
    ("found", "unit", "typed_causes", "cause"),
    [
        (SEEN, "mA", (), "signal_open"),
        (dataclasses.replace(SEEN, causes=("signal_open", "signal_short")), "mA", (), "signal_open"),
        (dataclasses.replace(SEEN, causes=("signal_open", "signal_short")), "mA", ("signal_short",), "signal_short"),
        (dataclasses.replace(SEEN, causes=("signal_open", "signal_short")), "V", (), "cause_unknown"),
        (UNKNOWN, "mA", (), "cause_unknown"),
        (UNKNOWN, "mA", ("both_off", "supply_off"), "both_off"),
        (UNKNOWN, "mA", ("both_off", "signal_open"), "cause_unknown"),
        (SUPPLY, "mA", ("signal_open",), "supply_off"),
        (dataclasses.replace(SUPPLY, causes=("supply_off", "both_off")), "V", (), "supply_off"),
        (dataclasses.replace(SUPPLY, causes=("supply_off", "both_off")), "mA", ("both_off",), "both_off"),
    ],
)
def test_a_recorded_loss_has_the_cause_that_it_shows_and_else_the_one_typed(found, unit, typed_causes, cause):
    signal = LOOP_MA if unit == "mA" else SignalRange(2.0, 10.0, "V", "2-10 V")
    tag = dataclasses.replace(TAG, command_range=signal)
    assert cause_of(found, tag, typed_causes) == cause


EITHER = dataclasses.replace(SUPPLY, causes=("supply_off", "both_off"))


@pytest.mark.parametrize(
    ("losses", "typed_causes", "short"),
    [((EITHER,), (), True), ((EITHER, SUPPLY), (), False), ((EITHER,), ("supply_off",), False)],
)
def test_a_loss_of_supply_without_a_command_fails_and_never_passes_unless_the_cause_is_typed(
    losses, typed_causes, short
):
    tag = dataclasses.replace(TAG, fail_action="open", fail_action_supply="closed")
    typed = {"fail_tests": [{"cause": each} for each in typed_causes]}
    stage = stage_records(typed, reduction(losses=losses), tag=tag)
    found = {(each.check, each.detail): each for each in LOSS.recorded(stage)}
    assert found["fail_position", "supply_off"].value == 3.0
    assert found["fail_position", "supply_off"].target == 0.0
    for name in ("fail_position", "fail_time"):
        assert ("no command was recorded" in found[name, "supply_off"].shortfall) is short


def test_a_loss_of_supply_is_held_against_the_fail_action_of_the_supply():
    tag = dataclasses.replace(TAG, fail_action="closed", fail_action_supply="hold")
    found = recorded(LOSS, reduction(losses=(dataclasses.replace(SUPPLY, position=Quantity(49.0)),)), tag=tag)
    assert set(found) == {(name, "supply_off") for name in ("fail_position", "fail_time", "restored_position")}
    assert found["fail_position", "supply_off"].target == 50.0


def test_a_loss_of_unknown_cause_answers_no_test_that_names_one():
    assert LOSS.recorded_tests(stage_records(None, reduction(losses=(UNKNOWN,)))) == {"fail_tests"}
    assert LOSS.recorded_tests(stage_records(None, reduction(losses=(SUPPLY, UNKNOWN)))) == {
        "fail_tests",
        "fail_tests:supply_off",
    }


def test_a_signal_that_sank_took_the_valve_along_and_tells_its_actions_apart_no_more():
    """It stood at 50 % and had followed to 4 % when the signal had gone: closed is no proof."""
    sunk = dataclasses.replace(SEEN, at_loss_pct=4.0)
    found = recorded(LOSS, reduction(losses=(sunk,)))["fail_position", "signal_open"]
    assert (found.shortfall_verdict, "begun at 4 %" in found.shortfall) == ("not_tested", True)


def test_a_recorded_position_held_carries_both_readings_and_their_noise():
    """Held from 50 to 49 %: the accuracy cancels; resolution 0.1/sqrt(12) twice, noise 0.03 and 0.04 together 0.05."""
    held = loss(read(49.0, "travel", 0.03), before=read(50.0, "travel", 0.04))
    tag = dataclasses.replace(TAG, fail_action="hold")
    budget = recorded(LOSS, reduction(losses=(held,)), tag=tag)["fail_position", "signal_open"].uncertainty.budget
    assert budget.standard_uncertainty == pytest.approx(math.sqrt(2 * 0.1**2 / 12 + 0.05**2))
    closes = recorded(LOSS, reduction(losses=(held,)))["fail_position", "signal_open"].uncertainty.budget
    assert closes.standard_uncertainty == pytest.approx(math.sqrt(0.3**2 / 3 + 0.1**2 / 12 + 0.03**2))


def test_a_recorded_position_after_restoration_carries_the_command_that_it_is_held_against():
    """0.3/sqrt(3) and 0.1/sqrt(12) of the position, 0.1/sqrt(3) of the command."""
    back = loss(read(1.0, "travel"), restored=read(51.0, "travel"), command_pct=50.0)
    found = recorded(LOSS, reduction(losses=(back,)))["restored_position", "signal_open"]
    assert found.uncertainty.budget.standard_uncertainty == pytest.approx(
        math.sqrt(0.3**2 / 3 + 0.1**2 / 12 + 0.1**2 / 3), rel=1e-6
    )
    assert {each.instrument for each in found.uncertainty.budget.components} == {"P", "C"}
