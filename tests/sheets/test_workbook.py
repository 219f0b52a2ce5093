"""How a sheet is laid out: locks, lists, print, texts that never run."""

from __future__ import annotations

import io
from dataclasses import replace

import openpyxl
import pytest

from kit.records import tag_records
from kit.records.files.raw import HEADER_WITHIN
from kit.records.unit import read_unit
from kit.sheets.cautions import BEFORE_MOTION, CAUTIONS
from kit.sheets.plan import Occasion, whole_sheet
from kit.sheets.workbook import workbook_bytes
from tests.sheets.fill import column_of, head_row


@pytest.fixture
def made(blank_unit):
    """FV-1's sheet and its workbook, of a service and a document that a spreadsheet would run."""
    unit = read_unit(blank_unit)
    records = tag_records(unit, "FV-1")
    records = replace(records, tag=replace(records.tag, service="=1+1", safety_function=True, limits="modulating"))
    form = whole_sheet(records, Occasion(instruments=unit.instruments))
    return form, openpyxl.load_workbook(io.BytesIO(workbook_bytes(replace(form, document="T & FV-1"))))


def test_a_worksheet_stands_for_every_table_that_is_asked_for(made):
    _, book = made
    assert book.sheetnames == [
        *("visits", "readings", "strokes", "fail_tests", "switches", "prechecks", "settings", "adjustments")
    ]


def test_only_cells_to_fill_in_are_unlocked(made):
    _, book = made
    sheet = book["readings"]
    row = head_row(sheet) + 1
    unlocked = {
        cell.value
        for cell in sheet[head_row(sheet)]
        if not sheet.cell(row, column_of(sheet, cell.value)).protection.locked
    }
    assert unlocked == {"stage", "command_mA", "position_deg", "feedback_mA", "at"}
    assert all(each.protection.sheet and each.protection.password is None for each in book.worksheets)


def test_words_and_instruments_are_chosen_from_lists(made):
    form, book = made
    lists = [each.formula1 for each in book["strokes"].data_validations.dataValidation if each.type == "list"]
    assert '"open,close"' in lists
    visits = book["visits"]
    role = next(
        each.formula1
        for each in visits.data_validations.dataValidation
        if visits.cell(head_row(visits) + 1, column_of(visits, "position_instrument")).coordinate in each.sqref
    )
    cells = [cell.value for (cell,) in visits[role.replace("$", "")]]
    assert cells == [each.instrument for each in form.picks if each.role == "position"] == ["IN-1", "IN-2"]


def test_every_sheet_prints_across_with_headings_and_what_it_is(made):
    _, book = made
    for sheet in book.worksheets:
        assert (sheet.page_setup.orientation, sheet.page_setup.paperSize) == ("landscape", 9)
        assert (sheet.page_setup.fitToWidth, sheet.sheet_properties.pageSetUpPr.fitToPage) == (1, True)
        assert sheet.print_title_rows == f"${head_row(sheet)}:${head_row(sheet)}"
        assert "Field sheet T && FV-1" in sheet.oddFooter.left.text
        assert head_row(sheet) <= HEADER_WITHIN


def test_what_a_sheet_says_of_itself_is_true_blank_and_filled(made):
    """It is printed after it was filled in too: what holds only while it is blank must not stand on it."""
    _, book = made
    for sheet in book.worksheets:
        above = " ".join(str(row[0].value) for row in sheet.iter_rows(max_row=head_row(sheet) - 1))
        assert "It counts as a record once it is filled in" in above
        assert "blank form" not in (above + sheet.oddFooter.left.text).lower()


def test_cautions_stand_on_top(made):
    _, book = made
    above = " ".join(str(row[0].value) for row in book["visits"].iter_rows(max_row=head_row(book["visits"]) - 1))
    assert all(each in above for each in CAUTIONS)
    assert "approved proof-test procedure" in above
    readings = " ".join(str(row[0].value) for row in book["readings"].iter_rows(max_row=head_row(book["readings"])))
    assert BEFORE_MOTION in readings


def test_no_text_runs_as_a_formula(made):
    form, _ = made
    tag = replace(form.tag, tag="=1+1")
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(replace(form, tag=tag, visit="+1"))))
    sheet = book["readings"]
    cells = [sheet.cell(head_row(sheet) + 1, column_of(sheet, name)) for name in ("tag", "visit")]
    assert [(cell.value, cell.data_type, cell.quotePrefix) for cell in cells] == [
        ("=1+1", "s", True),
        ("+1", "s", True),
    ]


def test_limits_stand_beside_each_row_in_the_tags_own_unit(made):
    form, _ = made
    readings = next(each for each in form.tables if each.table == "readings")
    assert readings.rows[2].set_to == "12 mA = 50 %: 45 deg = 50 %"
    assert readings.rows[2].allowed == "43.65 to 46.35 deg"
    strokes = next(each for each in form.tables if each.table == "strokes")
    assert strokes.rows[0].allowed == "18 to 22 s"
    assert any("Invented list" in line for line in strokes.told)
