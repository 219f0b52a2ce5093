"""Segments that a person set: which recording each is for, and which are not used."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from kit.basis.recording import Recording, Segment
from kit.basis.records import Problem, RecordingFile
from kit.basis.rows import Rows, empty_rows
from kit.basis.tables import TABLES
from kit.records.recordings.typed_segments import Extent, extent_of, with_segments

EXTENT = Extent(10.0, 60.0, 0.5)


def recording(name: str = "", stage: str = "as_left", visit: str = "1", tag: str = "T") -> RecordingFile:
    file = f"logs/{tag}/{visit}.{stage}{'.' if name else ''}{name}.csv"
    return RecordingFile(file, tag, visit, "as_found" if stage == "as_found" else "as_left", name, "")


def rows(*given: dict[str, Any]) -> Rows:
    """Rows of the table, from row 2 on."""
    usual = {"tag": "T", "visit": "1", "stage": "as_left", "log": "", "from_s": 20.0, "to_s": 30.0, "what": "rest"}
    found = dict(empty_rows(TABLES["segments"]).columns)
    for name in found:
        values = [{**usual, "file": "records/segments.csv", "row": at}.get(name, "") for at in range(2, 2 + len(given))]
        values = [each.get(name, value) for each, value in zip(given, values, strict=True)]
        found[name] = np.array(values, dtype=found[name].dtype)
    return Rows(found)


def settled(
    recordings: list[RecordingFile], given: Rows, extent: Extent = EXTENT
) -> tuple[list[tuple[Segment, ...] | None], list[Problem]]:
    found, problems = with_segments(recordings, {each.file: extent for each in recordings}, given)
    assert [each.file for each in found] == [each.file for each in recordings]
    return [each.segments for each in found], problems


def segment(start: float, end: float, what: str = "rest") -> Segment:
    return Segment(what, start, end, "1", "as_left")  # type: ignore[arg-type]


def test_the_extent_of_a_recording_is_its_first_and_last_time() -> None:
    time = np.array([3.0, 4.0, 5.0, 9.0])
    assert extent_of(Recording(time, time, time)) == Extent(3.0, 9.0, 1.0)


def test_nobody_set_any() -> None:
    assert settled([recording()], rows()) == ([None], [])


def test_segments_of_the_only_recording_need_no_name_and_come_in_order_of_time() -> None:
    given = rows({"from_s": 40.0, "to_s": 50.0, "what": "hold"}, {"to_s": 25.0}, {"to_s": 22.0})
    wanted = (segment(20.0, 22.0), segment(20.0, 25.0), segment(40.0, 50.0, "hold"))
    assert settled([recording("a")], given) == ([wanted], [])


def test_of_several_recordings_the_named_one_is_meant_in_any_letter_case() -> None:
    given = rows({"log": "B"}, {"log": "a", "to_s": 25.0})
    assert settled([recording("a"), recording("b")], given) == ([(segment(20, 25),), (segment(20, 30),)], [])


def test_without_a_name_the_recording_without_one_is_meant() -> None:
    assert settled([recording(), recording("b")], rows({})) == ([(segment(20, 30),), None], [])


@pytest.mark.parametrize(
    ("log", "names", "known"), [("c", ["a", ""], "a, (no name)"), ("", ["a", "b"], "a, b"), ("c", ["a"], "a")]
)
def test_a_name_that_no_recording_has_is_told_once_with_those_there_are(log: str, names: list[str], known: str) -> None:
    segments, (problem,) = settled([recording(name) for name in names], rows({"log": log}))
    assert segments == [None] * len(names)
    assert problem.problem.startswith("No recording of this stage has that name")
    assert problem.problem.endswith(f"There are: {known}.")
    assert (problem.file, problem.row, problem.column, problem.value) == ("records/segments.csv", 2, "log", log)
    assert (problem.tag, problem.set_aside) == ("T", False)


@pytest.mark.parametrize(("start", "end", "used"), [(9.5, 60.5, True), (9.4, 60.0, False), (10.0, 60.6, False)])
def test_a_segment_may_go_beyond_its_recording_by_one_sample(start: float, end: float, used: bool) -> None:
    segments, problems = settled([recording()], rows({"from_s": start, "to_s": end}))
    assert segments == [(segment(start, end),) if used else ()]
    assert [each.problem for each in problems] == (
        [] if used else ["logs/T/1.as_left.csv goes from 10 to 60 s: the segment is not used."]
    )
    assert [(each.column, each.value) for each in problems] == ([] if used else [("from_s", f"{start:g}")])


@pytest.mark.parametrize("end", [20.0, 19.0])
def test_a_segment_that_does_not_end_after_it_begins_is_not_used(end: float) -> None:
    segments, (problem,) = settled([recording()], rows({"to_s": end}, {"to_s": 30.0}))
    assert segments == [(segment(20.0, 30.0),)]
    assert (problem.row, problem.column, problem.value) == (2, "to_s", f"{end:g}")
    assert "to_s is not after from_s" in problem.problem


@pytest.mark.parametrize("other", [{"tag": "U"}, {"visit": "2"}, {"stage": "as_found"}])
def test_segments_of_another_stage_are_not_for_this_recording(other: dict[str, str]) -> None:
    found, (problem,) = settled([recording()], rows(other))
    assert found == [None]
    assert (problem.column, problem.status, problem.scope.table) == ("visit", "open", "segments")
    assert problem.problem.startswith("No recording of this visit and stage")
    both = [recording(stage="as_found"), recording()]
    assert settled(both, rows({"stage": "as_found"}))[0][1] is None


def test_a_recording_of_which_nothing_can_be_used_has_no_segments() -> None:
    found, problems = with_segments([recording()], {}, rows({}))
    assert ([each.segments for each in found], problems) == ([None], [])
