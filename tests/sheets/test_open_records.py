"""Open records with their answers to fill in: read back they answer, and unanswered they say nothing."""

from __future__ import annotations

import io

import openpyxl
import pytest

from kit.assessment.tag import assess_tag
from kit.records import tag_records
from kit.records.unit import read_unit
from kit.runs.errors import RunError
from kit.sheets.open_records import FILE, make_open_records
from tests.sheets.conftest import GOOD
from tests.sheets.fill import fill_in
from tests.sheets.test_read_back import sheet_of, with_file

ANSWER = {"decision": "repeated", "reason": "The hand slipped", "by": "Engineer 1", "on": "2026-03-03"}


def answered(path):
    """The workbook with its one record answered."""
    book = openpyxl.load_workbook(path)
    sheet = book["open_records"]
    head = next(row for row in range(1, 10) if sheet.cell(row, 1).value == "record")
    headings = [cell.value for cell in sheet[head]]
    for name, value in ANSWER.items():
        sheet.cell(head + 1, headings.index(name) + 1).value = value
    made = io.BytesIO()
    book.save(made)
    return made.getvalue()


def test_an_answer_filled_in_answers_its_record(blank_unit):
    slips = [{"time_s": "quick"}, *GOOD["strokes"][1:]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "strokes": slips}))
    assert "1 record unanswered" in make_open_records(unit, blank_unit.parent / "sheets")
    path = blank_unit.parent / "sheets" / FILE
    unit = with_file(blank_unit, path.read_bytes(), FILE)
    assert [each.status for each in unit.problems] == ["open"], "a list without a decision waits and says nothing"
    unit = with_file(blank_unit, answered(path), FILE)
    assert [each.status for each in unit.problems] == ["answered"]
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "pass"
    assert make_open_records(unit, blank_unit.parent / "other") == "No record waits for an answer: no sheet was made."


def test_an_answered_list_is_not_written_over_and_an_unanswered_one_is(blank_unit):
    slips = [{"time_s": "quick"}, *GOOD["strokes"][1:]]
    data = fill_in(sheet_of(blank_unit), {**GOOD, "strokes": slips})
    target = blank_unit.parent / "sheets"
    make_open_records(with_file(blank_unit, data), target)
    more = [{"time_s": "quick"}, {"time_s": "slow"}, *GOOD["strokes"][2:]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "strokes": more}))
    assert "2 records unanswered" in make_open_records(unit, target)
    (target / FILE).write_bytes(answered(target / FILE))
    with pytest.raises(RunError, match="somebody has filled it in"):
        make_open_records(read_unit(blank_unit), target)
