"""The feedback potentiometer: off the middle, too much of its track used, worn, a loose lead.

What each resembles is common practice, no source; the middle of a track is arithmetic.
"""

from __future__ import annotations

from typing import Any

import pytest

from kit.assessment import assess_tag
from kit.assessment.causes import probable_causes
from kit.assessment.results import ProbableCause, RecordingResult
from kit.basis.quantity import Quantity
from kit.basis.registers import Instrument
from kit.basis.verdicts import CHECK_VERDICTS
from kit.calculations.recordings.bad_spots import BadSpot
from tests.assessment.builders import FINE, TAG, limit, records, result, stage
from tests.assessment.made import reduction, track

MARGINS = (limit("potentiometer_low_margin", minimum=5.0), limit("potentiometer_high_margin", minimum=5.0))
OHM = Instrument("R", "ohm", accuracy_pct_reading=0.01, resolution=FINE)
PLACES = tuple(range(0, 101, 10))


def recorded(*wipers: float, limits: Any = MARGINS) -> tuple[ProbableCause, ...]:
    """The causes of a sweep in steps of 10 % over a track of 1000 ohm."""
    rows = [
        {"position_pct": float(at), "wiper_ohm": wiper, "track_ohm": 1000.0}
        for at, wiper in zip(PLACES, wipers, strict=True)
    ]
    return assess_tag(records({"potentiometer": rows}, *limits, instruments=(OHM,), rule="simple")).stages[0].causes


def evenly(low: float, high: float) -> list[float]:
    return [low + (high - low) * at / 100 for at in PLACES]


def test_a_potentiometer_in_the_middle_of_its_track_resembles_nothing():
    assert recorded(*evenly(80.0, 920.0)) == ()


@pytest.mark.parametrize(
    ("low", "high", "left"),
    [(20.0, 860.0, "2.0 % below and 14.0 % above"), (140.0, 980.0, "14.0 % below and 2.0 % above")],
)
def test_off_the_middle_says_what_the_middle_would_leave_and_how_far_to_turn(low, high, left):
    """By hand: 2 and 14 % of 1000 ohm make 8 % in the middle, and half their difference is 6 %."""
    (cause,) = recorded(*evenly(low, high))
    assert (cause.pattern, cause.runner_up) == ("potentiometer off the middle of its track", "")
    assert cause.evidence == f"Track left: {left} of the travel. In the middle it would be 8.0 % at either end."
    assert cause.adjust.startswith("Turn the potentiometer by 6.0 % of its track")
    assert len(cause.explains) == 1


def test_too_much_of_the_track_is_used_where_no_middle_leaves_enough():
    """By hand: 2 and 7 %: 4.5 % in the middle, of 5 %."""
    (cause,) = recorded(*evenly(20.0, 930.0))
    assert (cause.pattern, cause.runner_up) == ("potentiometer turned over too much of its track", "")
    assert cause.evidence.endswith("No place on the shaft leaves 5 % at both ends.")


def test_a_middle_that_leaves_just_enough_is_enough():
    (cause,) = recorded(*evenly(30.0, 930.0))
    assert cause.pattern == "potentiometer off the middle of its track"


def test_with_one_margin_alone_the_other_cause_comes_next():
    (cause,) = probable_causes(stage(result("potentiometer_low_margin", "fail", 2.0, (5.0, None))), TAG)
    assert cause.pattern == "potentiometer turned over too much of its track"
    assert cause.runner_up == "potentiometer off the middle of its track"
    assert cause.evidence.startswith("Track left: 2.0 % below of the travel.")


def test_of_two_limits_the_greater_is_what_a_middle_has_to_leave():
    """4 and 8 % make 6 % in the middle: enough for 5 %, not for 9 %."""
    low = result("potentiometer_low_margin", "fail", 4.0, (5.0, None))
    high = result("potentiometer_high_margin", "fail", 8.0, (9.0, None))
    (cause,) = probable_causes(stage(low, high), TAG)
    assert cause.pattern == "potentiometer turned over too much of its track"
    assert cause.evidence.endswith("No place on the shaft leaves 9 % at both ends.")


DROPOUTS = (limit("potentiometer_dropouts", maximum=0.0),)


def test_a_reversal_over_the_sweep_is_a_worn_track_with_a_loose_lead_next():
    wipers = evenly(80.0, 920.0)
    wipers[4] = wipers[3] - 60.0
    (cause,) = recorded(*wipers, limits=DROPOUTS)
    assert (cause.pattern, cause.runner_up) == ("potentiometer track worn or dirty", "loose lead or wiper contact")
    assert cause.evidence.startswith("Reversals 1, breaks 0 over one sweep")
    assert cause.explains == (("potentiometer_dropouts", ""),)


def test_a_break_without_a_reversal_is_a_loose_lead_with_a_worn_track_next():
    wipers = evenly(80.0, 920.0)
    wipers[4] = 1200.0  # more than the track has
    (cause,) = recorded(*wipers, limits=DROPOUTS)
    assert (cause.pattern, cause.runner_up) == ("loose lead or wiper contact", "potentiometer track worn or dirty")
    assert cause.evidence.startswith("Reversals 0, breaks 1 over one sweep")


@pytest.mark.parametrize(
    ("opening", "closing", "told"), [(True, True, True), (True, False, False), (False, True, False)]
)
def test_a_place_that_a_recording_shows_both_ways_is_the_track_and_nothing_comes_next(opening, closing, told):
    spot = BadSpot(43.0, 1.5, -5.0, opening, closing)
    recording = RecordingResult("logs/T/1.as_left.csv", "", "", reduction(track=track(Quantity(1.0), spot)))
    made = stage(result("potentiometer_dropouts", "fail", 1.0, (None, 0.0)), recordings=(recording,))
    (cause,) = probable_causes(made, TAG)
    assert cause.pattern == "potentiometer track worn or dirty"
    assert (cause.runner_up == "") == told
    assert ("departs at 43 % of travel" in cause.evidence) == told


@pytest.mark.parametrize("verdict", CHECK_VERDICTS)
def test_a_cause_is_looked_for_only_where_a_limit_is_exceeded(verdict):
    checks = [
        result("potentiometer_low_margin", verdict, 2.0, (5.0, None)),
        result("potentiometer_high_margin", verdict, 14.0, (5.0, None)),
        result("potentiometer_dropouts", verdict, 1.0, (None, 0.0)),
    ]
    assert len(probable_causes(stage(*checks), TAG)) == (2 if verdict in ("fail", "conditional_fail") else 0)
