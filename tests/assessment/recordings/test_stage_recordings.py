"""The recordings of a stage, cut and reduced."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.basis.recording import Segment
from tests.assessment.builders import check, limit
from tests.assessment.with_recordings import with_recordings


def test_one_recording_answers_every_required_test(healthy: bytes) -> None:
    limits = (
        limit("inaccuracy", plus_minus=1.5),
        limit("hunting_period", minimum=1.0),
        limit("fail_position", plus_minus=2.0),
    )
    tests = ("readings", "readings:down", "strokes", "fail_tests:signal_open", "logs")
    found = assess_tag(with_recordings(healthy, limits=limits, tests=tests))
    assert found.verdict == "pass"
    assert check(found, "inaccuracy").budget is not None
    assert check(found, "fail_position", "signal_open").target == 0.0
    assert found.deciding.position_runs is not None
    assert len(found.deciding.recordings) == 1


def test_a_test_that_the_recording_does_not_hold_is_a_gap(healthy: bytes) -> None:
    found = assess_tag(
        with_recordings(healthy, limits=(limit("inaccuracy", plus_minus=1.5),), tests=("fail_tests:supply_off",))
    )
    assert found.verdict == "incomplete"
    assert check(found, "fail_position", "supply_off").verdict == "not_tested"


def test_segments_set_by_a_person_replace_what_was_found(healthy: bytes) -> None:
    made = with_recordings(healthy)
    (recording,) = made.recordings
    recording = dataclasses.replace(recording, segments=(Segment("rest", 0.0, 50.0),))
    found = assess_tag(dataclasses.replace(made, recordings=(recording,)))
    (log,) = found.deciding.recordings
    assert log.segments_set
    assert [each.what for each in log.reduction.segments] == ["rest"]
    assert any("set by a person" in each for each in found.remarks)


def test_two_recordings_of_a_stage_are_taken_together(healthy: bytes) -> None:
    once, twice = assess_tag(with_recordings(healthy)), assess_tag(with_recordings(healthy, healthy))
    assert check(twice, "starts_per_hour").value == pytest.approx(check(once, "starts_per_hour").value)
    assert len(twice.deciding.position_runs.kept) == 2 * len(once.deciding.position_runs.kept)


def test_a_recording_that_cannot_be_used_is_said_and_is_a_gap() -> None:
    found = assess_tag(with_recordings(b"time_s,command_V\n0,1\n1,2\n", tests=("logs",)))
    assert found.verdict == "incomplete"
    assert any("could not be used" in each for each in found.remarks)
