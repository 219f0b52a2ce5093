"""Recordings that stand in a unit twice, or belong to no visit."""

from __future__ import annotations

import io

import pyarrow as pa
import pyarrow.csv as pv
import pyarrow.parquet as pq
import pytest

from kit.basis.records import Scope
from tests.records.conftest import UNIT_TOML, ReadFiles

HEAD = "time_s,command_mA,position_deg,feedback_mA\n"
ROWS = "".join(f"{row},{4 + row % 3},{row % 7},{4 + row % 5}\n" for row in range(30))
LOG = HEAD + ROWS
LATER = HEAD + "".join(f"{row + 100},{4 + row % 3},{row % 7},{4 + row % 5}\n" for row in range(30))


def as_parquet(text: str) -> bytes:
    sink = io.BytesIO()
    pq.write_table(pv.read_csv(pa.BufferReader(text.encode())), sink)
    return sink.getvalue()


def of_logs(unit):
    return [each for each in unit.problems if each.file.startswith("logs/")]


def counts(unit):
    return {each.file: (each.used, each.set_aside) for each in unit.counts if each.table == "logs"}


def test_the_same_samples_twice_in_one_stage_are_read_once_and_told(read_files: ReadFiles) -> None:
    """As CSV and as Parquet, counted from another time."""
    files = {
        "logs/FV-101/3.as_left.a.csv": LOG,
        "logs/FV-101/3.as_left.b.parquet": as_parquet(LOG),
        "logs/FV-101/3.as_left.c.csv": LATER,
        "logs/FV-101/3.as_left.d.csv": LOG.replace("29,", "29.5,"),
    }
    unit = read_files(files)
    assert [each.file.rpartition("/")[2] for each in unit.recordings] == ["3.as_left.a.csv", "3.as_left.d.csv"]
    told = of_logs(unit)
    assert [each.file.rpartition("/")[2] for each in told] == ["3.as_left.b.parquet", "3.as_left.c.csv"]
    assert {each.status for each in told} == {"flag"}
    assert all("The samples of logs/FV-101/3.as_left.a.csv once more" in each.problem for each in told)
    assert list(counts(unit).values()) == [(30, 0), (0, 30), (0, 30), (30, 0)]


def test_the_same_samples_in_another_stage_are_open(read_files: ReadFiles) -> None:
    unit = read_files({"logs/FV-101/3.as_found.csv": LOG, "logs/FV-101/3.as_left.csv": LOG})
    assert [each.stage for each in unit.recordings] == ["as_found"]
    (problem,) = of_logs(unit)
    assert (problem.status, problem.set_aside) == ("open", True)
    assert problem.scope == Scope(("FV-101",), "3", "as_left", "logs")
    assert problem.record


def test_the_same_file_under_two_tags_is_open_for_both(read_files: ReadFiles) -> None:
    unit = read_files({"logs/FV-101/3.as_left.csv": LOG, "logs/FV-102/1.as_left.csv": LOG})
    told = [each for each in of_logs(unit) if each.problem.startswith("The same file as logs/")]
    assert [(each.tag, each.status, each.scope.tags) for each in told] == [
        ("FV-101", "open", ("FV-101",)),
        ("FV-102", "open", ("FV-102",)),
    ]


def test_a_recording_of_a_visit_without_a_row_is_open_and_not_used(read_files: ReadFiles) -> None:
    unit = read_files({"logs/FV-101/3x.as_left.csv": LOG})
    assert unit.recordings == ()
    assert counts(unit) == {"logs/FV-101/3x.as_left.csv": (0, 30)}
    (problem,) = of_logs(unit)
    assert "has no visit '3x' in visits" in problem.problem
    assert (problem.status, problem.scope) == ("open", Scope(("FV-101",), "", "as_left", "logs"))


def test_what_can_hold_no_samples_is_told_and_a_workbook_is_open(read_files: ReadFiles) -> None:
    names = ("photo.JPG", "plan.pdf", "3.as_left.xlsx", "trend.txt")
    unit = read_files({f"logs/FV-101/{name}": b"x" for name in names})
    told = {each.file.rpartition("/")[2]: each.status for each in of_logs(unit)}
    assert told == {"photo.JPG": "flag", "plan.pdf": "flag", "3.as_left.xlsx": "open", "trend.txt": "open"}


def test_a_file_in_a_folder_of_no_tag_is_open_for_what_its_tag_may_be(read_files: ReadFiles) -> None:
    files = {
        "logs/FV-101/3.as_left.csv": LOG,
        "logs/FV-1O2/1.as_left.csv": LATER,
        "logs/FV-1011/1.as_left.csv": LATER,
        "logs/XYZ/1.as_left.csv": LATER,
    }
    scopes = {each.value: each.scope.tags for each in of_logs(read_files(files))}
    assert scopes == {"FV-1O2": ("FV-102",), "FV-1011": ("FV-101",), "XYZ": ("FV-101", "FV-102", "FV-103")}


TWO_VALVES = "t;A1;P1;A2;P2;U\n" + "".join(
    f"{row};{4 + row % 3};{row % 7};{4 + row % 5};{row % 9};24\n" for row in range(30)
)


def table_for(tag: str, command: str, position: str) -> str:
    return (
        f'[[recordings]]\nfiles = "logs/{tag}/*.csv"\nsource = "Invented"\nconfirmed_by = "A"\n'
        'time = { heading = "t", format = "s" }\n'
        f'channels = {{ command = {{ heading = "{command}", unit = "mA" }}, '
        f'position = {{ heading = "{position}", unit = "deg" }}, supply = {{ heading = "U", unit = "V" }} }}\n'
    )


@pytest.mark.parametrize(("position", "is_open"), [("P2", False), ("P1", True)])
def test_a_file_of_two_valves_is_of_both_where_each_has_columns_of_its_own(
    read_files: ReadFiles, position: str, is_open: bool
) -> None:
    tables = table_for("FV-101", "A1", "P1") + table_for("FV-103", "A2", position)
    tags = "tag,travel,travel_unit,command_range\nFV-101,90,deg,4-20 mA\nFV-103,90,deg,4-20 mA\n"
    files = {f"logs/{tag}/3.as_left.csv": TWO_VALVES for tag in ("FV-101", "FV-103")}
    unit = read_files({"unit.toml": UNIT_TOML + tables, "tags.csv": tags, **files})
    assert len(unit.samples) == 2
    assert any("The same file as" in each.problem for each in of_logs(unit)) == is_open
