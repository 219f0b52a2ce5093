"""unit.xlsx: the tables of the outputs, and the instruments."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest

from kit.assessment.shown.summaries import summaries
from kit.runs.outputs.csv_tables import CSV_ENCODING, TAGS_COLUMNS, csv_lines
from kit.runs.outputs.workbook.unit_workbook import write_unit_workbook
from tests.views.made_unit import many_tags


@pytest.fixture
def workbook(tmp_path: Path) -> openpyxl.Workbook:
    tables = {
        "tags.csv": ((*TAGS_COLUMNS, "line", "=own"), [{"tag": "-FV", "share_pct": 12.5, "line": "40", "=own": "=1"}]),
        "results.csv": (("unit", "tag", "value"), [{"unit": "u", "tag": "-FV", "value": 0.1}]),
        "problems.csv": (("file", "value"), [{"file": "'a.csv", "value": 7}]),
    }
    for name, (columns, rows) in tables.items():
        (tmp_path / name).write_text("".join(csv_lines(columns, rows)), encoding=CSV_ENCODING, newline="")
    path = tmp_path / "unit.xlsx"
    results = many_tags(99)
    write_unit_workbook(path, {name: tmp_path / name for name in tables}, results, summaries(results))
    return openpyxl.load_workbook(path)


def test_each_table_is_a_sheet(workbook: openpyxl.Workbook):
    assert workbook.sheetnames == [
        *("about", "tags", "results", "problems", "instruments"),
        *("tests done", "progress", "register columns", "limits that bite", "in common", "causes"),
        *("stale", "changed"),
    ]


def test_a_text_is_the_text_that_the_csv_had_to_keep_from_running(workbook: openpyxl.Workbook):
    assert workbook["tags"]["A2"].value == "-FV"
    assert workbook["problems"]["A2"].value == "'a.csv"


def test_the_register_s_own_columns_and_cells_as_typed_stay_texts(workbook: openpyxl.Workbook):
    head, row = workbook["tags"].iter_rows(values_only=True)
    own = dict(zip(head, row, strict=True))
    assert (own["line"], own["=own"], own["share_pct"]) == ("40", "=1", 12.5)
    assert workbook["problems"]["B2"].value == "7"


def test_the_unit_that_is_the_same_in_every_row_is_left_out(workbook: openpyxl.Workbook):
    assert list(workbook["results"].iter_rows(values_only=True)) == [("tag", "value"), ("-FV", 0.1)]


def test_what_the_page_counts_stands_in_numbers(workbook: openpyxl.Workbook):
    head, first, *_ = workbook["register columns"].iter_rows(values_only=True)
    told = dict(zip(head, first, strict=True))
    assert (told["column"], told["value"], isinstance(told["tags"], int)) == ("system", "Invented system 00", True)
    (day,) = workbook["progress"].iter_rows(min_row=2, values_only=True)
    assert day[1] == 99
    assert {row[6] for row in workbook["in common"].iter_rows(min_row=2, values_only=True)} <= {"yes", "no"}


def test_an_instrument_stands_with_what_it_touched(workbook: openpyxl.Workbook):
    head, *rows = workbook["instruments"].iter_rows(values_only=True)
    told = [dict(zip(head, row, strict=True)) for row in rows]
    used = next(each for each in told if each["uses"])
    idle = next(each for each in told if each["instrument"] == "X-9")
    assert (used["tags"], used["uses"] >= used["tags"]) == (99, True)
    assert (idle["tags"], idle["faults"], idle["description"]) == (0, "not used", "Volt meter")
