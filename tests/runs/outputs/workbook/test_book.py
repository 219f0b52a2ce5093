"""The workbook as a spreadsheet reads it."""

from __future__ import annotations

import datetime
import zipfile
from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.runs.outputs.workbook import book
from kit.runs.outputs.workbook.book import Sheet, write_workbook
from kit.runs.outputs.workbook.columns import columns

_COLUMNS = ("tag", "value", "date", "row")


def written(path: Path, rows, names=_COLUMNS, name="results") -> openpyxl.Workbook:
    write_workbook(path, "=Unit", ["Invented."], [Sheet(name, columns(name, names), rows, "a row")])
    return openpyxl.load_workbook(path)


def cells(path: Path, rows, **how) -> list[list[object]]:
    sheet = written(path, rows, **how).worksheets[1]
    return [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)]


def test_numbers_dates_and_texts_are_what_their_column_says(tmp_path: Path):
    (row,) = cells(tmp_path / "a.xlsx", [["4", "-0.1", "2026-03-09", "12"]])
    assert row == ["4", -0.1, datetime.datetime(2026, 3, 9), 12]


def test_what_is_neither_number_nor_date_stays_a_text_and_nothing_stays_blank(tmp_path: Path):
    rows = [["FV-1", "inf", "week 12", "nan"], ["FV-2", None, "", "?"]]
    assert cells(tmp_path / "a.xlsx", rows) == [["FV-1", "inf", "week 12", "nan"], ["FV-2", None, None, "?"]]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@a", "\t=1", '=HYPERLINK("x")'])
def test_no_cell_is_a_formula_and_one_that_looks_like_it_is_kept_a_text_when_edited(tmp_path: Path, text: str):
    cell = written(tmp_path / "a.xlsx", [[text, text.strip("\t"), text, text]]).worksheets[1]["A2"]
    assert (cell.value, cell.data_type, cell.quotePrefix) == (text, "s", True)
    data = zipfile.ZipFile(tmp_path / "a.xlsx")
    assert not any(b"<f" in data.read(name) for name in data.namelist() if "worksheets" in name)


def test_every_table_has_a_filter_over_all_its_rows_and_its_head_stays(tmp_path: Path):
    sheet = written(tmp_path / "a.xlsx", [["a", 1, "", 2]] * 7).worksheets[1]
    assert (sheet.auto_filter.ref, sheet.freeze_panes, sheet.print_title_rows) == ("A1:D8", "B2", "$1:$1")
    assert [cell.font.b for cell in sheet[1]] == [True] * 4
    assert sheet["B2"].number_format == "0.000"
    assert sheet.column_dimensions["A"].width == 15


def test_the_first_sheet_says_what_the_workbook_is_of(tmp_path: Path):
    about = written(tmp_path / "a.xlsx", [["a", 1, "", 2]] * 3).worksheets[0]
    rows = list(about.iter_rows(values_only=True))
    assert rows[:2] == [("=Unit", None, None), ("Invented.", None, None)]
    assert rows[-2:] == [("sheet", "rows", "a row is"), ("results", 3, "a row")]
    assert about["A1"].data_type == "s"


def test_rows_beyond_a_worksheet_are_left_out_and_that_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(book, "MOST_ROWS", 4)
    found = written(tmp_path / "a.xlsx", [["a", 1, "", 2]] * 5)
    assert found.worksheets[1].max_row == 4
    assert found.worksheets[0].cell(5, 3).value == "a row; 2 more do not fit into a worksheet: the CSV has them all"


def test_the_same_tables_give_the_same_bytes(tmp_path: Path):
    for name in ("a.xlsx", "b.xlsx"):
        written(tmp_path / name, [["a", 1, "2026-01-01", 2]])
    assert (tmp_path / "a.xlsx").read_bytes() == (tmp_path / "b.xlsx").read_bytes()
    assert {each.date_time for each in zipfile.ZipFile(tmp_path / "a.xlsx").infolist()} == {(1980, 1, 1, 0, 0, 0)}


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\r\ufffe\uffff"), min_size=1))
def test_a_text_read_back_is_the_same_text(tmp_path: Path, text: str):
    from openpyxl.utils.escape import unescape

    (row,) = cells(tmp_path / "a.xlsx", [[text, None, None, None]])
    assert unescape(str(row[0])) == text


def test_a_text_longer_than_a_cell_is_cut_and_says_so(tmp_path: Path):
    (row,) = cells(tmp_path / "a.xlsx", [["x" * 40_000, None, None, None]])
    assert len(str(row[0])) == 32_767
    assert str(row[0]).endswith("x ... (cut)")
