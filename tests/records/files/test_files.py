"""Files: encodings, delimiters, workbooks, Parquet, and those that cannot be read."""

from __future__ import annotations

import io
from datetime import datetime

import openpyxl
import pandas as pd
import pytest

from kit.basis.records import UnitRecords

ROWS = [["tag", "visit", "direction", "command_mA", "position_pct"], ["FV-101", "1", "up", "12.04", "50.2"]]


def text(delimiter: str = ",", rows: list[list[str]] = ROWS) -> str:
    return "".join(delimiter.join(row) + "\n" for row in rows)


def workbook(**sheets: list[list[object]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def parquet(frame: pd.DataFrame) -> bytes:
    data = io.BytesIO()
    frame.to_parquet(data, index=False)
    return data.getvalue()


def about(unit: UnitRecords, file: str) -> list[str]:
    return [
        problem.problem for problem in unit.problems if problem.file == file and "no row for" not in problem.problem
    ]


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_csv_in_utf8_is_read_without_remark(read_files, delimiter: str, encoding: str, ending: str) -> None:
    unit = read_files({"records/readings.csv": text(delimiter).replace("\n", ending).encode(encoding)})
    assert unit.tables["readings"]["command_mA"].tolist() == [12.04]
    assert about(unit, "records/readings.csv") == []


@pytest.mark.parametrize(("encoding", "said"), [("utf-16", "UTF-16"), ("cp1252", "cp1252")])
def test_another_encoding_is_read_and_said(read_files, encoding: str, said: str) -> None:
    settings = "tag,visit,setting,value\nFV-101,1,Größe,5 °\n"
    unit = read_files({"records/settings.csv": settings.encode(encoding)})
    assert unit.tables["settings"]["setting"].tolist() == ["Größe"]
    (remark,) = about(unit, "records/settings.csv")
    assert said in remark


def test_rows_are_numbered_as_a_person_counts_lines(read_files) -> None:
    """A blank line and a cell of two lines count, as they do in an editor."""
    content = 'tag,visit,setting,value\n\nFV-101,1,"two\nlines",1\nFV-101,1,Speed,40 %\n,,,\n'
    unit = read_files({"records/settings.csv": content})
    assert sorted(unit.tables["settings"]["row"].tolist()) == [3, 5]


def test_a_lost_quotation_mark_costs_its_own_line(read_files) -> None:
    content = 'tag,visit,setting,value\nFV-101,1,"Speed,1\nFV-101,1,Gain,2\n'
    unit = read_files({"records/settings.csv": content})
    assert unit.tables["settings"]["setting"].tolist() == ["Gain"]
    assert "quotation mark" in about(unit, "records/settings.csv")[0]


def test_a_title_above_the_header_is_passed_over(read_files) -> None:
    unit = read_files({"records/readings.csv": "Week 12, invented\n" + text()})
    assert unit.tables["readings"]["row"].tolist() == [3]


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("records/readings.csv", b"", "empty"),
        ("records/readings.csv", b"\n \n", "empty"),
        ("records/readings.csv", text(rows=ROWS[:1]).encode(), "no rows"),
        ("records/readings.xlsx", b"no workbook", "no XLSX workbook"),
        ("records/readings.parquet", b"no Parquet", "no Parquet file"),
        ("records/readings.xls", b"old", "Only .csv, .xlsx and .parquet"),
        ("records/photo-list.csv", b"a,b\n1,2\n", "begins with no table's name"),
    ],
)
def test_a_file_of_no_use_is_one_problem(read_files, name: str, data: bytes, said: str) -> None:
    unit = read_files({name: data})
    (problem,) = about(unit, name)
    assert said in problem
    assert len(unit.tables["readings"]) == 0


def test_files_add_up_at_any_depth_and_lock_files_are_passed_over(read_files) -> None:
    other = text(rows=[ROWS[0], ["FV-101", "1", "down", "12.00", "49.9"]])
    files = {
        "records/readings-week12.csv": text(),
        "records/a/b/Readings rest.CSV": other,
        "records/~$readings.csv": "x",
        "records/.readings.csv": "x",
    }
    unit = read_files(files)
    assert len(unit.tables["readings"]) == 2
    assert sorted(unit.input_hashes) == sorted(
        [
            *("unit.toml", "tags.csv", "instruments.csv"),
            *("records/readings-week12.csv", "records/a/b/Readings rest.CSV", "records/visits.csv"),
        ]
    )


def test_rows_set_aside_from_a_workbook_name_their_table(read_files) -> None:
    readings = [["tag", "visit", "direction", "command_mA", "position_pct"], ["FV-101", 1, "up", "OK", 50]]
    strokes = [["tag", "visit", "direction", "time_s"], ["FV-101", 1, "open", "quick"], ["FV-101", 1, "shut", 20]]
    unit = read_files({"records/field-sheet.xlsx": workbook(Readings=readings, Strokes=strokes)})
    aside = [(each.table, each.row) for each in unit.problems if each.set_aside]
    assert sorted(aside) == [("readings", 2), ("strokes", 2), ("strokes", 3)]


def test_a_workbook_gives_each_visible_sheet_to_its_table(read_files) -> None:
    sheets = {
        "readings 1": [ROWS[0], ["FV-101", 1, "up", 12.04, 50.2]],
        "visits": [["tag", "visit", "date"], ["FV-101", 1, datetime(2026, 3, 4)]],
        "notes": [["anything"], ["else"]],
    }
    no_more_visits = "tag,visit,date\n"
    unit = read_files({"records/field-sheet.xlsx": workbook(**sheets), "records/visits.csv": no_more_visits})
    assert unit.tables["readings"]["command_mA"].tolist() == [12.04]
    assert unit.tables["visits"]["date"].tolist() == ["2026-03-04"]
    assert unit.tables["visits"]["visit"].tolist() == ["1"]
    (problem,) = about(unit, "records/field-sheet.xlsx")
    assert problem.startswith("Sheet notes: ")


def test_a_hidden_sheet_is_told_and_not_read(read_files) -> None:
    book = openpyxl.load_workbook(io.BytesIO(workbook(readings=[ROWS[0]], strokes=[["tag"], ["FV-101"]])))
    book["strokes"].sheet_state = "hidden"
    data = io.BytesIO()
    book.save(data)
    unit = read_files({"records/field.xlsx": data.getvalue()})
    assert any("hidden" in problem for problem in about(unit, "records/field.xlsx"))
    assert len(unit.tables["strokes"]) == 0


def test_a_formula_without_a_stored_value_is_not_taken_for_blank(read_files) -> None:
    rows = [[*ROWS[0], "feedback_mA"], ["FV-101", 1, "up", 12.0, 50.0, "=D2+1"]]
    unit = read_files({"records/readings.xlsx": workbook(Sheet1=rows)})
    assert "A formula without a stored value" in about(unit, "records/readings.xlsx")[0]


def test_a_reading_that_a_spreadsheet_made_a_date_is_set_aside(read_files) -> None:
    rows = [ROWS[0], ["FV-101", 1, "up", 12.0, datetime(2026, 10, 1)]]
    unit = read_files({"records/readings.xlsx": workbook(Sheet1=rows)})
    (problem,) = [problem for problem in unit.problems if problem.set_aside]
    assert (problem.row, problem.column) == (2, "position_pct")
    assert "turned the reading into" in problem.problem


def test_parquet_counts_from_its_first_data_row(read_files) -> None:
    frame = pd.DataFrame(
        {
            "tag": ["FV-101", "FV-102"],
            "visit": [1, 1],
            "direction": ["up", "up"],
            "command_mA": [12.0, None],
            "command_V": [None, 5.0],
            "position_pct": [50.0, 250.0],
        }
    )
    unit = read_files({"records/readings.parquet": parquet(frame)})
    assert unit.tables["readings"]["row"].tolist() == [1]
    assert [problem.row for problem in unit.problems if problem.set_aside] == [2]


def test_input_files_are_never_written_to(make_unit) -> None:
    from kit.records import read_unit

    folder = make_unit({"records/readings.csv": text()})
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    read_unit(folder)
    assert {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()} == before
