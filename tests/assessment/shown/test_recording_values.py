"""What tables of a recording list beside its figures."""

from __future__ import annotations

import dataclasses
import math

import pytest

from kit.assessment.shown.recording_values import has_own_feedback, hold_readings, left_open, pulses
from kit.basis.quantity import Quantity
from tests.assessment.builders import TAG
from tests.assessment.made import NOTHING, hold, read, reduction, still_recording, stroke


def test_each_hold_stands_beside_its_ideal_with_what_is_left_open():
    """A reverse action: 30 % command asks for 70 %; 0.03 % twice."""
    reverse = dataclasses.replace(TAG, action="reverse")
    held = hold(30.0, 71.5, travel_deviation_pct=0.03)
    (found,) = hold_readings(reduction(readings=(held,)), reverse)
    assert found.reading is held
    assert (found.ideal_pct, found.error_pct, found.left_open_pct) == pytest.approx((70.0, 1.5, 0.06))
    assert hold_readings(reduction(), TAG) == []


@pytest.mark.parametrize(
    ("as_travel", "feedback", "own"), [(False, 5.0, True), (True, 5.0, False), (False, math.nan, False)]
)
def test_a_feedback_beside_the_travel_is_its_own(as_travel, feedback, own):
    recording = still_recording(travel_is_feedback=as_travel)
    holds = (hold(0.0, 0.0, feedback_pct=math.nan), hold(0.0, 0.0, feedback_pct=feedback))
    assert has_own_feedback(reduction(recording, readings=holds)) == own


def test_pulses_of_each_way_worked_by_hand():
    """40 and 50 %: mean 45 %, 100/45 times as long; left open 2 * 0.5 = 1 %, of the times 100 / 45^2."""
    duties = (read(40.0, deviation=0.5), read(50.0, deviation=0.2), NOTHING)
    strokes = [stroke(Quantity(50.0), opens=False, duty=each) for each in duties]
    strokes.append(stroke(Quantity(20.0), duty=Quantity(80.0)))
    opening, closing = pulses(strokes)
    assert (opening.opens, opening.duty_pct, opening.duty_left_open_pct) == (True, 80.0, 0.0)
    assert (closing.opens, closing.duty_pct, closing.duty_left_open_pct) == (False, 45.0, pytest.approx(1.0))
    assert (closing.times_as_long, closing.times_left_open) == pytest.approx((100 / 45, 100 / 45**2))
    assert pulses(strokes[2:3]) == []


def test_what_is_left_open_is_twice_the_standard_uncertainty():
    assert left_open(read(1.0, deviation=0.25)) == 0.5
