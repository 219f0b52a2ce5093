"""What is filled into a sheet is read without a word; what nobody filled in is no record."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pytest

from kit.assessment.tag import assess_tag
from kit.basis.records import UnitRecords
from kit.records import tag_records
from kit.records.unit import read_unit
from kit.runs.errors import RunError
from kit.sheets.folder import folder_for
from kit.sheets.make import make_sheets
from kit.sheets.plan import Occasion
from tests.sheets.conftest import GOOD, READINGS, VISIT
from tests.sheets.fill import column_of, fill_in, head_row


def sheet_of(folder: Path, tag: str = "FV-1", *, missing: bool = False, **occasion: object) -> Path:
    """The path of a tag's blank sheet."""
    target = folder.parent.parent / "sheets"
    made = list(make_sheets(read_unit(folder), [tag], target, Occasion(**occasion), missing=missing))
    assert made[0].path is not None
    return made[0].path


def with_file(folder: Path, data: bytes, name: str = "FV-1.xlsx") -> UnitRecords:
    """The unit read again, with a file more among its records."""
    (folder / "records" / name).write_bytes(data)
    return read_unit(folder)


def test_a_blank_sheet_among_the_records_holds_none_and_says_nothing(blank_unit):
    unit = with_file(blank_unit, sheet_of(blank_unit).read_bytes())
    assert unit.problems == ()
    assert sum(len(rows) for rows in unit.tables.values()) == 0
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "not_tested"


def test_a_filled_sheet_is_read_without_a_word_and_passes(blank_unit):
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), GOOD))
    assert [each.problem for each in unit.problems] == []
    assert {name: len(rows) for name, rows in unit.tables.items() if len(rows)} == {
        "visits": 1,
        "readings": 18,
        "strokes": 4,
        "fail_tests": 2,
        "switches": 4,
        "prechecks": 2,
    }
    assert unit.tables["readings"]["position_deg"].tolist() == [each["position_deg"] for each in READINGS]
    assert unit.tables["readings"]["command_set_pct"].tolist() == [0, 25, 50, 75, 100, 75, 50, 25, 0] * 2
    found = assess_tag(tag_records(unit, "FV-1"))
    assert found.verdict == "pass", [(each.check, each.verdict, each.reason) for each in found.deciding.checks]


def test_a_value_beyond_its_limit_fails(blank_unit):
    bad = [*READINGS[:2], {**READINGS[2], "position_deg": 48.0}, *READINGS[3:]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": bad}))
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "fail"


def test_printed_rows_that_were_left_blank_are_no_record_and_are_told_on_the_tags_page(blank_unit):
    gaps = [*READINGS[:2], {}, {}, {}, {}, {}, *READINGS[7:9]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": gaps}))
    assert [(each.status, each.tag, each.set_aside) for each in unit.problems] == [("flag", "FV-1", False)]
    assert "14 printed rows are blank in readings" in unit.problems[0].problem
    assert len(unit.tables["readings"]) == 4
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_a_failing_row_cleared_with_what_was_printed_there_is_told_on_the_tags_page(blank_unit):
    bad = [*READINGS[:2], {**READINGS[2], "position_deg": 48.0}, *READINGS[3:]]
    book = openpyxl.load_workbook(io.BytesIO(fill_in(sheet_of(blank_unit), {**GOOD, "readings": bad})))
    readings = book["readings"]
    for place in range(1, readings.max_column):  # the last column, hidden, holds the marks
        readings.cell(head_row(readings) + 3, place).value = None
    made = io.BytesIO()
    book.save(made)
    (told,) = with_file(blank_unit, made.getvalue()).problems
    assert (told.status, told.tag) == ("flag", "FV-1")
    assert "1 printed row is blank in readings" in told.problem
    readings.cell(head_row(readings) + 3, column_of(readings, "allowed")).value = "48.0"
    made = io.BytesIO()
    book.save(made)
    unit = with_file(blank_unit, made.getvalue())
    assert {each.status for each in unit.problems} == {"open"}
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_a_row_with_one_cell_is_a_row(blank_unit):
    """Somebody wrote something into it: what it lacks is open, as in any file."""
    only = [*READINGS[:17], {"position_deg": 0.1}]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": only}))
    opens = [each for each in unit.problems if each.status == "open"]
    assert len(opens) == 1
    assert "command" in opens[0].problem
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_a_visit_that_nobody_dated_leaves_every_row_open(blank_unit):
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "visits": []}))
    assert all(len(unit.tables[name]) == 0 or name == "visits" for name in ("readings", "visits"))
    assert assess_tag(tag_records(unit, "FV-1")).verdict in ("incomplete", "not_tested")


def test_a_sheet_for_a_day_lists_what_holds_then_alone(blank_unit):
    made = next(
        iter(
            make_sheets(
                read_unit(blank_unit), ["FV-1"], blank_unit.parent / "s", Occasion(on="2026-03-02"), missing=False
            )
        )
    )
    assert [each.instrument for each in made.form.picks if each.role == "position"] == ["IN-1"]
    unit = with_file(
        blank_unit, fill_in(made.path, {**GOOD, "visits": [{k: v for k, v in VISIT.items() if k != "date"}]})
    )
    assert unit.problems == ()
    assert unit.tables["visits"]["date"].tolist() == ["2026-03-02"]


@pytest.mark.parametrize(
    ("limit", "commands"),
    [
        ("", [0, 100, 0]),
        ("feedback_hysteretic_error = { max = 1.0,", [0, 25, 50, 75, 100, 75, 50, 25, 0]),
        ("repeatability = { max = 1.0,", [0, 50, 100, 50, 0]),
    ],
    ids=["the ends", "both ways", "repeats"],
)
def test_a_valve_that_only_opens_and_shuts_is_asked_for_what_its_limits_need(blank_unit, limit, commands):
    """A sheet that asks for less than its checks need is never enough, however often it is filled in."""
    register, settings = blank_unit / "tags.csv", blank_unit / "unit.toml"
    register.write_text(register.read_text(encoding="utf-8").replace("modulating", "on_off"), encoding="utf-8")
    text = settings.read_text(encoding="utf-8").replace("[limits.modulating]", "[limits.on_off]")
    text += f'{limit} source = "Invented list" }}\n' if limit else ""
    settings.write_text(text, encoding="utf-8")
    sheet = openpyxl.load_workbook(sheet_of(blank_unit))["readings"]
    head, column = head_row(sheet), column_of(sheet, "command_set_pct")
    cycle = [sheet.cell(head + 1 + place, column).value for place in range(len(commands))]
    assert cycle == commands


@pytest.mark.parametrize("tag", ["1E5", "10-12", "=1+1", "@1", "0042", "3/4"])
def test_a_tag_that_looks_like_something_else_stays_a_text(blank_unit, tag):
    register = blank_unit / "tags.csv"
    register.write_text(register.read_text(encoding="utf-8").replace("1E5", tag), encoding="utf-8")
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit, tag), GOOD))
    assert unit.problems == ()
    assert set(unit.tables["readings"]["tag"]) == {tag}


def test_what_people_type_without_a_spreadsheets_help_is_understood(blank_unit):
    """As openpyxl stores it, a decimal comma and a unit are texts."""
    typed = [{"command_mA": "4,00", "position_deg": "0,1"}, {"command_mA": "8.04 mA", "position_deg": "22,6 deg"}]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": [*typed, *READINGS[2:]]}))
    assert unit.tables["readings"]["command_mA"].tolist()[:2] == [4.0, 8.04]
    assert unit.tables["readings"]["position_deg"].tolist()[:2] == [0.1, 22.6]
    assert {each.status for each in unit.problems} == {"blank"}, "two rows lack the feedback that others hold"


def test_no_reading_is_what_the_contract_makes_of_it(blank_unit):
    """``n/a`` for the position costs its row, for the time of a loss it lacks: neither passes."""
    read = [*READINGS[:4], {**READINGS[4], "position_deg": "n/a"}, *READINGS[5:]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": read}))
    assert [each.status for each in unit.problems] == ["open"]
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_a_formula_without_a_stored_value_is_no_blank(blank_unit):
    read = [{**READINGS[0], "position_deg": "=0.1+0"}, *READINGS[1:]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": read}))
    assert [each.status for each in unit.problems] == ["open"]


def test_a_moved_row_is_read_where_it_stands(blank_unit):
    book = openpyxl.load_workbook(io.BytesIO(fill_in(sheet_of(blank_unit), GOOD)))
    first = head_row(book["readings"]) + 1
    book["readings"].move_range(f"A{first}:Z{first}", rows=40)
    made = io.BytesIO()
    book.save(made)
    unit = with_file(blank_unit, made.getvalue())
    assert unit.problems == ()
    moved = [each["position_deg"] for each in (*READINGS[1:], READINGS[0])]
    assert unit.tables["readings"]["position_deg"].tolist() == moved
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "pass"


def test_a_merged_title_is_read_over_and_a_merged_row_is_set_aside(blank_unit):
    book = openpyxl.load_workbook(io.BytesIO(fill_in(sheet_of(blank_unit), GOOD)))
    book["readings"].merge_cells("A1:F1")
    made = io.BytesIO()
    book.save(made)
    assert with_file(blank_unit, made.getvalue()).problems == ()
    first = head_row(book["readings"]) + 1
    book["readings"].merge_cells(start_row=first, end_row=first + 1, start_column=7, end_column=7)
    made = io.BytesIO()
    book.save(made)
    told = with_file(blank_unit, made.getvalue()).problems
    assert {each.status for each in told} == {"open"}
    assert any("merged" in each.problem for each in told)


def test_a_reading_that_a_merged_cell_hides_is_not_passed_over(blank_unit):
    """Merging keeps the upper value alone: below it the row stands as it was printed, and a reading may be lost."""
    book = openpyxl.load_workbook(io.BytesIO(fill_in(sheet_of(blank_unit), GOOD)))
    strokes = book["strokes"]
    first, column = head_row(strokes) + 1, column_of(strokes, "time_s")
    strokes.merge_cells(start_row=first, end_row=first + 1, start_column=column, end_column=column)
    made = io.BytesIO()
    book.save(made)
    unit = with_file(blank_unit, made.getvalue())
    assert {(each.status, each.row) for each in unit.problems} == {("open", first + 1)}
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_a_time_typed_over_the_rule_of_a_filled_row_passes_nothing_and_is_told(blank_unit):
    """A second run that was too slow, written where the sheet says what it makes of the first one."""
    book = openpyxl.load_workbook(io.BytesIO(fill_in(sheet_of(blank_unit), GOOD)))
    strokes = book["strokes"]
    row = head_row(strokes) + 1
    strokes.cell(row, column_of(strokes, "now")).value = "30 s"
    made = io.BytesIO()
    book.save(made)
    unit = with_file(blank_unit, made.getvalue())
    (told,) = unit.problems_by_tag["FV-1"]
    assert (told.status, told.row) == ("open", row)
    assert "under now" in told.problem
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


@pytest.mark.parametrize("sheets", [["strokes"], ["visits", "readings"]], ids=["one row", "two sheets"])
def test_a_sheet_of_one_valve_on_which_another_is_named_passes_neither(blank_unit, sheets):
    """Filled in for another valve, with the printed tag struck out on some of its rows and forgotten on others."""
    book = openpyxl.load_workbook(io.BytesIO(fill_in(sheet_of(blank_unit), GOOD)))
    for name in sheets:
        rows = range(head_row(book[name]) + 1, book[name].max_row + 1 if len(sheets) > 1 else head_row(book[name]) + 2)
        for row in rows:
            if book[name].cell(row, 1).value == "FV-1":
                book[name].cell(row, 1).value = "1E5"
    made = io.BytesIO()
    book.save(made)
    unit = with_file(blank_unit, made.getvalue())
    told = [each for each in unit.problems if "printed for one tag" in each.problem]
    assert [(each.status, each.scope.tags) for each in told] == [("open", ("1E5", "FV-1"))]
    for tag in ("FV-1", "1E5"):
        found = assess_tag(tag_records(unit, tag))
        assert found.verdict in ("incomplete", "not_tested")
        assert not any(each.verdict == "pass" for each in found.deciding.checks)


def test_a_note_above_the_headings_is_told_on_the_tags_page(blank_unit):
    book = openpyxl.load_workbook(io.BytesIO(fill_in(sheet_of(blank_unit), GOOD)))
    book["strokes"].cell(2, 1).value = "Third stroke: 30 s"
    made = io.BytesIO()
    book.save(made)
    (told,) = with_file(blank_unit, made.getvalue()).problems
    assert (told.status, told.tag) == ("flag", "FV-1")
    assert "'Third stroke: 30 s'" in told.problem


def test_a_sheet_put_by_under_another_name_is_no_record_that_nobody_misses(blank_unit):
    """A field sheet is not named after a table: its name alone says nothing of what it holds."""
    slow = fill_in(sheet_of(blank_unit), {**GOOD, "strokes": [{"time_s": 30.0}, *GOOD["strokes"][1:]]})
    with_file(blank_unit, fill_in(sheet_of(blank_unit), GOOD))
    unit = with_file(blank_unit, slow, "FV-1.visit-1.xlsx.old")
    assert {(each.status, each.scope.tags) for each in unit.problems if each.table == "strokes"} == {
        ("open", ("FV-1",))
    }
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_what_is_written_over_a_printed_text_is_told(blank_unit):
    data = fill_in(sheet_of(blank_unit), {**GOOD, "readings": [{**READINGS[0], "allowed": "45.2"}, *READINGS[1:]]})
    unit = with_file(blank_unit, data)
    assert ["no longer as they were" in each.problem for each in unit.problems] == [True]
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_the_same_sheet_has_the_same_bytes_and_is_never_written_over_once_filled(blank_unit):
    path = sheet_of(blank_unit)
    data = path.read_bytes()
    assert sheet_of(blank_unit).read_bytes() == data
    path.write_bytes(fill_in(path, GOOD))
    with pytest.raises(RunError, match="somebody has filled it in"):
        sheet_of(blank_unit)


def test_no_sheet_is_put_into_a_units_folder(blank_unit):
    with pytest.raises(RunError, match="holds records and no blank forms"):
        folder_for(blank_unit, blank_unit / "records" / "blank")
