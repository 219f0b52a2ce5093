"""Which instrument took a reading, and whether it can vouch for it."""

from __future__ import annotations

import dataclasses
import math

import pytest

from kit.assessment import assess_tag
from kit.basis.registers import Instrument, Tag
from tests.assessment.builders import COMMAND, LOOP_MA, POSITION, check, limit, records, stroke


@pytest.mark.parametrize(
    ("instruments", "says"),
    [
        ((COMMAND,), "position instrument P is not in the instrument register"),
        (
            (COMMAND, dataclasses.replace(POSITION, due_on="2026-03-09")),
            "was past its due date 2026-03-09 on 2026-03-10",
        ),
        ((COMMAND, dataclasses.replace(POSITION, calibrated_on="2026-03-11")), "after the visit"),
        ((COMMAND, dataclasses.replace(POSITION, range_low=0, range_high=50)), "outside its range 0 to 50 pct"),
        ((COMMAND, dataclasses.replace(POSITION, measures="mm")), "measures mm, not pct"),
        ((COMMAND, dataclasses.replace(POSITION, accuracy_fixed=None)), "has no accuracy"),
        ((COMMAND, dataclasses.replace(POSITION, accuracy_fixed=None, accuracy_pct_range=0.1)), "no range"),
    ],
)
def test_an_instrument_that_cannot_vouch_leaves_no_uncertainty_and_no_pass(instruments, says):
    made = records({"readings": stroke(0, 0, 0, 0, 0.1)}, limit("inaccuracy", plus_minus=1.0), instruments=instruments)
    found = check(assess_tag(made), "inaccuracy")
    assert found.budget is None
    assert found.verdict == "not_assessable"
    assert says in found.reason


def test_on_the_due_date_itself_an_instrument_is_good():
    instruments = (COMMAND, dataclasses.replace(POSITION, due_on="2026-03-10"))
    found = check(assess_tag(records({"readings": stroke(0, 0, 0, 0, 0)}, instruments=instruments)), "inaccuracy")
    assert found.budget is not None


def test_degrees_and_milliamps_are_scaled_to_percent():
    """0.2 deg of 90 is 0.2222 % of travel, 0.016 mA of 16 is 0.1 % of range."""
    instruments = (Instrument("P", "deg", accuracy_fixed=0.2), Instrument("C", "mA", accuracy_fixed=0.016))
    tag = Tag("T", travel=90, travel_unit="deg", command_range=LOOP_MA, limits="modulating")
    rows = [{"direction": "up", "command_mA": 12.0, "position_deg": 45.9}]
    found = check(assess_tag(records({"readings": rows}, tag=tag, instruments=instruments)), "inaccuracy")
    assert found.value == pytest.approx(1.0)
    assert found.budget.standard_uncertainty == pytest.approx(
        math.sqrt((0.2 / 0.9) ** 2 + 0.1**2) / math.sqrt(3), rel=1e-9
    )
