"""What is set aside, what is flagged, and what the problem says."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.records import Problem, Scope, UnitRecords

HEAD = "tag,visit,direction,command_mA,command_V,command_pct,position_pct,position_deg,position_mm,feedback_mA,cycle\n"


def told(unit: UnitRecords, *, set_aside: bool) -> list[Problem]:
    """The problems of the readings, apart from the missing visits."""
    return [
        problem
        for problem in unit.problems
        if problem.file.startswith("records/")
        and problem.set_aside == set_aside
        and "visits has no row" not in problem.problem
    ]


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("FV-101,1,up,,5,,50,,,,", "command_V", "5.0 V on a 4-20 mA loop. Measure the loop current"),
        ("FV-103,1,up,12,,,50,,,,", "command_mA", "on a 2-10 V signal"),
        ("FV-101,1,up,30,,,50,,,,", "command_mA", "between 0 and 24"),
        ("FV-101,1,up,12,,,250,,,,", "position_pct", "between -100 and 200"),
        ("FV-101,1,up,12,,,,,20,,", "position_mm", "no travel in mm"),
        ("FV-101,1,up,12,,,,200,,,", "position_deg", "on a travel of 90.0 deg"),
        ("FV-102,1,up,,14,,50,,,,", "command_V", "14.0 V on a 0-10 V"),
        ("FV-101,1,,12,,,50,,,,", "direction", "blank"),
        ("FV-101,1,up,,,,50,,,,", "command_mA", "Enter one of command_mA, command_V, command_pct"),
        ("FV-101,1,up,12,,,,,,,", "position_pct", "Enter one of position_pct"),
        ("FV-1O1,1,up,12,,,50,,,,", "tag", "Was FV-101 meant"),
        ("XYZ,1,up,12,,,50,,,,", "tag", "No tag of the register is near it"),
        ("FV-101,1,up,12,,,OK,,,,", "position_pct", "not a number"),
        ("FV-101,1,up,12,,,50,,,,,9", "", "12 cells under 11 headings"),
        ("FV-103,1,up,,5,,50,,,12,", "feedback_mA", "on a 0-10 V signal"),
    ],
)
def test_a_bad_row_is_set_aside_with_its_column_and_reason(read_files, row: str, column: str, words: str) -> None:
    unit = read_files({"records/readings.csv": HEAD + row + "\n"})
    (problem,) = told(unit, set_aside=True)
    assert (problem.file, problem.row, problem.column) == ("records/readings.csv", 2, column)
    assert words in problem.problem
    assert len(unit.tables["readings"]) == 0


def test_every_bad_cell_of_a_row_is_told(read_files) -> None:
    unit = read_files({"records/readings.csv": HEAD + "FV-101,1,sideways,30,,,250,,,,\n"})
    assert {problem.column for problem in told(unit, set_aside=True)} == {"direction", "command_mA", "position_pct"}


def test_a_good_row_does_not_suffer_for_a_bad_one(read_files) -> None:
    unit = read_files({"records/readings.csv": HEAD + "FV-101,1,up,OK,,,50,,,,\nFV-102,1,up,,5,,50,,,,\n"})
    assert unit.tables["readings"]["tag"].tolist() == ["FV-102"]


@pytest.mark.parametrize("row", ["FV-101,1,up,,5,25,50,,,,", "FV-101,1,up,8,5,,50,,,,"])
def test_a_foreign_unit_beside_a_usable_one_is_flagged_and_not_used(read_files, row: str) -> None:
    unit = read_files({"records/readings.csv": HEAD + row + "\n"})
    (problem,) = told(unit, set_aside=False)
    assert problem.column == "command_V"
    assert len(unit.tables["readings"]) == 1
    assert np.isnan(unit.tables["readings"]["command_V"]).all()


def test_feedback_without_a_range_is_told_once_and_costs_no_row(read_files) -> None:
    rows = "FV-102,1,up,,5,,50,,,12,\nFV-102,1,down,,5,,50,,,12,\n"
    unit = read_files({"records/readings.csv": HEAD + rows})
    (problem,) = told(unit, set_aside=False)
    assert "feedback of 2 rows is not used" in problem.problem
    assert len(unit.tables["readings"]) == 2


def test_a_missing_bold_column_sets_every_row_aside(read_files) -> None:
    unit = read_files({"records/readings.csv": "tag,visit,command_mA,position_pct\nFV-101,1,4,0\nFV-101,1,8,25\n"})
    problems = told(unit, set_aside=True)
    assert [(problem.row, problem.column) for problem in problems] == [(2, "direction"), (3, "direction")]


def test_a_column_that_stands_twice_sets_every_row_aside(read_files) -> None:
    unit = read_files(
        {"records/readings.csv": "tag,visit,direction,command_mA,Command_MA,position_pct\nFV-101,1,up,4,5,0\n"}
    )
    (problem,) = told(unit, set_aside=True)
    assert "two columns command_mA" in problem.problem


def test_an_unknown_column_is_told_once_with_the_nearest(read_files) -> None:
    unit = read_files(
        {"records/readings.csv": "tag,visit,direction,command_mA,positon_pct,position_deg\nFV-101,1,up,4,0,0\n"}
    )
    (problem,) = told(unit, set_aside=False)
    assert (problem.row, problem.column) == (None, "positon_pct")
    assert "Was position_pct meant?" in problem.problem


def test_a_tag_in_another_letter_case_is_that_tag(read_files) -> None:
    unit = read_files({"records/readings.csv": HEAD + "fv-101 ,1,up,12,,,50,,,,\n"})
    assert unit.tables["readings"]["tag"].tolist() == ["FV-101"]
    assert "letter case" in told(unit, set_aside=False)[0].problem


def test_a_repeat_that_cycle_names_is_set_aside_and_says_which_row_it_repeats(read_files) -> None:
    files = {
        "records/a/readings.csv": HEAD + "FV-101,1,up,12,,,50,,,,1\n",
        "records/readings-b.csv": HEAD + "FV-101,1,up,12.0,,,50,,,,1\n",
    }
    unit = read_files(files)
    (problem,) = told(unit, set_aside=True)
    assert (problem.file, problem.row) == ("records/readings-b.csv", 2)
    assert "row 2 of records/a/readings.csv" in problem.problem


def test_a_repeat_that_nothing_tells_apart_is_used_and_flagged(read_files) -> None:
    unit = read_files({"records/readings.csv": HEAD + "FV-101,1,up,12,,,50,,,,\n" * 2})
    assert len(unit.tables["readings"]) == 2
    assert "Identical to row 2" in told(unit, set_aside=False)[0].problem


def test_the_second_row_of_a_visit_is_set_aside(read_files) -> None:
    unit = read_files({"records/visits.csv": "tag,visit,date\nFV-101,1,2026-03-04\nFV-101,1,2026-03-05\n"})
    assert unit.tables["visits"]["date"].tolist() == ["2026-03-04"]


def test_an_unknown_instrument_is_flagged_and_another_letter_case_is_not(read_files) -> None:
    visits = "tag,visit,date,command_instrument\nFV-101,1,2026-03-04,cal-1\nFV-102,1,2026-03-04,CAL-7\n"
    unit = read_files({"records/visits.csv": visits})
    assert unit.tables["visits"]["command_instrument"].tolist() == ["CAL-1", "CAL-7"]
    (problem,) = told(unit, set_aside=False)
    assert (problem.tag, problem.value) == ("FV-102", "CAL-7")


def test_readings_of_a_visit_that_nobody_knows_are_open_for_the_one_that_decides(read_files) -> None:
    unit = read_files({"records/readings.csv": HEAD + "FV-101,7,up,12,,,50,,,,1\nFV-101,7,up,12,,,50,,,,2\n"})
    assert len(unit.tables["readings"]) == 0
    told = [(each.row, each.status, each.scope) for each in unit.problems if "visits has no row" in each.problem]
    scope = Scope(("FV-101",), "", "as_left", "readings")
    assert told == [(2, "open", scope), (3, "open", scope)]


def test_rows_stand_in_order_of_tag_visit_and_stage(read_files) -> None:
    head = "tag,visit,stage,direction,time_s\n"
    rows = ["FV-102,1,,open,1", "FV-101,10,,open,2", "FV-101,9,as_left,open,3", "FV-101,9,as_found,open,4"]
    visits = "tag,visit,date\nFV-102,1,2026-03-01\nFV-101,10,2026-03-03\nFV-101,9,2026-03-02\n"
    unit = read_files({"records/strokes.csv": head + "\n".join(rows) + "\n", "records/visits.csv": visits})
    assert unit.tables["strokes"]["time_s"].tolist() == [4, 3, 2, 1]


def test_an_item_that_nobody_answered_is_kept(read_files) -> None:
    unit = read_files({"records/prechecks.csv": "tag,visit,item,result\nFV-101,1,Bolts tight,\nFV-101,1,Flushed,n/a\n"})
    assert unit.tables["prechecks"]["result"].tolist() == ["", "na"]


def test_an_open_wiper_is_infinite(read_files) -> None:
    unit = read_files({"records/potentiometer.csv": "tag,visit,position_pct,wiper_ohm\nFV-101,1,50,OL\n"})
    assert unit.tables["potentiometer"]["wiper_ohm"].tolist() == [np.inf]


@pytest.mark.parametrize(
    ("row", "possible"),
    [
        ("FV-102,1,up,,13,,50,,,,", True),
        ("FV-102,1,up,,13.1,,50,,,,", False),
        ("FV-101,1,up,12,,,,180,,,", True),
        ("FV-101,1,up,12,,,,180.1,,,", False),
        ("FV-101,1,up,12,,,,-90,,,", True),
        ("FV-101,1,up,12,,,,-90.1,,,", False),
        ("FV-102,1,up,,5,,,,80,,", True),
        ("FV-102,1,up,,5,,,,80.1,,", False),
        ("FV-102,1,up,,5,,,,-40.1,,", False),
        ("FV-103,1,up,,14.9,,50,,,,", False),
    ],
)
def test_what_lies_just_within_is_possible(read_files, row: str, possible: bool) -> None:
    """1.3 times the top of a range in volts, and a whole travel beyond either end: house definitions."""
    unit = read_files({"records/readings.csv": HEAD + row + "\n"})
    assert len(unit.tables["readings"]) == possible
    assert [each.problem.partition(":")[0] for each in told(unit, set_aside=True)] == (
        [] if possible else ["Impossible"]
    )


@pytest.mark.parametrize(
    ("row", "unusual"),
    [
        ("FV-101,1,up,12,,,-10,,,,", False),
        ("FV-101,1,up,12,,,-10.1,,,,", True),
        ("FV-101,1,up,12,,,110,,,,", False),
        ("FV-101,1,up,12,,,140,,,,", True),
        ("FV-101,1,up,12,,,,99,,,", False),
        ("FV-101,1,up,12,,,,99.1,,,", True),
        ("FV-102,1,up,,5,,,,-4.1,,", True),
    ],
)
def test_travel_far_outside_its_range_is_used_and_flagged(read_files, row: str, unusual: bool) -> None:
    unit = read_files({"records/readings.csv": HEAD + row + "\n"})
    assert len(unit.tables["readings"]) == 1
    assert [("travel stops" in each.problem, each.status) for each in told(unit, set_aside=False)] == (
        [(True, "flag")] if unusual else []
    )


def test_a_stroke_of_no_time_is_a_placeholder(read_files) -> None:
    unit = read_files({"records/strokes.csv": "tag,visit,direction,time_s\nFV-101,1,open,0\nFV-101,1,open,0.01\n"})
    assert unit.tables["strokes"]["time_s"].tolist() == [0.01]
    (problem,) = told(unit, set_aside=True)
    assert (problem.row, problem.column) == (2, "time_s")
    assert "placeholder" in problem.problem


def test_a_resistance_of_0_is_used_and_flagged(read_files) -> None:
    unit = read_files({"records/electrical.csv": "tag,visit,earth_ohm,insulation_mohm\nFV-101,1,0,0.1\n"})
    assert unit.tables["electrical"]["earth_ohm"].tolist() == [0.0]
    (problem,) = told(unit, set_aside=False)
    assert (problem.column, problem.value) == ("earth_ohm", "0")


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("FV-101,1,up,12,,,50,,20,,", "position_mm"),
        ("FV-102,1,up,,5,,,45,20,,", "position_deg"),
        ("FV-101,1,up,12,,,,45,20,,", "position_mm"),
    ],
)
def test_a_position_in_a_foreign_unit_beside_a_usable_one_is_not_used(read_files, row: str, column: str) -> None:
    unit = read_files({"records/readings.csv": HEAD + row + "\n"})
    (problem,) = told(unit, set_aside=False)
    assert problem.column == column
    assert problem.problem.endswith("Not used.")
    assert np.isnan(unit.tables["readings"][column]).all()
    assert len(unit.tables["readings"]) == 1


@pytest.mark.parametrize("name", ["card_mA", "command_mA"])
@pytest.mark.parametrize(("tag", "used"), [("FV-101", True), ("FV-102", False)])
def test_a_loop_current_of_a_tag_in_volts_is_not_used(read_files, name: str, tag: str, used: bool) -> None:
    rows = f"tag,visit,station_output_pct,{name}\n{tag},1,50,12\n"
    unit = read_files({"records/loop_checks.csv": rows})
    assert unit.tables["loop_checks"][name].tolist()[0] == 12 or not used
    ignored = [each.column for each in told(unit, set_aside=False) if each.status == "flag"]
    assert ignored == ([] if used else [name])
    assert np.isnan(unit.tables["loop_checks"][name][0]) != used


def test_a_blank_stage_is_as_left(read_files) -> None:
    rows = "tag,visit,stage,direction,time_s\nFV-101,1,,open,5\nFV-101,1,as_found,open,6\n"
    unit = read_files({"records/strokes.csv": rows})
    assert unit.tables["strokes"]["stage"].tolist() == ["as_found", "as_left"]


def test_respelt_tags_are_told_once_a_file_with_their_number(read_files) -> None:
    rows = "FV-101,1,up,12,,,50,,,,1\nfv-101,1,up,12,,,50,,,,2\nFv-102,1,up,,5,,50,,,,3\n"
    (problem,) = told(read_files({"records/readings.csv": HEAD + rows}), set_aside=False)
    assert problem.problem == "'fv-101' is read as 'FV-101': 2 rows differ from the register in letter case."
    assert (problem.row, problem.column) == (None, "tag")


def test_feedback_without_a_range_is_told_by_tag_in_the_column_it_stands_in(read_files) -> None:
    tags = "tag,command_range\nA,4-20 mA\nB,4-20 mA\n"
    head = "tag,visit,direction,command_mA,position_pct,feedback_mA,feedback_V,feedback_pct\n"
    rows = "A,1,up,12,50,,5,\nA,1,up,13,50,12,,\nB,1,up,12,50,12,,\nB,1,up,13,50,12,,50\n"
    unit = read_files({"tags.csv": tags, "records/readings.csv": head + rows})
    assert [(each.row, each.column) for each in told(unit, set_aside=False)] == [(2, "feedback_V"), (4, "feedback_mA")]
    assert "feedback of 2 rows" in told(unit, set_aside=False)[0].problem
    assert "feedback of 1 rows" in told(unit, set_aside=False)[1].problem


def test_bounds_are_used_with_their_number(read_files) -> None:
    cells = [">60", "did not open", "29", ">60 s"]
    lines = "".join(f"FV-101,1,open,{cell},2026-03-04T10:0{at}:00\n" for at, cell in enumerate(cells))
    unit = read_files({"records/strokes.csv": f"tag,visit,direction,time_s,at\n{lines}"})
    strokes = unit.tables["strokes"]
    assert strokes["time_s"].tolist() == [60.0, np.inf, 29.0, 60.0]
    assert strokes["bounds"].tolist() == ["time_s:above", "time_s:never", "", "time_s:above"]
    assert told(unit, set_aside=True) == told(unit, set_aside=False) == []


def test_a_bound_is_no_repeat_of_a_reading(read_files) -> None:
    rows = "FV-101,1,open,60\nFV-101,1,open,>60\n"
    unit = read_files({"records/strokes.csv": f"tag,visit,direction,time_s\n{rows}"})
    assert len(unit.tables["strokes"]) == 2


@pytest.mark.parametrize("cell", [">50", "OL", "stuck", "did not move"])
def test_a_position_that_is_no_number_stays_open(read_files, cell: str) -> None:
    unit = read_files({"records/readings.csv": HEAD + f"FV-101,1,up,12,,,{cell},,,,\n"})
    (problem,) = told(unit, set_aside=True)
    assert (problem.column, problem.status) == ("position_pct", "open")


def test_a_bound_outside_what_is_possible_is_a_fault(read_files) -> None:
    unit = read_files({"records/electrical.csv": "tag,visit,earth_ohm\nFV-101,1,<-5\n"})
    assert [each.column for each in told(unit, set_aside=True)] == ["earth_ohm"]


@pytest.mark.parametrize(
    ("checked_on", "is_open"),
    [("2026-03-03", True), ("2025-03-05", True), ("2026-03-04", False), ("2026-04-01", False)],
)
def test_a_record_checked_before_it_was_made_is_open_for_the_whole_tag(
    read_files, checked_on: str, is_open: bool
) -> None:
    """The visit is of 4 March 2026; a blank day of the check says nothing."""
    head, date = "tag,visit,date,checked_on\n", "2026-03-04"
    unit = read_files({"records/visits.csv": f"{head}FV-101,1,{date},{checked_on}\nFV-102,1,{date},\n"})
    found = [each for each in unit.problems if each.column == "checked_on"]
    assert [each.problem for each in found] == ["checked_on lies before date. Correct one of them."] * is_open
    assert [(each.status, each.set_aside, each.scope.tags, each.scope.table) for each in found if each.scope] == [
        ("open", False, ("FV-101",), "")
    ] * is_open
    assert len(unit.tables["visits"]) == 2
