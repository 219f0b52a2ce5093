"""Losses of signal and supply, and restoration."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from kit.basis.registers import Tag
from tests.assessment.builders import GOOD, LOOP_MA, check, limit, records
from tests.assessment.with_recordings import recorded, with_recordings
from tests.making.valves import SignalLoss, VirtualValve


@pytest.mark.parametrize(
    ("action", "cause", "before", "after", "verdict"),
    [
        ("closed", "signal_open", 50.0, 0.5, "pass"),
        ("closed", "signal_open", 50.0, 100.0, "fail"),
        ("open", "signal_short", 50.0, 100.0, "pass"),
        ("hold", "signal_open", 50.0, 50.5, "pass"),
        ("hold", "signal_open", 50.0, 0.0, "fail"),
        (
            "open",
            "supply_off",
            40.0,
            40.0,
            "pass",
        ),  # the supply's fail action is hold when the register leaves it blank
        ("open", "both_off", 40.0, 100.0, "fail"),
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
        instruments=GOOD,
    )
    assert [each.check for each in assess_tag(made).stages[0].checks if each.verdict != "information"] == [
        "fail_position"
    ]


def test_a_valve_that_fails_the_wrong_way_fails() -> None:
    valve = VirtualValve(signal_loss=SignalLoss(action="open"))
    found = assess_tag(with_recordings(recorded(valve), limits=(limit("fail_position", plus_minus=2.0),)))
    assert check(found, "fail_position", "signal_open").verdict == "fail"
    assert any("the register's fail action is closed" in each for each in found.remarks)
