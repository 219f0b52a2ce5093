"""Used rows that lack a cell."""

from __future__ import annotations

import pytest

from kit.basis.records import Problem, UnitRecords

VISITS = "tag,visit,date\n" + "".join(
    f"{tag},{visit},2026-03-04\n" for tag in ("FV-101", "FV-102", "FV-103") for visit in "12"
)


def lacking(unit: UnitRecords) -> list[Problem]:
    return [each for each in unit.problems if each.status == "blank"]


@pytest.fixture
def lacks(read_files):
    """Which cells of a table's rows are told to lack: row and column."""

    def read(table: str, text: str) -> list[tuple[int | None, str]]:
        found = lacking(read_files({f"records/{table}.csv": text, "records/visits.csv": VISITS}))
        assert not any(each.set_aside for each in found)
        return sorted((each.row, each.column) for each in found)

    return read


@pytest.mark.parametrize("cell", ["?", "n/a", "not done", "N/A", "none"])
@pytest.mark.parametrize(
    ("table", "head", "row", "column"),
    [
        ("electrical", "tag,visit,insulation_mohm", "", "insulation_mohm"),
        (
            "fail_tests",
            "tag,visit,cause,position_before_pct,position_after_pct,time_s",
            "signal_open,60,0,",
            "time_s",
        ),
        ("switches", "tag,visit,switch,makes_at_pct,stop_at_pct", "closed,2,", "stop_at_pct"),
        (
            "loop_checks",
            "tag,visit,station_output_pct,position_pct,station_feedback_pct",
            "50,50,",
            "station_feedback_pct",
        ),
        ("potentiometer", "tag,visit,position_pct,wiper_ohm,track_ohm", "50,500,", "track_ohm"),
        ("readings", "tag,visit,direction,command_mA,position_pct,feedback_mA", "up,12,50,", "feedback_mA"),
    ],
)
def test_a_cell_that_says_that_it_holds_nothing_is_told_and_its_row_used(read_files, table, head, row, column, cell):
    text = f"{head}\nFV-101,1,{row}{cell}\n"
    unit = read_files({f"records/{table}.csv": text, "records/visits.csv": VISITS})
    (problem,) = lacking(unit)
    assert (problem.row, problem.column, problem.value, problem.set_aside) == (2, column, cell, False)
    assert problem.scope is not None
    assert (problem.scope.tags, problem.scope.visit, problem.scope.table, problem.scope.columns) == (
        ("FV-101",),
        "1",
        table,
        (column,),
    )
    assert len(unit.tables[table]) == 1


def test_a_column_that_nobody_filled_is_a_gap_and_no_lack(lacks):
    switches = "tag,visit,switch,makes_at_pct,stop_at_pct\nFV-101,1,closed,2,\nFV-101,1,open,98,\n"
    assert lacks("switches", switches) == []


def test_a_cell_that_other_rows_of_the_same_test_hold_is_lacking(lacks):
    rows = [
        ("FV-101", "1", "as_left", "closed", "2", "0"),
        ("FV-101", "1", "as_left", "closed", "2.1", ""),
        ("FV-101", "1", "as_left", "open", "98", ""),
        ("FV-101", "1", "as_found", "closed", "2", ""),
        ("FV-101", "2", "as_left", "closed", "2", ""),
        ("FV-103", "1", "as_left", "closed", "2", ""),
    ]
    text = "tag,visit,stage,switch,makes_at_pct,stop_at_pct\n" + "".join(",".join(row) + "\n" for row in rows)
    assert lacks("switches", text) == [(3, "stop_at_pct")]


def test_rows_of_other_files_count_among_the_others(read_files):
    head = "tag,visit,direction,command_mA,position_pct,feedback_mA\n"
    unit = read_files(
        {
            "records/readings-a.csv": f"{head}FV-101,1,up,12,50,12\n",
            "records/readings-b.csv": f"{head}FV-101,1,down,12,50.2,\n",
            "records/visits.csv": VISITS,
        }
    )
    assert [(each.file, each.row, each.column) for each in lacking(unit)] == [
        ("records/readings-b.csv", 2, "feedback_mA")
    ]


def test_feedback_in_another_column_is_feedback(lacks):
    head = "tag,visit,direction,command_mA,position_pct,feedback_mA,feedback_pct\n"
    assert lacks("readings", f"{head}FV-101,1,up,12,50,12,\nFV-101,1,down,12,50.2,,50\n") == []


@pytest.mark.parametrize(
    ("table", "text", "column"),
    [
        ("fail_tests", "tag,visit,cause,position_after_pct\nFV-101,1,signal_open,0\n", "position_before_pct"),
        ("switches", "tag,visit,switch,breaks_at_pct\nFV-101,1,closed,3\n", "makes_at_pct"),
        ("loop_checks", "tag,visit,station_output_pct,station_feedback_pct\nFV-101,1,50,50\n", "position_pct"),
    ],
)
def test_what_a_row_is_there_for_is_lacking_though_nobody_filled_it(lacks, table, text, column):
    assert lacks(table, text) == [(2, column)]


def test_a_reading_that_says_nothing_alone_lacks_what_another_row_holds(lacks):
    head = "tag,visit,supply_nominal_v,supply_running_v,insulation_mohm\n"
    assert lacks("electrical", f"{head}FV-101,1,24,23.9,\nFV-101,1,,18,\nFV-101,1,,,500\n") == [(3, "supply_nominal_v")]
    assert lacks("electrical", f"{head}FV-101,1,,23.9,\nFV-101,1,,18,\n") == []


def test_a_valve_that_holds_lacks_no_time(lacks):
    head = "tag,visit,cause,position_before_pct,position_after_pct,time_s\n"
    rows = "FV-102,1,signal_open,60,60,n/a\nFV-102,1,signal_open,40,40,0\nFV-101,1,signal_open,60,0,0\n"
    assert lacks("fail_tests", head + rows) == [(4, "time_s")]


def test_the_time_of_a_stroke_costs_its_row(read_files):
    unit = read_files(
        {"records/strokes.csv": "tag,visit,direction,time_s\nFV-101,1,open,?\n", "records/visits.csv": VISITS}
    )
    (problem,) = [each for each in unit.problems if each.column == "time_s"]
    assert (problem.status, problem.set_aside) == ("open", True)


def test_a_row_that_is_set_aside_lacks_nothing_more(lacks):
    assert lacks("switches", "tag,visit,switch,makes_at_pct,stop_at_pct\nFV-101,1,sideways,,?\n") == []


@pytest.mark.parametrize("cell", ["-", "–", "--", "/", ""])
def test_a_dash_is_a_blank(lacks, cell):
    head = "tag,visit,supply_nominal_v,supply_running_v,insulation_mohm\n"
    assert lacks("electrical", f"{head}FV-101,1,24,23.9,{cell}\nFV-101,1,{cell},{cell},500\n") == []
    switches = f"tag,visit,switch,makes_at_pct,stop_at_pct\nFV-101,1,closed,2,0\nFV-101,1,closed,2.1,{cell}\n"
    assert lacks("switches", switches) == [(3, "stop_at_pct")]
