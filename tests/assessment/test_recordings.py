"""A tag whose whole record is a recording, and recordings beside typed rows."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from kit.assessment import assess_tag
from kit.assessment.recordings.describe import describe_recordings
from kit.assessment.results import CheckResult, TagAssessment
from kit.basis.recording import Segment
from kit.basis.records import RecordingFile, TagRecords
from kit.basis.registers import Instrument, Tag
from kit.basis.settings import Limit
from kit.basis.signals import SignalRange
from kit.records.recordings.read import read_recording
from tests.assessment.builders import limit, records, visit
from tests.making.valves import (
    BadSpot,
    Controller,
    Feedback,
    Logger,
    Motor,
    SignalLoss,
    VirtualValve,
    commissioning_routine,
    csv_text,
    simulate,
)

LOOP = SignalRange(4.0, 20.0, "mA", "4-20 mA")
TAG = Tag(
    "T",
    travel=90.0,
    travel_unit="deg",
    command_range=LOOP,
    feedback_range=LOOP,
    fail_action="closed",
    stroke_time_open_s=30.0,
    stroke_time_close_s=30.0,
    starts_per_hour_max=1200.0,
    limits="modulating",
)
INSTRUMENTS = (
    Instrument("C", "mA", accuracy_fixed=0.01),
    Instrument("F", "mA", accuracy_fixed=0.01),
    Instrument("P", "deg", accuracy_fixed=0.05),
    Instrument("S", "s", accuracy_fixed=0.01),
)


def recorded(valve: VirtualValve | None = None, channels: tuple[str, ...] | None = None) -> bytes:
    generator = np.random.default_rng(11)
    valve = valve or VirtualValve()
    routine = commissioning_routine(valve, generator)
    logger = Logger(rate_hz=10.0) if channels is None else Logger(rate_hz=10.0, channels=channels)
    return csv_text(simulate(valve, routine, logger, generator=generator)[0]).encode()


@pytest.fixture(scope="module")
def healthy() -> bytes:
    return recorded()


def with_logs(
    *data: bytes,
    tables: dict[str, Any] | None = None,
    limits: tuple[Limit, ...] = (),
    tests: tuple[str, ...] = (),
    **further: Any,
) -> TagRecords:
    made = records(tables or {}, *limits, tag=TAG, instruments=INSTRUMENTS, tests=tests)
    logs = tuple(
        read_recording(
            RecordingFile(f"logs/T/1.as_left.{number}.csv", "T", "1", "as_left", str(number), ""), each, TAG
        ).source
        for number, each in enumerate(data)
    )
    return dataclasses.replace(made, recordings=logs, **further)


def check(assessment: TagAssessment, name: str, detail: str = "") -> CheckResult:
    assert assessment.deciding is not None
    (found,) = [each for each in assessment.deciding.checks if (each.check, each.detail) == (name, detail)]
    return found


def test_one_recording_answers_every_required_test(healthy: bytes) -> None:
    limits = (
        limit("inaccuracy", plus_minus=1.5),
        limit("hunting_period", minimum=1.0),
        limit("fail_position", plus_minus=2.0),
    )
    tests = ("readings", "readings:down", "strokes", "fail_tests:signal_open", "logs")
    found = assess_tag(with_logs(healthy, limits=limits, tests=tests))
    assert found.verdict == "pass"
    assert check(found, "inaccuracy").budget is not None
    assert check(found, "fail_position", "signal_open").target == 0.0
    assert found.deciding.position_runs is not None
    assert len(found.deciding.recordings) == 1


def test_a_test_that_the_recording_does_not_hold_is_a_gap(healthy: bytes) -> None:
    found = assess_tag(
        with_logs(healthy, limits=(limit("inaccuracy", plus_minus=1.5),), tests=("fail_tests:supply_off",))
    )
    assert found.verdict == "incomplete"
    assert check(found, "fail_position", "supply_off").verdict == "not_tested"


def test_static_readings_of_a_recording_enter_the_same_checks_as_typed_ones(healthy: bytes) -> None:
    found = assess_tag(with_logs(healthy))
    for name in ("zero_error", "span_error", "inaccuracy", "hysteretic_error", "repeatability", "feedback_inaccuracy"):
        value = check(found, name).value
        assert value is not None
        assert abs(value) < 1.0
    names = {part.name for part in check(found, "inaccuracy").budget.components}
    assert "noise of the recording, means over the holds" in names


def test_without_a_named_time_instrument_a_time_has_no_uncertainty(healthy: bytes) -> None:
    unnamed = dataclasses.replace(visit(), time_instrument="")
    found = assess_tag(with_logs(healthy, limits=(limit("stroke_time_open", of_nominal_pct=10),), visits=(unnamed,)))
    assert check(found, "stroke_time_open").verdict == "not_assessable"
    assert "no time instrument named" in check(found, "stroke_time_open").reason


def test_the_recording_stands_and_a_typed_value_is_shown_beside_it(healthy: bytes) -> None:
    strokes = [{"direction": "open", "time_s": 30.2}, {"direction": "close", "time_s": 25.0}]
    found = assess_tag(
        with_logs(healthy, tables={"strokes": strokes}, limits=(limit("stroke_time_close", of_nominal_pct=10),))
    )
    assert check(found, "stroke_time_close").verdict == "pass"
    assert check(found, "stroke_time_close", "typed").verdict == "information"
    assert check(found, "stroke_time_close", "typed").value == 25.0
    (problem,) = [each for each in found.problems if each.column == "stroke_time_close"]
    assert problem.column == "stroke_time_close"
    assert problem.tag == "T"
    assert not problem.set_aside
    assert "more than their uncertainties together" in problem.problem


def test_pulsed_closing_is_held_against_the_typed_speed_setting() -> None:
    valve = VirtualValve(motor=Motor(close_setting_pct=40.0, pulse_period_s=2.0))
    data = recorded(valve)
    agrees = assess_tag(
        with_logs(data, tables={"strokes": [{"direction": "close", "time_s": 75.0, "speed_setting_pct": 40.0}]})
    )
    assert not [each for each in agrees.problems if each.column == "speed_setting_pct"]
    assert check(agrees, "stroke_time_close").beside["times_full_speed"] == pytest.approx(2.5, rel=0.1)
    wrong = assess_tag(
        with_logs(data, tables={"strokes": [{"direction": "close", "time_s": 75.0, "speed_setting_pct": 70.0}]})
    )
    (problem,) = [each for each in wrong.problems if each.column == "speed_setting_pct"]
    assert "the setting says 70 %" in problem.problem


def test_a_hunting_valve_fails_its_amplitude_and_has_no_dead_band() -> None:
    valve = VirtualValve(motor=Motor(coast_pct=1.5), controller=Controller(dead_band_pct=1.0))
    found = assess_tag(with_logs(recorded(valve), limits=(limit("hunting_amplitude", maximum=0.5),)))
    assert check(found, "hunting_amplitude").verdict == "fail"
    assert "hunting" in check(found, "hunting_amplitude").at
    assert not [each for each in found.deciding.checks if each.check == "dead_band" and each.value is not None]


def test_a_valve_that_fails_the_wrong_way_fails() -> None:
    valve = VirtualValve(signal_loss=SignalLoss(action="open"))
    found = assess_tag(with_logs(recorded(valve), limits=(limit("fail_position", plus_minus=2.0),)))
    assert check(found, "fail_position", "signal_open").verdict == "fail"
    assert any("the register's fail action is closed" in each for each in found.remarks)


def test_a_bad_spot_on_the_track_is_counted_and_named() -> None:
    valve = VirtualValve(feedback=Feedback(bad_spots=(BadSpot(43.0, 1.5, "spike", -5.0),)))
    found = assess_tag(with_logs(recorded(valve), limits=(limit("potentiometer_dropouts", maximum=0),)))
    assert check(found, "potentiometer_dropouts").verdict == "fail"
    assert "43" in check(found, "potentiometer_dropouts").at


def test_too_many_starts_are_held_against_the_register(healthy: bytes) -> None:
    few = dataclasses.replace(TAG, starts_per_hour_max=10.0)
    found = assess_tag(
        dataclasses.replace(with_logs(healthy, limits=(limit("starts_per_hour", of_nominal_pct=0),)), tag=few)
    )
    assert check(found, "starts_per_hour").verdict == "fail"
    assert check(found, "starts_per_hour").upper_limit == 10.0
    assert check(found, "starts_per_hour").lower_limit is None


def test_travel_taken_from_the_feedback_is_said() -> None:
    data = recorded(channels=("command", "feedback"))
    found = assess_tag(with_logs(data))
    assert any("the feedback element itself is not verified" in each for each in found.remarks)
    assert not [each for each in found.deciding.checks if each.check.startswith("feedback_")]


def test_segments_set_by_a_person_replace_what_was_found(healthy: bytes) -> None:
    made = with_logs(healthy)
    (recording,) = made.recordings
    recording = dataclasses.replace(recording, segments=(Segment("rest", 0.0, 50.0),))
    found = assess_tag(dataclasses.replace(made, recordings=(recording,)))
    (log,) = found.deciding.recordings
    assert log.segments_set
    assert [each.what for each in log.reduction.segments] == ["rest"]
    assert any("set by a person" in each for each in found.remarks)


def test_two_recordings_of_a_stage_are_taken_together(healthy: bytes) -> None:
    once, twice = assess_tag(with_logs(healthy)), assess_tag(with_logs(healthy, healthy))
    assert check(twice, "starts_per_hour").value == pytest.approx(check(once, "starts_per_hour").value)
    assert len(twice.deciding.position_runs.kept) == 2 * len(once.deciding.position_runs.kept)


def test_a_recording_that_cannot_be_used_is_said_and_is_a_gap() -> None:
    found = assess_tag(with_logs(b"time_s,command_V\n0,1\n1,2\n", tests=("logs",)))
    assert found.verdict == "incomplete"
    assert any("could not be used" in each for each in found.remarks)


def test_what_was_found_is_told_in_sentences(healthy: bytes) -> None:
    lines = describe_recordings(with_logs(healthy))
    assert lines[0].startswith("logs/T/1.as_left.0.csv: ")
    assert "2 opening strokes, 2 closing strokes" in lines[1]
    assert "1 loss of signal, 1 restoration" in lines[1]
    assert all(line.endswith(".") for line in lines)
