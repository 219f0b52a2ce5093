"""What a reviewer should know and no check says."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.assessment.remarks import remarks
from kit.assessment.results import RecordingResult
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from tests.assessment.builders import GOOD, TAG, limit, records, result, stage, stroke, visit


def test_readings_as_found_alone_give_no_verdict_as_left():
    made = records(
        {"readings": [{**each, "stage": "as_found"} for each in stroke(0, 0, 0, 0, 0)]},
        limit("inaccuracy", plus_minus=1.0),
        instruments=GOOD,
    )
    assessment = assess_tag(made)
    assert assessment.verdict == "incomplete"
    assert any("none as left" in each for each in assessment.remarks)


def test_a_wrong_fail_direction_is_said_even_without_a_limit():
    made = records({"fail_tests": [{"cause": "signal_open", "position_before_pct": 50.0, "position_after_pct": 100.0}]})
    assert any("came to rest at 100.0 %" in each for each in assess_tag(made).remarks)


def said(made, *checks, **further):
    return remarks(made, stage(*checks, **further))


@pytest.mark.parametrize(
    ("signal", "live"),
    [(SignalRange(0, 20, "mA", "0-20 mA"), False), (SignalRange(4, 20, "mA", "4-20 mA"), True), (None, True)],
)
def test_a_command_without_live_zero_is_told_with_or_without_records(signal, live):
    made = records({}, tag=Tag("T", command_range=signal))
    text = (
        "The command range 0-20 mA has no live zero: the positioner cannot tell an open or shorted signal from 0 %. "
        "A fail action on loss of signal is not detectable, and a pass here proves only where the valve went."
    )
    for deciding in (None, stage()):
        assert remarks(made, deciding) == (() if live else (text,))


@pytest.mark.parametrize(
    ("technician", "checked_by", "told"), [("A", "A", True), ("A", "B", False), ("", "", False), ("A", "", False)]
)
def test_a_record_checked_by_its_maker_is_told(technician, checked_by, told):
    seen = dataclasses.replace(visit(), technician=technician, checked_by=checked_by)
    other = dataclasses.replace(visit("0"), technician="A", checked_by="A")
    text = "The record was checked by the person who made it."
    assert said(records({}, visits=(other, seen))) == ((text,) if told else ())
    assert remarks(records({}, visits=(seen,)), None) == ()


def test_a_visit_without_its_row_is_told():
    assert said(records({}, visits=(visit("0"),))) == (
        "Visit 1 has no row in the visits table: date, people and instruments are not known.",
    )


@pytest.mark.parametrize(
    ("value", "target", "told"),
    [(2.0, 0.0, False), (2.1, 0.0, True), (98.0, 100.0, False), (97.9, 100.0, True), (0.0, None, False)],
)
def test_a_valve_that_came_to_rest_elsewhere_than_registered_is_told(value, target, told):
    found = said(records({}), result("fail_position", "information", value, detail="signal_open", target=target))
    assert bool(found) == told


def test_where_it_came_to_rest_and_where_it_should_have_stand_in_the_sentence():
    made = records({}, tag=dataclasses.replace(TAG, fail_action_supply="open"))
    wrong = result("fail_position", "pass", 0.04, detail="supply_off", target=100.0)
    unlike = result("restored_position", "fail", 0.0, detail="supply_off", target=100.0)
    gap = result("fail_position", "not_tested", detail="both_off", target=100.0)
    assert said(made, unlike, gap, wrong) == (
        "With supply off the valve came to rest at 0.0 % of travel; the register's fail action is open (100.0 %).",
    )


def test_readings_as_found_alone_are_told_for_the_deciding_visit_only():
    as_found = [{**each, "stage": "as_found"} for each in stroke(0, 0, 0, 0, 0)]
    text = "The newest visit has readings as found and none as left; the verdict is that of as left."
    assert said(records({"readings": as_found})) == (text,)
    assert said(records({"readings": [*as_found, *stroke(0, 0, 0, 0, 0)]})) == ()
    assert said(records({"readings": [{**each, "visit": "0"} for each in as_found]})) == ()
    recording = RecordingResult("logs/T/1.as_left.csv", "", "", None, why_not="no sample")
    assert said(records({"readings": as_found}), recordings=(recording,)) == (
        "logs/T/1.as_left.csv could not be used: no sample",
    )


def test_remarks_stand_in_the_order_of_a_report():
    seen = dataclasses.replace(visit(), technician="A", checked_by="A")
    as_found = [{**each, "stage": "as_found"} for each in stroke(0, 0, 0, 0, 0)]
    bare = dataclasses.replace(TAG, command_range=SignalRange(0, 10, "V", "0-10 V"))
    made = records({"readings": as_found}, tag=bare, visits=(seen,))
    wrong = result("fail_position", "pass", 50.0, detail="signal_open", target=0.0)
    assert [each.split()[0:2] for each in said(made, wrong)] == [
        ["The", "command"],
        ["The", "record"],
        ["With", "command"],
        ["The", "newest"],
    ]


def test_a_typed_loss_beside_a_recorded_one_is_told_likewise():
    typed = result("fail_position", "information", 90.0, detail="signal_open, typed", target=0.0)
    (told,) = said(records({}), typed)
    assert told.startswith("With command signal open the valve came to rest at 90.0 %")
