"""What is filled into a sheet is read without a word; what nobody filled in is no record."""

from __future__ import annotations

from pathlib import Path

from kit.assessment.tag import assess_tag
from kit.basis.records import UnitRecords
from kit.records import tag_records
from kit.records.unit import read_unit
from kit.sheets.make import make_sheets
from kit.sheets.plan import Occasion
from tests.sheets.conftest import GOOD, READINGS, VISIT
from tests.sheets.fill import fill_in


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
        "readings": 9,
        "strokes": 4,
        "fail_tests": 1,
        "switches": 4,
        "prechecks": 2,
    }
    assert unit.tables["readings"]["position_deg"].tolist() == [each["position_deg"] for each in READINGS]
    assert unit.tables["readings"]["command_set_pct"].tolist() == [0, 25, 50, 75, 100, 75, 50, 25, 0]
    found = assess_tag(tag_records(unit, "FV-1"))
    assert found.verdict == "pass", [(each.check, each.verdict, each.reason) for each in found.deciding.checks]


def test_a_value_beyond_its_limit_fails(blank_unit):
    bad = [*READINGS[:2], {**READINGS[2], "position_deg": 48.0}, *READINGS[3:]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": bad}))
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "fail"


def test_rows_in_between_that_nobody_filled_in_leave_no_word_and_no_pass(blank_unit):
    gaps = [*READINGS[:2], {}, {}, {}, {}, {}, *READINGS[7:]]
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "readings": gaps}))
    assert unit.problems == ()
    assert len(unit.tables["readings"]) == 4
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"


def test_a_row_with_one_cell_is_a_row(blank_unit):
    """Somebody wrote something into it: what it lacks is open, as in any file."""
    only = [*READINGS[:8], {"position_deg": 0.0}]
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


def test_a_tag_that_looks_like_a_number_stays_a_text(blank_unit):
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit, "1E5"), GOOD))
    assert unit.problems == ()
    assert set(unit.tables["readings"]["tag"]) == {"1E5"}
