"""What is open, one line for one cause, never more lines than asked for."""

from __future__ import annotations

from dataclasses import replace

from kit.basis.records import Problem, RowCount, Scope, UnitRecords
from kit.basis.registers import Tag
from kit.basis.settings import UnitSettings
from kit.check_lines import cause_line, causes_of, check_lines

ROW = Problem(
    "records/strokes.csv",
    2,
    "time_s",
    "quick",
    "'quick' is not a number. Enter it.",
    "FV-1",
    True,
    "strokes",
    "r2",
    "open",
    Scope(("FV-1",)),
)
REGISTER = replace(
    ROW, file="tags.csv", row=3, column="travel", value="-9", problem="Impossible.", table="tags", record="r3"
)
FILE = replace(ROW, file="records/notes.txt", row=None, column="", value="", problem="Not read.", table="", record="r4")
HEADING = "The file has no column time_s. Add it."


def many(count: int) -> list[Problem]:
    return [replace(ROW, row=place, value="", problem=HEADING, record=f"s{place}") for place in range(10, 10 + count)]


def unit(*problems: Problem) -> UnitRecords:
    counts = (RowCount("records/strokes.csv", "strokes", 9, 8, 1),)
    return UnitRecords(UnitSettings("u", "U"), {"FV-1": Tag("FV-1")}, (), {}, problems, counts, {})


def test_one_cause_is_one_line_however_many_rows_it_holds() -> None:
    (line,) = [cause_line(each) for each in causes_of(many(6279))]
    assert line == f"  6279 records, first records/strokes.csv, row 10, time_s (FV-1): {HEADING}"


def test_values_and_numbers_make_no_other_cause_and_another_column_does() -> None:
    slow = replace(ROW, row=5, value="slow", problem="'slow' is not a number. Enter it.", record="r5")
    (cause,) = causes_of([ROW, slow])
    assert cause.records == 2
    assert len(causes_of([ROW, replace(slow, column="from_pct")])) == 2


def test_registers_come_first_then_files_then_rows_the_most_frequent_first() -> None:
    listed = check_lines(unit(ROW, *many(3), FILE, REGISTER), (), at_most=40)
    assert [line.split(":")[0].strip() for line in listed[2:6]] == [
        "tags.csv, row 3, travel (FV-1)",
        "records/notes.txt (FV-1)",
        "3 records, first records/strokes.csv, row 10, time_s (FV-1)",
        "records/strokes.csv, row 2, time_s (FV-1)",
    ]
    assert listed[2].endswith("'-9' Impossible. [r3]")
    assert listed[-1] == "1 tag, 6 unanswered, 0 answered."


def test_flags_are_counted_and_so_is_what_was_answered() -> None:
    flag = replace(ROW, status="flag", row=7, record="r7")
    blank = replace(ROW, status="blank", row=8, record="r8")
    listed = check_lines(unit(flag, blank, replace(ROW, status="answered")), (), at_most=40)
    assert listed == [
        "1 file: 9 rows read, 8 used, 1 set aside.",
        "1 used row without a cell: open where a limited check needs it.",
        "1 flag of 1 kind, for problems.csv; nothing is open for it.",
        "1 tag, 0 unanswered, 1 answered.",
    ]


def test_more_lines_than_asked_for_are_counted() -> None:
    problems = [replace(ROW, column=f"column {'x' * place}", record=f"r{place}") for place in range(60)]
    flag = replace(ROW, status="flag", record="f")
    listed = check_lines(unit(*problems, flag), ["a recording"] * 9, at_most=40)
    assert len(listed) == 40
    assert listed[-3] == "  ... and 34 lines more: --all prints them."
    assert len(check_lines(unit(*problems, flag), ["a recording"] * 9, at_most=None)) == 73
