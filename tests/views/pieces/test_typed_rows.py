"""Rows as they were typed: which belong to a stage, and their cells."""

from __future__ import annotations

from dataclasses import replace
from math import inf, nan

import numpy as np

from kit.basis.records import Problem, Scope
from kit.basis.rows import Rows
from kit.basis.tables.measurements import ELECTRICAL, FAIL_TESTS, READINGS
from kit.views.pieces.typed_rows import (
    first_typed,
    flagged_rows,
    is_typed,
    named_places,
    places_of,
    recorded_table,
    stage_rows,
    typed,
)
from tests.views import made, reader


def test_a_stage_has_its_own_rows_of_its_own_visit():
    given = [{"time_s": 1.0}, {"time_s": 2.0, "stage": "as_found"}, {"time_s": 3.0, "visit": "2"}]
    records = made.records({"strokes": given})
    assert stage_rows(records, "strokes", made.stage())["time_s"].tolist() == [1.0]
    assert stage_rows(records, "strokes", made.stage(stage="as_found"))["time_s"].tolist() == [2.0]


def test_a_stage_that_goes_on_from_another_shows_the_rows_that_its_checks_are_made_of():
    given = [{"time_s": 1.0}, {"time_s": 3.0, "visit": "2"}, {"time_s": 4.0, "visit": "0"}]
    records = made.records({"strokes": given})
    stroke = made.result("stroke_time_open", 1.0, visit="1")
    stage = made.stage(stroke, made.result("inaccuracy", 0.1, visit="2"), visit="2", goes_on_from=("1",))
    assert stage_rows(records, "strokes", stage)["time_s"].tolist() == [1.0]


def test_a_table_that_knows_no_stage_belongs_to_as_left():
    records = made.records({"electrical": [{"supply_idle_v": 24.0}]})
    assert len(stage_rows(records, "electrical", made.stage())) == 1
    assert len(stage_rows(records, "electrical", made.stage(stage="as_found"))) == 0


def test_a_cell_has_the_unit_of_its_column():
    rows = made.rows("electrical", [{"loop_ohm": 250.0, "earth_ohm": 0.51}])
    assert typed(rows, ELECTRICAL, "loop_ohm", 0) == "250 Ω"
    assert typed(rows, ELECTRICAL, "supply_idle_v", 0) == "–"
    tests = made.rows("fail_tests", [{"command_restored_pct": 60.04}])
    assert typed(tests, FAIL_TESTS, "command_restored_pct", 0) == "60.04 %"
    assert typed(tests, FAIL_TESTS, "command_restored_pct", 0, decimals=1) == "60.0 %"


def test_the_first_column_that_was_typed_is_shown():
    rows = made.rows("readings", [{"position_mm": 12.5, "position_pct": 50.0}, {"position_deg": -0.5}, {}])
    columns = ("position_deg", "position_mm", "position_pct")
    shown = [first_typed(rows, READINGS, columns, index) for index in range(3)]
    assert shown == ["12.5 mm", "−0.5°", "–"]


def test_a_column_of_blanks_was_not_typed():
    rows = made.rows("electrical", [{"loop_ohm": nan}, {"loop_ohm": 0.0}])
    assert is_typed(rows, "loop_ohm")
    assert not is_typed(rows, "earth_ohm")


def test_a_bound_keeps_its_sign_and_what_has_no_number_is_a_word():
    made_rows = made.rows("electrical", [{"earth_ohm": 0.1}, {"earth_ohm": 60.0}, {"earth_ohm": inf}])
    bounds = np.array(["earth_ohm:below", "earth_ohm:above", "earth_ohm:over"], dtype=object)
    bounded = Rows({**made_rows.columns, "bounds": bounds})
    shown = [typed(bounded, ELECTRICAL, "earth_ohm", index) for index in range(3)]
    assert shown == ["< 0.1 Ω", "> 60 Ω", "over range"]


def test_a_row_says_where_it_stands_and_one_file_is_named_once():
    rows = made.rows("strokes", [{"time_s": 1.0}, {"time_s": 2.0}])
    table = recorded_table(rows, ["Time:"], [["1 s"], ["2 s"]], flagged=())
    assert table.caption == "As recorded, from records/strokes.csv"
    assert (reader.titles(table), reader.rows(table)) == (["Time", "Row"], [["1 s", "2"], ["2 s", "3"]])
    assert [row[0].anchor for row in table.rows] == ["strokes-csv-2", "strokes-csv-3"]


def test_rows_of_several_files_name_each_its_own():
    rows = made.rows("strokes", [{"time_s": 1.0}, {"time_s": 2.0}])
    rows = Rows({**rows.columns, "file": np.array(["records/a.csv", "records/b.csv"], dtype=object)})
    assert places_of(rows, ()) == ("", ["records/a.csv row 2", "records/b.csv row 3"])
    table = recorded_table(rows, ["Time:"], [["1 s"], ["2 s"]], flagged=(), caption="Strokes")
    assert (table.caption, reader.titles(table)) == ("Strokes", ["Time", "Record"])


def test_a_flagged_row_says_so_and_the_note_says_what_it_means():
    rows = made.rows("strokes", [{"time_s": 1.0}, {"time_s": 2.0}])
    flagged = {("records/strokes.csv", 3)}
    table = recorded_table(rows, ["Time:"], [["1 s"], ["2 s"]], flagged=flagged)
    assert reader.rows(table) == [["1 s", "2"], ["2 s", "3 (flagged)"]]
    assert table.notes == ("(flagged): see Problems in the records. Used as it was typed.",)
    assert recorded_table(rows, ["Time:"], [["1 s"], ["2 s"]], flagged={("records/other.csv", 3)}).notes == ()
    assert named_places(rows, flagged) == ["records/strokes.csv row 2", "records/strokes.csv row 3 (flagged)"]


def test_a_row_is_flagged_by_the_records_or_by_judging_and_not_by_what_is_settled_or_of_another_table():
    given = [{"time_s": float(number)} for number in range(6)]
    doubt = Problem("records/strokes.csv", 2, "time_s", "0", "?", "T", table="strokes", scope=Scope(("T",)))
    problems = (
        doubt,
        replace(doubt, row=3, status="answered"),
        replace(doubt, row=4, table="readings"),
        replace(doubt, row=5, scope=None),  # doubts no value
        replace(doubt, row=None),
    )
    records = replace(made.records({"strokes": given}), problems=problems)
    judged = replace(made.result("stroke_time_open", 1.0), flagged=("strokes.csv row 6",))
    of_others = replace(made.result("inaccuracy", 1.0), flagged=("strokes.csv row 7",))
    found = flagged_rows(records, "strokes", made.stage(judged, of_others))
    assert found == {("records/strokes.csv", 2), ("records/strokes.csv", 6)}
