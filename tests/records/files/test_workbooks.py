"""Workbooks: sheets, headers, rows and what a spreadsheet makes of cells."""

from __future__ import annotations

import io
import re
import zipfile
from datetime import UTC, date, datetime, time

import openpyxl
import pytest
from openpyxl.comments import Comment

from kit.records.files.raw import RawFile, UnreadableFileError
from kit.records.files.workbooks import cell_text, read_workbook

KNOWN = frozenset({"tag", "visit"})


def book(*rows: list[object], sheet: str = "Sheet1") -> RawFile:
    made = openpyxl.Workbook()
    made.active.title = sheet
    for row in rows:
        made.active.append(row)
    data = io.BytesIO()
    made.save(data)
    return read_workbook(data.getvalue(), KNOWN)


def test_formulas_and_merged_cells_are_found_whatever_prefix_a_program_gives_its_elements() -> None:
    made = openpyxl.Workbook()
    for row in (["tag", "visit"], ["FV-1", "=1+1"], ["FV-2", "1"], ["FV-3", "2"]):
        made.active.append(row)
    made.active.merge_cells("B3:B4")
    data = io.BytesIO()
    made.save(data)
    (plain,), (found,) = read_workbook(data.getvalue(), KNOWN).tables, read_workbook(_prefixed(data), KNOWN).tables
    assert found.columns[1].tolist() == plain.columns[1].tolist() == ["=1+1", "1", ""]
    assert found.row_faults == plain.row_faults != {}


def _prefixed(data: io.BytesIO) -> bytes:
    """The workbook with every element of its sheets under a prefix, which says the same."""
    made = io.BytesIO()
    with zipfile.ZipFile(data) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            text = old.read(name)
            if name.startswith("xl/worksheets/"):
                text = re.sub(rb"<(/?)([A-Za-z])", rb"<\1x:\2", text).replace(b"xmlns=", b"xmlns:x=")
            new.writestr(name, text)
    return made.getvalue()


@pytest.mark.parametrize("comment", ["30 s at first", ""])
def test_comments_beside_cells_are_told(comment: str) -> None:
    made = openpyxl.Workbook()
    made.active.append(["tag", "visit"])
    made.active.append(["FV-1", "1"])
    made.active["B2"].comment = Comment(comment, "Technician 1") if comment else None
    data = io.BytesIO()
    made.save(data)
    assert ["comments" in each for each in read_workbook(data.getvalue(), KNOWN).remarks] == [True] * bool(comment)


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (None, ""),
        (True, "TRUE"),
        (12.0, "12"),
        (12.5, "12.5"),
        (0.1 + 0.2, "0.30000000000000004"),
        (1e15, "1000000000000000.0"),
        (1e14, "100000000000000"),
        (-3.0, "-3"),
        (7, "7"),
        (datetime(2026, 3, 4), "2026-03-04"),
        (datetime(2026, 3, 4, 10, 15), "2026-03-04T10:15:00"),
        (datetime(2026, 3, 4, tzinfo=UTC), "2026-03-04T00:00:00+00:00"),
        (date(2026, 3, 4), "2026-03-04"),
        (time(10, 15), "10:15:00"),
        ("text", "text"),
    ],
)
def test_a_cell_says_what_would_be_typed_into_a_csv_file(cell: object, text: str) -> None:
    assert cell_text(cell) == text


def test_rows_are_numbered_as_the_spreadsheet_does() -> None:
    (found,) = book(["Week 3"], [], ["tag", "visit"], ["T", 1], [], [" ", None], ["U", 2]).tables
    assert (found.header, found.rows.tolist()) == (("tag", "visit"), [4, 7])
    assert [column.tolist() for column in found.columns] == [["T", "U"], ["1", "2"]]
    assert (found.sheet, found.hidden, found.comma_separated) == ("Sheet1", False, False)


@pytest.mark.parametrize(("above", "found"), [(19, True), (20, False)])
def test_a_header_stands_within_twenty_rows(above: int, found: bool) -> None:
    (table,) = book(*[["remark"] for _ in range(above)], ["tag", "visit"], ["T", 1]).tables
    assert table.header == (("tag", "visit") if found else ("",))


def test_a_first_row_far_down_is_the_header_all_the_same() -> None:
    (table,) = book(*[[] for _ in range(30)], ["tag", "visit"], ["T", 1]).tables
    assert (table.header, table.rows.tolist()) == (("tag", "visit"), [32])


def test_cells_beside_the_headed_columns_are_a_fault() -> None:
    (found,) = book(["tag", None, "visit", None], ["T", "x", 1, "stray"], ["U", None, 2, " "], ["V"]).tables
    assert found.header == ("tag", "", "visit")
    assert found.row_faults == {0: "Cells beside the 3 headed columns. Give every column a heading or clear them."}
    assert [column.tolist() for column in found.columns] == [["T", "U", "V"], ["x", "", ""], ["1", "2", ""]]


def test_a_header_without_rows_has_a_column_for_each_heading() -> None:
    (found,) = book(["tag", "visit"]).tables
    assert (len(found), [len(column) for column in found.columns]) == (0, [0, 0])


def test_a_workbook_without_a_filled_cell_is_empty() -> None:
    with pytest.raises(UnreadableFileError, match="The file is empty"):
        book([])


def test_a_zip_archive_that_is_no_workbook_is_damaged() -> None:
    import zipfile

    data = io.BytesIO()
    with zipfile.ZipFile(data, "w") as archive:
        archive.writestr("anything", "else")
    with pytest.raises(UnreadableFileError, match=r"The workbook is damaged \(\w+\). Save it again"):
        read_workbook(data.getvalue(), KNOWN)


def test_a_formula_stands_where_no_value_is_stored() -> None:
    (found,) = book(["tag", "visit"], ["=A1", "kept"]).tables
    assert [column.tolist() for column in found.columns] == [["=A1"], ["kept"]]


def saved(made: openpyxl.Workbook) -> RawFile:
    data = io.BytesIO()
    made.save(data)
    return read_workbook(data.getvalue(), KNOWN)


@pytest.mark.parametrize(
    ("value", "number_format", "text"),
    [
        (0.3, "0%", "30%"),
        (0.07, "0.00%", "7%"),
        (1, "0%", "100%"),
        (0.1234, "0.0 %", "12.34%"),
        (30, '0" %"', "30"),
        (30, r"0\%", "30"),
        (0.3, "General", "0.3"),
        ("0.3", "0%", "0.3"),
    ],
)
def test_a_share_shown_in_percent_is_that_many_percent(value: object, number_format: str, text: str) -> None:
    made = openpyxl.Workbook()
    made.active.append(["tag", "visit"])
    made.active.append(["T", value])
    made.active["B2"].number_format = number_format
    (found,) = saved(made).tables
    assert found.columns[1].tolist() == [text]


def test_merged_cells_leave_their_rows_untold_apart() -> None:
    """Down a column the first row keeps what stands in it; across a row nobody can say what was meant."""
    made = openpyxl.Workbook()
    for row in (["tag", "visit"], ["T", 1], [None, 1], [None, 1], ["U", 1], ["V", 2]):
        made.active.append(row)
    made.active.merge_cells("A2:A4")
    made.active.merge_cells("A5:B5")
    (found,) = saved(made).tables
    assert sorted(found.row_faults) == [1, 2, 3]
    assert "The cells A2:A4 are merged" in found.row_faults[1]
    assert "A5:B5" in found.row_faults[3]
