"""Adjustments of a valve in service without a record of what it was like."""

from __future__ import annotations

import pytest

from kit.records.suspicions.as_found import find_lost_as_found
from tests.records.suspicions.frames import run, seen

FIRST, SECOND = {"visit": "1", "date": "2026-03-04"}, {"visit": "2", "date": "2026-06-04"}
DONE = {"visit": "2", "what": "end_points"}


@pytest.mark.parametrize(
    ("visits", "stage", "asked"),
    [
        ([FIRST, SECOND], "as_left", True),
        ([FIRST, SECOND], "as_found", False),
        ([SECOND], "as_left", False),
        ([SECOND, {**FIRST, "date": ""}], "as_left", False),
    ],
)
def test_a_valve_in_service_is_read_before_it_is_adjusted(visits, stage, asked) -> None:
    readings = run([50.0], [50.0], visit="2", stage=stage)
    found = find_lost_as_found(seen(visits=visits, adjustments=[DONE, DONE], readings=readings))
    assert [(each.row, each.column, each.scope) for each in found] == ([(2, "what", None)] if asked else [])
