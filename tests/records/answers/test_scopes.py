"""A row of an unknown tag or visit is open for all that it could be of, and for nothing else."""

from __future__ import annotations

import pytest

from kit.basis.records import Scope, UnitRecords
from kit.records import tag_records

TAGS = "tag,command_range,fail_action\n" + "".join(
    f"{tag},4-20 mA,closed\n" for tag in ("FV-101", "FV-102", "FV-110", "HV-7", "FIC-1", "F1C-1")
)
VISITS = "tag,visit,date\n" + "".join(f"{tag},1,2026-03-01\n" for tag in ("FV-101", "FV-102", "FV-110", "HV-7"))
HEAD = "tag,visit,direction,time_s\n"
USED = "FV-101,1,open,20\nFV-102,1,open,20\nHV-7,1,open,20\n"


def read(read_files, row: str, used: str = USED) -> UnitRecords:
    return read_files({"tags.csv": TAGS, "records/visits.csv": VISITS, "records/strokes.csv": HEAD + used + row})


def scope_of(unit: UnitRecords) -> Scope | None:
    (scope,) = {each.scope for each in unit.problems if each.status == "open" and each.table == "strokes"}
    return scope


@pytest.mark.parametrize(
    ("written", "tags"),
    [
        ("FV-1O1", ("FV-101",)),
        ("FV 101", ("FV-101",)),
        ("FV_101", ("FV-101",)),
        ("FV-l0l", ("FV-101",)),
        ("FV‑101", ("FV-101",)),  # another hyphen
        ("НV-7", ("HV-7",)),  # a Cyrillic letter
        ("FV-11O", ("FV-110",)),  # looks like a tag that has no row in the file
        ("FlC-1", ("F1C-1", "FIC-1")),
        ("FV-103", ("FV-101", "FV-102")),  # one edit: those whose rows stand in the file
        ("FV-10", ("FV-101", "FV-102")),
        ("XX-99", ("FV-101", "FV-102", "HV-7")),
        ("", ("FV-101", "FV-102", "HV-7")),
    ],
)
def test_an_unknown_tag_is_any_that_it_could_be(read_files, written: str, tags: tuple[str, ...]) -> None:
    unit = read(read_files, f"{written},1,open,20\n")
    assert scope_of(unit) == Scope(tags, "1" if "1C" not in tags[0] else "", "as_left", "strokes")


@pytest.mark.parametrize(
    ("written", "visit", "tags"),
    [
        ("FV-1O1", "1", ("FV-101",)),
        ("HV-8", "1", ("HV-7",)),  # one edit, and no row of it stands in the file
        ("", "1", ("FV-101", "FV-102", "FV-110", "HV-7")),  # whoever has the visit
        ("XX-99", "9", ("F1C-1", "FIC-1", "FV-101", "FV-102", "FV-110", "HV-7")),
    ],
)
def test_a_change_of_an_unknown_tag_leaves_no_gap_and_is_any_that_it_could_be(read_files, written, visit, tags) -> None:
    row = f"{written},{visit},2026-03-01T10:00,travel_stop\n"
    other = "FV-102,1,2026-03-01T08:00,travel_stop\n"
    files = {"tags.csv": TAGS, "records/visits.csv": VISITS}
    unit = read_files({**files, "records/adjustments.csv": "tag,visit,at,what\n" + other + row})
    (problem,) = [each for each in unit.problems if each.status == "open"]
    assert problem.scope is not None
    assert problem.scope.tags == tags


def test_letter_case_alone_makes_no_difference(read_files) -> None:
    unit = read(read_files, "fv-101,1,close,20\n")
    assert not [each for each in unit.problems if each.status == "open"]


def test_where_no_tag_is_known_the_record_stands_on_the_units_page_alone(read_files) -> None:
    unit = read(read_files, "XX-99,1,open,20\n", used="")
    assert scope_of(unit) == Scope((), "1", "as_left", "strokes")
    assert all(not tag_records(unit, tag).problems for tag in unit.tags)


def test_each_tag_of_the_scope_and_no_other_tells_the_record(read_files) -> None:
    unit = read(read_files, "FV-103,1,open,20\n")
    told = {tag: [each.scope for each in tag_records(unit, tag).problems] for tag in unit.tags}
    assert {tag for tag, scopes in told.items() if scopes} == {"FV-101", "FV-102"}
    assert told["FV-101"] == [Scope(("FV-101",), "1", "as_left", "strokes")]


@pytest.mark.parametrize("visit", ["7", ""])
def test_an_unknown_visit_is_the_one_that_decides(read_files, visit: str) -> None:
    unit = read(read_files, f"FV-101,{visit},open,20\n")
    assert scope_of(unit) == Scope(("FV-101",), "", "as_left", "strokes")
    assert unit.tables["strokes"]["row"].tolist() == [2, 3, 4]


def test_a_recording_of_a_visit_that_nobody_knows_is_open_for_the_one_that_decides(read_files) -> None:
    samples = "time_s,command_pct,position_pct\n" + "".join(f"{place},50,50\n" for place in range(60))
    files = {"tags.csv": TAGS, "records/visits.csv": VISITS, "logs/FV-101/SAT.as_left.csv": samples}
    unit = read_files(files)
    (problem,) = [each for each in unit.problems if each.file.startswith("logs/") and each.status == "open"]
    assert problem.scope == Scope(("FV-101",), "", "as_left", "logs")
    moved = read_files({**files, "logs/FV-101/SAT.as_left.csv": samples.replace("59,50,50", "59,50,51")})
    assert problem.record not in {each.record for each in moved.problems}


def test_a_segment_of_a_stage_without_a_recording_is_open(read_files) -> None:
    segments = "tag,visit,from_s,to_s,what\nFV-101,1,0,5,rest\n"
    unit = read_files({"tags.csv": TAGS, "records/visits.csv": VISITS, "records/segments.csv": segments})
    (problem,) = [each for each in unit.problems if each.table == "segments"]
    assert (problem.row, problem.status, problem.scope) == (2, "open", Scope(("FV-101",), "1", "as_left", "segments"))
