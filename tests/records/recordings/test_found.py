"""Recordings found by the names of their files."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from kit.basis.recording_maps import MappedTime, RecordingMap
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


TABLE = MappedTime(("t",), "s")


def mapped(**keys: str) -> RecordingMap:
    return RecordingMap(1, "logs/*/*", "", TABLE, (), **keys)


@pytest.mark.parametrize(
    ("name", "keys", "found"),
    [
        ("3.as_left.morning.dat", {}, ("3", "as_left", "morning")),
        ("3.as_left", {}, ("3", "as_left", "")),
        ("as_left.txt", {"visit": "2"}, ("2", "as_left", "")),
        ("4.txt", {"stage": "as_found"}, ("4", "as_found", "")),
        ("LOG0001.TXT", {"visit": "2", "stage": "as_left"}, ("2", "as_left", "LOG0001")),
        ("2.as_left.txt", {"visit": "2", "stage": "as_left"}, ("2", "as_left", "")),
    ],
)
def test_a_table_of_unit_toml_lets_a_name_end_in_anything_and_says_what_it_lacks(name, keys, found) -> None:
    assert parse_recording_name(name, mapped(**keys)) == found


@pytest.mark.parametrize(
    ("name", "keys", "fault"),
    [
        ("LOG0001.TXT", {}, "no part as_left or as_found"),
        ("2.as_left.txt", {"visit": "3"}, "Its name says visit 2, [[recordings]] 1 of unit.toml says 3"),
        ("2.as_left.txt", {"stage": "as_found"}, "Its name says stage as_left"),
        (".as_left.txt", {}, "begins with the stage"),
    ],
)
def test_a_name_and_a_table_that_do_not_agree_are_open(name, keys, fault) -> None:
    found = parse_recording_name(name, mapped(**keys))
    assert isinstance(found, str)
    assert fault in found


def test_a_file_that_no_table_is_for_is_open_and_check_is_named(tmp_path: Path) -> None:
    names = ["A/1.as_left.txt", "B/1.as_left.txt"]
    own = replace(mapped(), files="logs/A/*.txt")
    found = find_recordings(folder_of(tmp_path, *names), ["A", "B"], [own])
    assert [each.file for each in found.recordings] == [f"logs/{names[0]}"]
    (problem,) = found.problems
    assert (problem.file, problem.status) == (f"logs/{names[1]}", "open")
    assert "`strokebook check` proposes" in problem.problem
