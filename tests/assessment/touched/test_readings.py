"""Every reading that was taken with one instrument."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment.touched.readings import visits_touched
from kit.basis.registers import Visit
from tests.assessment import builders
from tests.assessment.with_recordings import recorded, with_recordings


def test_one_instrument_is_listed_in_each_of_its_roles_and_no_other() -> None:
    visit = dataclasses.replace(builders.visit(), feedback_instrument="C")
    tables = {
        "readings": [
            {"direction": "up", "command_mA": 4.0, "position_pct": 0.1, "feedback_mA": 4.1, "command_set_pct": 0.0}
        ],
        "fail_tests": [
            {"cause": "signal_lost", "position_after_pct": 0.2, "command_restored_pct": 50.0, "time_s": 3.0}
        ],
        "electrical": [{"loop_ohm": 250.0, "supply_idle_v": 24.0}],
    }
    (found,) = visits_touched(builders.records(tables, visits=(visit,)), "C", builders.GOOD, "")
    assert found.roles == ("command", "feedback")
    assert [(each.table, each.column, each.role, each.value, each.unit, each.row) for each in found.readings] == [
        ("readings", "command_mA", "command", 4.0, "mA", 2),
        ("readings", "feedback_mA", "feedback", 4.1, "mA", 2),
        ("fail_tests", "command_restored_pct", "command", 50.0, "% of command range", 2),
    ]


def test_a_bound_is_told_as_one() -> None:
    tables = {"strokes": [{"direction": "open", "time_s": 60.0, "bounds": "time_s:above"}]}
    (found,) = visits_touched(builders.records(tables), "S", builders.GOOD, "")
    assert [(each.value, each.bound) for each in found.readings] == [(60.0, "above")]


def test_recorded_channels_are_listed_with_their_extent() -> None:
    records = with_recordings(recorded())
    recording = records.recordings[0].recording
    assert recording is not None
    (found,) = visits_touched(records, "P", (), "")
    (reading,) = found.readings
    assert (reading.column, reading.value, reading.row, reading.file) == (
        "position_pct",
        None,
        None,
        records.recordings[0].file,
    )
    assert (reading.from_s, reading.to_s) == (recording.time_s[0], recording.time_s[-1])
    assert reading.samples <= len(recording)
    assert reading.least is not None
    assert reading.greatest is not None
    assert reading.least < 1.0 < 99.0 < reading.greatest


@pytest.mark.parametrize(("since", "visits"), [("", 3), ("2026-03-10", 2), ("2026-03-11", 1)])
def test_a_visit_without_a_date_may_have_been_after_the_day(since: str, visits: int) -> None:
    made = (builders.visit("1", "2025-03-10"), builders.visit("2"), builders.visit("3", ""))
    found = visits_touched(builders.records({}, visits=made), "P", builders.GOOD, since)
    assert [each.visit for each in found] == ["1", "2", "3"][3 - visits :]


def test_what_was_wrong_with_it_on_the_day_is_told_and_a_visit_that_does_not_name_it_is_not_there() -> None:
    records = builders.records({}, visits=(builders.visit("1", "2027-03-10"), Visit("2", "2027-03-11")))
    (found,) = visits_touched(records, "P", builders.GOOD, "")
    assert found.fault == "position instrument P was past its due date 2026-12-31 on 2027-03-10"
    assert visits_touched(records, "X", (), "") == ()
