"""The key of a record: the same while its cells are, whatever else moves."""

from __future__ import annotations

import io
import re

import openpyxl
import pytest

from kit.basis.records import Problem, UnitRecords

HEAD = "tag,visit,direction,time_s\n"
ODD = "FV-101,1,open,quick\n"
GOOD = "FV-101,1,open,20\n"


def keys(unit: UnitRecords) -> list[str]:
    return [each.record for each in unit.problems if each.table == "strokes"]


def strokes(read_files, *rows: str, file: str = "records/strokes.csv") -> list[str]:
    return keys(read_files({file: HEAD + "".join(rows)}))


def test_a_key_is_r_and_fifteen_hexadecimal_digits(read_files) -> None:
    (key,) = strokes(read_files, ODD)
    assert re.fullmatch("r[0-9a-f]{15}", key)


def test_a_row_keeps_its_key_wherever_it_moves_in_its_file(read_files) -> None:
    before = strokes(read_files, ODD, GOOD)
    assert strokes(read_files, GOOD, "FV-102,1,open,20\n", ODD) == before


@pytest.mark.parametrize("changed", ["FV-101,1,open,quickly\n", "FV-101,2,open,quick\n", "FV-101,1,OPEN,quick\n"])
def test_a_changed_cell_gives_another_key(read_files, changed: str) -> None:
    assert strokes(read_files, changed) != strokes(read_files, ODD)


def test_another_file_gives_another_key(read_files) -> None:
    one, other = keys(read_files({"records/strokes.csv": HEAD + ODD, "records/strokes-b.csv": f"{HEAD}{ODD}\n"}))
    assert one != other


def test_equal_rows_are_told_apart_by_their_number(read_files) -> None:
    one, other = strokes(read_files, ODD, GOOD, ODD)
    assert one != other
    assert strokes(read_files, ODD)[0] in (one, other)


def test_all_that_is_wrong_with_a_row_has_one_key(read_files) -> None:
    assert len(set(strokes(read_files, "FV-101,1,sideways,quick\n"))) == 1


def test_a_suspicion_has_the_key_of_its_row(read_files) -> None:
    settings = "tag,visit,stage,setting,value\nFV-101,1,as_found,dead band,1 %\nFV-101,1,as_left,dead band,1 %\n"
    adjusted = "tag,visit,at,what\nFV-101,1,2026-03-01,dead_band\n"
    unit = read_files({"records/settings.csv": settings, "records/adjustments.csv": adjusted})
    (flag,) = [each for each in unit.problems if each.table == "settings"]
    assert (flag.row, flag.status) == (3, "flag")
    assert re.fullmatch("r[0-9a-f]{15}", flag.record)


def hidden_sheet(read_files, *, hidden: str = "77", shown: str = "20") -> Problem:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for name, time in (("strokes", shown), ("strokes old", hidden)):
        sheet.title = name
        for row in (HEAD.strip().split(","), ["FV-101", "1", "open", time]):
            sheet.append(row)
        last, sheet = sheet, book.create_sheet("more")
    last.sheet_state = "hidden"
    book.remove(sheet)
    data = io.BytesIO()
    book.save(data)
    (problem,) = [
        each for each in read_files({"records/field.xlsx": data.getvalue()}).problems if each.status == "open"
    ]
    return problem


def test_a_sheet_that_is_not_read_keeps_its_key_while_its_own_cells_are(read_files) -> None:
    before = hidden_sheet(read_files)
    assert re.fullmatch("r[0-9a-f]{15}", before.record)
    assert hidden_sheet(read_files, shown="21").record == before.record
    assert hidden_sheet(read_files, hidden="78").record != before.record


def test_a_file_that_cannot_be_read_has_another_key_when_it_changes(read_files) -> None:
    one, other = (
        {each.record for each in read_files({"records/strokes.xlsx": data}).problems if each.status == "open"}
        for data in (b"PK one", b"PK other")
    )
    assert len(one) == len(other) == 1
    assert one != other
