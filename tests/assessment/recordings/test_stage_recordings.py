"""The recordings of a stage, cut and reduced."""

from __future__ import annotations

import dataclasses
import io

import numpy as np
import pandas as pd
import pytest

from kit.assessment import assess_tag
from kit.assessment.recordings.stage_recordings import StageRecordings
from kit.assessment.results import RecordingResult
from kit.basis.quantity import Quantity
from kit.basis.recording import Segment
from kit.calculations.recordings.left_out import UNSETTLED, LeftOut
from tests.assessment.builders import check, limit
from tests.assessment.made import hold, reduction, rest
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
    once, twice = assess_tag(with_recordings(healthy)), assess_tag(with_recordings(healthy, walked_again(healthy)))
    assert check(twice, "starts_per_hour").value == pytest.approx(check(once, "starts_per_hour").value)
    assert len(twice.deciding.position_runs.kept) == 2 * len(once.deciding.position_runs.kept)


def walked_again(recorded: bytes) -> bytes:
    """Another run by the same programme: no sample is the same."""
    table = pd.read_csv(io.BytesIO(recorded))
    noise = np.random.default_rng(1).normal(0.0, 0.02, len(table))
    return table.assign(position_deg=table["position_deg"] + noise).to_csv(index=False).encode()


def test_a_recording_that_cannot_be_used_is_said_and_is_a_gap() -> None:
    found = assess_tag(with_recordings(b"time_s,command_V\n0,1\n1,2\n", tests=("logs",)))
    assert found.verdict == "incomplete"
    assert any("could not be used" in each for each in found.remarks)


@pytest.mark.parametrize(
    ("why", "until_s", "hunts", "held_back"),
    [
        (UNSETTLED, 130.0, False, True),
        (UNSETTLED, 100.0, False, False),  # left early
        (UNSETTLED, 190.0, True, False),  # hunting tells it
        ("come to over a gap or a loss of signal", 130.0, False, False),
    ],
)
def test_a_hold_of_a_minute_that_never_came_to_rest_keeps_the_static_checks_from_passing(
    why: str, until_s: float, hunts: bool, held_back: bool
) -> None:
    """A valve that creeps at one point could pass by the others."""
    rests = (rest("hunting", Quantity(1.0)),) if hunts else ()
    made = reduction(
        readings=(hold(0.0, 0.1), hold(50.0, 50.1), hold(100.0, 100.1)),
        left_out=(LeftOut("hold", rests[0].segment.from_s if hunts else 50.0, until_s, why),),
        rests=rests,
    )
    found = StageRecordings((RecordingResult("logs/A/1.as_left.csv", "", "", made),)).never_at_rest
    assert bool(found) == held_back
    if found:
        assert "1 hold of a minute and more never came to rest, the first from 50 to 130 s" in found
