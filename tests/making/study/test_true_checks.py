"""A clean recording gives back the truth of every check that is looked for."""

from __future__ import annotations

import pytest

from kit.assessment import assess_tag
from tests.making.study.field_recordings import FieldRecording, field_recording, records_of
from tests.making.study.true_checks import OF_SIZE, Checked, checked

WHOLE = {"routine": ["commissioning"], "channels": ["all"], "stamps": ["fine"]}
ONLY = {"rate": ["50"], "bits": ["fine"], "hum": ["none"], "hunting": ["none"], "valve": ["plain"], **WHOLE}
OF_COMMAND = 0.3  # of what noise, wander and the hand move


@pytest.fixture(scope="module")
def field() -> FieldRecording:
    return field_recording(2, ONLY)


@pytest.fixture(scope="module")
def found(field: FieldRecording) -> list[Checked]:
    stage = assess_tag(records_of(field)).deciding
    assert stage is not None
    return checked(field, stage)


def test_every_subject_of_recordings_has_truths(found: list[Checked]) -> None:
    checks = {each.found.check for each in found}
    assert {"zero_error", "feedback_inaccuracy", "stroke_time_open", "dead_time", "hunting_amplitude"} <= checks
    assert {"starts_per_hour", "fail_position", "closed_switch_position", "potentiometer_dropouts"} <= checks


def test_static_readings_are_near_their_truth(found: list[Checked]) -> None:
    """The calculations of the study are not those that found the readings in the samples."""
    static = [each for each in found if each.found.check in ("zero_error", "inaccuracy", "hysteretic_error")]
    assert len(static) == 3
    for each in static:
        value = each.found.value or 0.0
        error = abs(value) - abs(each.true) if each.found.check in OF_SIZE else value - each.true
        assert abs(error) < OF_COMMAND


def test_the_true_stroke_time_is_the_way_over_the_speed(field: FieldRecording, found: list[Checked]) -> None:
    """And what waits and lags besides: at most the delays, the run-up and the last half per cent."""
    true = next(each.true for each in found if each.found.check == "stroke_time_open")
    full_s = 100.0 / field.valve.motor.open_speed_pct_s
    assert 0.97 * full_s < true < 1.05 * full_s + 1.5
