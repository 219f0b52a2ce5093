"""One stage's records, each reduction of them made once."""

from __future__ import annotations

from kit.basis.tables import MEASUREMENTS
from tests.assessment.builders import stroke
from tests.assessment.made import hold, reduction, stage_records

EMPTY = dict.fromkeys(MEASUREMENTS, ())


def test_typed_rows_and_holds_are_reduced_apart():
    typed = [{**each, "feedback_pct": each["position_pct"] + 1.0} for each in stroke(0.0, 0.5, commands=(0, 50))]
    made = stage_records(EMPTY | {"readings": typed}, reduction(readings=(hold(25.0, 27.0, feedback_pct=30.0),)))
    assert made.typed_position.error_pct.tolist() == [0.0, 0.5]
    assert made.typed_feedback.error_pct.tolist() == [1.0, 1.0]
    assert made.recorded_position.error_pct.tolist() == [2.0]
    assert made.recorded_feedback.error_pct.tolist() == [3.0]
    assert (len(made.holds), made.holds["visit"][0], made.holds["stage"][0]) == (1, "1", "as_left")


def test_each_reduction_is_made_once():
    made = stage_records(EMPTY | {"readings": stroke(0.0, 0.5, commands=(0, 50))})
    assert made.typed_position is made.typed_position
    assert made.holds is made.holds


def test_what_was_not_recorded_is_not_there():
    made = stage_records(EMPTY)
    assert (made.typed_position, made.typed_feedback, made.recorded_position, made.recorded_feedback) == (None,) * 4
    assert made.sweep is None


def test_a_sweep_is_of_the_potentiometers_rows():
    rows = [{"position_pct": at, "wiper_ohm": 100 + 8 * at, "track_ohm": 1000.0} for at in (0.0, 100.0)]
    assert stage_records(EMPTY | {"potentiometer": rows}).sweep.ratio_pct.tolist() == [10.0, 90.0]
