"""Quantities from recordings as findings: which instrument read what, and how its errors add up."""

from __future__ import annotations

import math

import pytest

from kit.assessment.recordings.recording_budgets import finding_of
from kit.basis.quantity import Quantity, Reliance
from kit.basis.registers import Instrument
from kit.calculations.recordings.terms import noise
from tests.assessment.made import read, stage_records


def budget(quantity, records=None, **further):
    return finding_of("dead_band", quantity, records or stage_records(), **further).uncertainty.budget


@pytest.mark.parametrize(
    ("signal", "instrument"), [("command", "C"), ("travel", "P"), ("feedback", "F"), ("time", "S"), ("supply", "V")]
)
def test_each_signal_was_read_by_the_instrument_of_its_role(signal, instrument):
    assert {each.instrument for each in budget(read(5.0, signal)).components} == {instrument}


@pytest.mark.parametrize(("by_feedback", "instrument"), [(True, "F"), (False, "P")])
def test_travel_that_is_the_feedback_was_read_by_the_feedback_instrument(by_feedback, instrument):
    found = budget(read(5.0, "travel"), by_feedback=by_feedback)
    assert {each.instrument for each in found.components} == {instrument}


def test_a_travel_taken_from_the_feedback_is_said_beside_the_value():
    made = stage_records()
    assert finding_of("overshoot", read(5.0), made, by_feedback=True).at == "travel taken from the feedback signal"
    at = finding_of("overshoot", read(5.0), made, at="opening", by_feedback=True).at
    assert at == "opening, travel taken from the feedback signal"
    assert finding_of("overshoot", read(5.0), made, at="opening").at == "opening"


def test_readings_that_share_a_point_share_their_error_and_others_do_not():
    """+-0.3 by accuracy, steps of 0.1: at one point a difference leaves sqrt(2) 0.1/sqrt(12); at two all of both."""
    steps = 2 * 0.1**2 / 12
    for points, expected in (((3, 3), steps), ((3, 7), steps + 2 * 0.3**2 / 3)):
        relies = tuple(Reliance("travel", 5.0, sign, point) for sign, point in zip((1.0, -1.0), points, strict=True))
        assert budget(Quantity(0.0, relies_on=relies)).standard_uncertainty == pytest.approx(math.sqrt(expected))


def test_signals_share_no_point_though_their_numbers_are_alike():
    """Command 0.1/sqrt(3) once; position 0.3/sqrt(3) and 0.1/sqrt(12), doubled by its sensitivity."""
    relies = (Reliance("command", 5.0, -1.0, 0), Reliance("travel", 5.0, 2.0, 0))
    expected = 0.1**2 / 3 + 4 * (0.3**2 / 3 + 0.1**2 / 12)
    assert budget(Quantity(0.0, relies_on=relies)).standard_uncertainty == pytest.approx(math.sqrt(expected))


def test_each_reading_has_the_accuracy_of_its_own_place():
    """1 % of reading at 20 and 80 %."""
    percent = stage_records(instruments=(Instrument("P", "pct", accuracy_pct_reading=1.0),))
    relies = (Reliance("travel", 20.0, 1.0, 0), Reliance("travel", 80.0, -1.0, 1))
    expected = math.sqrt((0.2**2 + 0.8**2) / 3)
    assert budget(Quantity(0.0, relies_on=relies), percent).standard_uncertainty == pytest.approx(expected)


def test_noise_alone_makes_a_budget_and_nothing_at_all_makes_none():
    alone = budget(Quantity(1.0, components=(noise(0.2, "%", "made up"),)))
    assert alone.standard_uncertainty == pytest.approx(0.2)
    both = budget(read(1.0, "time", 0.2))
    assert both.standard_uncertainty == pytest.approx(math.sqrt(0.04 + 0.04 / 3 + 0.01 / 12))
    assert budget(Quantity(1.0)) is None
    assert budget(Quantity(None, "none", relies_on=(Reliance("time", 1.0, 1.0),))) is None


def test_a_finding_takes_its_own_target_before_the_fixed_one():
    made = stage_records()
    assert finding_of("dead_band", Quantity(1.0), made).target == 0.0
    assert finding_of("dead_band", Quantity(1.0), made, target=0.5).target == 0.5
    assert finding_of("dead_time", Quantity(1.0), made).target is None
    whole = finding_of("fail_time", Quantity(1.0), made, detail="signal_open", at="here", needless=True)
    assert (whole.detail, whole.at, whole.needless, whole.judged) == ("signal_open", "here", True, True)


def test_an_instrument_that_cannot_vouch_leaves_the_value_without_uncertainty():
    found = finding_of("dead_band", read(1.0, "travel", 0.2), stage_records(instruments=()))
    assert found.uncertainty.budget is None
    assert found.uncertainty.why_not == "position instrument P is not in the instrument register"
