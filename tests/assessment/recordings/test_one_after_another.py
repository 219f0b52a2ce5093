"""The recordings of a stage in order, and what two of them say of the same time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from kit.assessment.recordings.one_after_another import in_order, read_once
from kit.basis.recording import Recording, Segment
from kit.basis.records import RecordingFile
from tests.calculations.recordings.made import noisy, walked

WHOLE = walked(0.1, 0.0)  # 285 s


def file(name: str, start: str, recording: Recording | None) -> RecordingFile:
    return RecordingFile(f"logs/T/{name}.csv", "T", "1", "as_left", name, name, start, recording=recording)


def cut(from_s: float, to_s: float, number: int, clock_s: float = 0.0, **further: object) -> RecordingFile:
    """The walk from one time to another, with the noise of its own recorder and a clock that may be wrong."""
    place = WHOLE.place(from_s, to_s)
    travel = noisy(WHOLE.travel_pct[place], 0.02, number)
    own = Recording(
        WHOLE.time_s[place] - from_s, noisy(WHOLE.command_pct[place], 0.02, number), travel, position_pct=travel
    )
    at_s = round(from_s + clock_s)
    return file(f"{number}", f"2026-03-10T08:{at_s // 60:02d}:{at_s % 60:02d}Z", replace(own, **further))


def test_recordings_come_by_their_start_and_not_by_their_names() -> None:
    files = [
        file("a", "2026-03-10T10:00:00+02:00", None),
        file("b", "2026-03-10T07:00:00Z", None),
        file("c", "2026-03-10T09:30:00+01:00", None),
    ]
    assert [each.name for each in in_order(files)] == ["b", "a", "c"]
    assert [each.name for each in in_order([files[0], files[1], file("d", "", None)])] == ["a", "b", "d"]


@pytest.mark.parametrize("clock_s", [0.0, 3.0, -4.0])
def test_what_two_files_hold_of_the_same_time_is_read_once(clock_s: float) -> None:
    (one, no_note), (two, note) = read_once([cut(0.0, 180.0, 1), cut(130.0, 280.0, 2, clock_s)])
    assert no_note == ""
    assert len(one.recording) == 1801
    assert "50 s" in note or "47 s" in note or "54 s" in note
    assert "logs/T/1.csv" in note
    assert two.recording.time_s[0] == pytest.approx(50.0 - clock_s, abs=0.11)
    assert two.recording.time_s[-1] == pytest.approx(150.0)
    assert two.recording.position_pct.size == two.recording.time_s.size


def test_a_file_that_lies_within_another_is_not_read_again() -> None:
    _, (again, _) = read_once([cut(0.0, 280.0, 1), cut(100.0, 200.0, 2)])
    assert again.recording is None
    assert again.why_not == "another recording holds the same."


def test_two_occasions_of_one_time_are_both_used_and_told() -> None:
    """The second walks from 75 % on while the first is at 0 %."""
    other = replace(cut(130.0, 280.0, 2), start="2026-03-10T08:00:10Z")
    (_, _), (two, note) = read_once([cut(0.0, 140.0, 1), other])
    assert len(two.recording) == 1501
    assert "See which clock is wrong" in note


def test_a_file_with_a_channel_more_is_kept_whole() -> None:
    supply = np.full(1501, 24.0)
    _, (two, note) = read_once([cut(0.0, 180.0, 1), cut(130.0, 280.0, 2, supply_v=supply)])
    assert len(two.recording) == 1501
    assert "both are used" in note


def test_a_file_whose_segments_a_person_set_is_kept_whole() -> None:
    by_hand = replace(cut(130.0, 280.0, 2), segments=(Segment("hold", 10.0, 30.0),))
    assert len(read_once([cut(0.0, 180.0, 1), by_hand])[1][0].recording) == 1501


def test_files_apart_or_without_a_start_are_left_as_they_are() -> None:
    files = [cut(0.0, 100.0, 1), cut(130.0, 280.0, 2), replace(cut(0.0, 100.0, 3), start="")]
    assert read_once(files) == [(each, "") for each in files]
