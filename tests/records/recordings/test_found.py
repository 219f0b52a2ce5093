"""Recordings found by the names of their files."""

from __future__ import annotations

import pytest

from kit.records.recordings.found import parse_recording_name


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("3.as_left.csv", ("3", "as_left", "")),
        ("3.as_found.morning.parquet", ("3", "as_found", "morning")),
        ("2026-03-10.2.as_left.a.b.csv", ("2026-03-10.2", "as_left", "a.b")),
        ("week 11.As-Left.CSV", ("week 11", "as_left", "")),
    ],
)
def test_a_files_name_gives_visit_stage_and_what_is_left(name: str, expected: tuple[str, str, str]) -> None:
    assert parse_recording_name(name) == expected


@pytest.mark.parametrize("name", ["3.csv", "3.asleft.csv", "as_left.csv", "3.as_left.xlsx"])
def test_a_name_without_visit_or_stage_is_said_with_the_name_that_is_wanted(name: str) -> None:
    fault = parse_recording_name(name)
    assert isinstance(fault, str)
    assert "3.as_left.csv" in fault
