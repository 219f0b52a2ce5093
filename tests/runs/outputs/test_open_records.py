"""open_records.csv: one row a record, with all that is wrong with it and its answer left blank."""

from __future__ import annotations

import csv
from dataclasses import replace

from kit.basis.records import Problem, Scope
from kit.basis.registers import Tag
from kit.runs.outputs.open_records import OPEN_COLUMNS, as_judged, open_lines

SCOPE = Scope(("FV-1",), "2", "as_left", "strokes")
QUICK = Problem(
    "records/strokes.csv", 4, "time_s", "quick", "No number.", "FV-1", True, "strokes", "r1", "open", SCOPE
)
SIDE = replace(QUICK, column="direction", value="sideways", problem="No such way.")
FLAG = replace(QUICK, row=5, record="r2", status="flag", scope=None)
BLANK = replace(QUICK, row=6, column="time_s", record="r3", status="blank", set_aside=False)
TAGS = {"FV-1": Tag("FV-1"), "FV-2": Tag("FV-2", safety_function=True)}


def rows(*problems: Problem) -> list[dict[str, str]]:
    return list(csv.DictReader(open_lines(problems, TAGS)))


def test_a_record_has_one_row_with_all_that_is_wrong_with_it() -> None:
    (row,) = rows(QUICK, SIDE, FLAG)
    assert tuple(row) == OPEN_COLUMNS
    assert {name: cell for name, cell in row.items() if cell} == {
        "record": "r1",
        "file": "records/strokes.csv",
        "row": "4",
        "of_tag": "FV-1",
        "of_visit": "2",
        "of_table": "strokes",
        "what": "time_s quick: No number. direction sideways: No such way.",
    }


def test_a_record_of_several_tags_names_them_and_asks_for_a_second_person_where_one_is_a_safety_function() -> None:
    (row,) = rows(replace(QUICK, tag="", scope=Scope(("FV-1", "FV-2"))))
    assert row["of_tag"] == ""
    assert row["what"].endswith(
        "It may be of FV-1, FV-2. A safety function is in its scope: enter a second_person too."
    )


def test_a_used_row_that_lacks_a_cell_is_as_the_report_found_it() -> None:
    judged = replace(BLANK, status="flag")
    assert as_judged([QUICK, BLANK], [judged]) == [QUICK, judged]
    assert as_judged([BLANK], []) == [replace(BLANK, status="open")]
