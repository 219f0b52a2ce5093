"""Recordings found by the names of their files."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit.records.recordings.found import find_recordings, parse_recording_name


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("3.as_left.csv", ("3", "as_left", "")),
        ("3.as_found.morning.parquet", ("3", "as_found", "morning")),
        ("2026-03-10.2.as_left.a.b.csv", ("2026-03-10.2", "as_left", "a.b")),
        ("week 11.As-Left.CSV", ("week 11", "as_left", "")),
        (" 3 .as left.Parquet", ("3", "as_left", "")),
    ],
)
def test_a_files_name_gives_visit_stage_and_what_is_left(name: str, expected: tuple[str, str, str]) -> None:
    assert parse_recording_name(name) == expected


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("3.csv", "no part as_left or as_found. Name it"),
        ("3.asleft.csv", "no part as_left or as_found. Was as_left meant?"),
        ("asfound.csv", "no part as_left or as_found. Name it"),
        ("as_left.csv", "begins with the stage"),
        (" .as_left.csv", "begins with the stage"),
        ("3.as_left.xlsx", "Only .csv and .parquet"),
    ],
)
def test_a_name_without_visit_or_stage_is_said_with_the_name_that_is_wanted(name: str, words: str) -> None:
    fault = parse_recording_name(name)
    assert isinstance(fault, str)
    assert words in fault
    assert fault.endswith("such as 3.as_left.csv.")


def folder_of(tmp_path: Path, *names: str) -> Path:
    for name in names:
        path = tmp_path / "logs" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("")
    return tmp_path


def test_recordings_come_in_order_of_tag_visit_stage_and_name(tmp_path: Path) -> None:
    names = ["B/9.as_left.csv", "A/10.as_left.csv", "A/9.as_left.b.csv", "A/9.as_left.a.csv", "A/9.as_found.csv"]
    found = find_recordings(folder_of(tmp_path, *names), ["A", "B"])
    assert [each.file.removeprefix("logs/") for each in found.recordings] == [
        "A/9.as_found.csv",
        "A/9.as_left.a.csv",
        "A/9.as_left.b.csv",
        "A/10.as_left.csv",
        "B/9.as_left.csv",
    ]
    assert (found.problems, found.others) == ([], [])


def test_a_folder_is_named_as_its_tag_in_any_letter_case_and_percent_encoded(tmp_path: Path) -> None:
    names = ["fv-1/1.as_left.csv", "HV%2F2/1.as_left.csv", "fv-1/.hidden.csv", "fv-1/~$1.as_left.csv"]
    found = find_recordings(folder_of(tmp_path, *names), ["FV-1", "HV/2"])
    assert [each.tag for each in found.recordings] == ["FV-1", "HV/2"]


@pytest.mark.parametrize(
    ("name", "words", "tag"),
    [
        ("1.as_left.csv", "Put it into a folder named as the tag", ""),
        ("FV-1/deep/1.as_left.csv", "Move it to logs/FV-1/.", ""),
        ("FV-l/1.as_left.csv", "Was FV-1 meant?", ""),
        ("XYZ/1.as_left.csv", "No tag of the register is near it", ""),
        ("FV-1/notes.txt", "Only .csv and .parquet", "FV-1"),
    ],
)
def test_a_file_of_no_known_recording_is_told(tmp_path: Path, name: str, words: str, tag: str) -> None:
    found = find_recordings(folder_of(tmp_path, name), ["FV-1"])
    assert found.recordings == []
    assert found.others == [f"logs/{name}"]
    (problem,) = found.problems
    assert (problem.file, problem.row, problem.tag, problem.set_aside) == (f"logs/{name}", None, tag, False)
    assert words in problem.problem
