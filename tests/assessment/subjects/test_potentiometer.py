"""The feedback potentiometer."""

from __future__ import annotations

import math

import pytest

from kit.assessment import assess_tag
from kit.basis.registers import Instrument, Tag
from tests.assessment.builders import LOOP_MA, POSITION, check, limit, records
from tests.assessment.with_recordings import recorded, with_recordings
from tests.making.valves import BadSpot, Feedback, VirtualValve


def test_potentiometer_margins_in_percent_of_track():
    """Wiper 80 to 920 ohm on 1000 ohm: 8 % left at each end."""
    sweep = [{"position_pct": float(at), "wiper_ohm": 80 + 8.4 * at, "track_ohm": 1000.0} for at in range(0, 101, 10)]
    ohm = Instrument("R", "ohm", accuracy_pct_reading=0.5)
    made = records(
        {"potentiometer": sweep},
        limit("potentiometer_low_margin", minimum=5),
        limit("potentiometer_dropouts", maximum=0),
        instruments=(ohm,),
    )
    assessment = assess_tag(made)
    low = check(assessment, "potentiometer_low_margin")
    assert low.value == pytest.approx(8.0)
    # ratio 8 % = 80/1000, both +-0.5 %: u = 8 * 0.005 * sqrt(2) / sqrt(3)
    assert low.budget.standard_uncertainty == pytest.approx(8 * 0.005 * math.sqrt(2 / 3), rel=1e-9)
    assert low.verdict == "pass"
    assert check(assessment, "potentiometer_dropouts").verdict == "pass"


def test_potentiometer_linearity_carries_the_position_reading_through_the_slope():
    """0.8 % of track a % of travel; position +-0.3 % and 0.1 % steps; weights of the minimax line 1/2, 1/4, 1/4."""
    bowed = [{"position_pct": at, "wiper_ohm": 100 + 8 * at + bow} for at, bow in ((0.0, 0), (50.0, 20), (100.0, 0))]
    tag = Tag("T", command_range=LOOP_MA, track_ohm=1000.0)
    exact_ohm = Instrument("R", "ohm", accuracy_fixed=0.0)
    assessment = assess_tag(records({"potentiometer": bowed}, tag=tag, instruments=(exact_ohm, POSITION)))
    found = check(assessment, "potentiometer_linearity")
    assert found.value == pytest.approx(1.0)  # half of 20 / 1000
    one = 0.8**2 * (0.3**2 / 3 + 0.1**2 / 12)
    assert found.budget.standard_uncertainty == pytest.approx(math.sqrt(one * (1 / 4 + 1 / 16 + 1 / 16)), rel=1e-9)


def test_a_bad_spot_on_the_track_is_counted_and_named() -> None:
    valve = VirtualValve(feedback=Feedback(bad_spots=(BadSpot(43.0, 1.5, "spike", -5.0),)))
    found = assess_tag(with_recordings(recorded(valve), limits=(limit("potentiometer_dropouts", maximum=0),)))
    assert check(found, "potentiometer_dropouts").verdict == "fail"
    assert "43" in check(found, "potentiometer_dropouts").at
