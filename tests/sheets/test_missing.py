"""What is missing is printed and nothing else, as a visit that goes on from the one before."""

from __future__ import annotations

from kit.assessment.tag import assess_tag
from kit.records import tag_records
from kit.records.unit import read_unit
from kit.sheets.make import make_sheets
from kit.sheets.plan import Occasion
from tests.sheets.conftest import GOOD, READINGS, VISIT
from tests.sheets.fill import fill_in
from tests.sheets.test_read_back import sheet_of, with_file

AFTER = {**VISIT, "date": "2026-03-05"}
WITHOUT_SIGNALS = {name: AFTER[name] for name in ("date", "technician", "position_instrument", "time_instrument")}
MOVED = {"at": "2026-03-02T15:00", "what": "limit_switch"}


def missing(folder):
    """The sheet of what FV-1 lacks; without a path where it lacks nothing."""
    target = folder.parent.parent / "missing"
    return next(make_sheets(read_unit(folder), ["FV-1"], target, Occasion(), missing=True))


def tables(made):
    return {each.table: each for each in made.form.tables}


def test_what_was_not_tested_is_printed_alone_and_completes_the_visit_before(blank_unit):
    whole = sheet_of(blank_unit)
    with_file(blank_unit, fill_in(whole, {**GOOD, "strokes": GOOD["strokes"][:2], "switches": []}))
    made = missing(blank_unit)
    assert (made.form.visit, made.form.continues) == ("2", "1")
    assert list(tables(made)) == ["strokes", "switches", "adjustments"]
    assert {row.cells.get("direction", "free") for row in tables(made)["strokes"].rows} == {"close", "free"}
    assert any("not tested" in line for line in tables(made)["switches"].told)
    rest = {"visits": [WITHOUT_SIGNALS], "strokes": GOOD["strokes"][2:], "switches": GOOD["switches"]}
    unit = with_file(blank_unit, fill_in(made.path, rest), "more.xlsx")
    assert [each.status for each in unit.problems] == ["flag"], "visit 1 left the strokes closing blank"
    found = assess_tag(tag_records(unit, "FV-1"))
    assert (found.verdict, found.visit, found.deciding.goes_on_from) == ("pass", "2", ("1",))
    assert missing(blank_unit).path is None


def test_what_an_adjustment_made_stale_is_printed_and_no_more(blank_unit):
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "adjustments": [MOVED]}))
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"
    made = missing(blank_unit)
    assert list(tables(made)) == ["readings", "strokes", "fail_tests", "switches", "adjustments"]
    assert any("stale" in line and "limit switch" in line for line in tables(made)["switches"].told)
    again = {name: GOOD[name] for name in ("readings", "strokes", "fail_tests", "switches")}
    unit = with_file(blank_unit, fill_in(made.path, {"visits": [AFTER], **again}), "more.xlsx")
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "pass"


def test_what_failed_before_a_change_is_printed_too(blank_unit):
    bad = [*READINGS[:2], {**READINGS[2], "position_deg": 48.0}, *READINGS[3:]]
    whole = sheet_of(blank_unit)
    with_file(blank_unit, fill_in(whole, {**GOOD, "readings": bad}))
    assert missing(blank_unit).path is None, "a failure alone is not missing"
    with_file(blank_unit, fill_in(whole, {**GOOD, "readings": bad, "adjustments": [{**MOVED, "what": "dead_band"}]}))
    assert list(tables(missing(blank_unit))) == ["readings", "adjustments"]


def test_a_tag_without_records_gets_the_whole_sheet(blank_unit):
    made = missing(blank_unit)
    assert (made.form.visit, made.form.continues) == ("1", "")
    assert set(tables(made)) == {
        *("readings", "strokes", "fail_tests", "switches", "prechecks"),
        *("settings", "adjustments"),
    }


def test_an_item_that_nobody_answered_is_open_still(blank_unit):
    unit = with_file(blank_unit, fill_in(sheet_of(blank_unit), {**GOOD, "prechecks": [{"result": "yes"}]}))
    assert unit.problems == ()
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"
    assert list(tables(missing(blank_unit))) == ["prechecks", "adjustments"]


def test_a_limit_that_waits_for_an_engineer_asks_for_no_reading(blank_unit):
    settings = blank_unit / "unit.toml"
    text = settings.read_text(encoding="utf-8").replace("plus_minus = 1.5,", "plus_minus = 1.5, placeholder = true,")
    settings.write_text(text, encoding="utf-8")
    made = sheet_of(blank_unit)
    unit = with_file(blank_unit, fill_in(made, GOOD))
    assert assess_tag(tag_records(unit, "FV-1")).verdict == "incomplete"
    assert missing(blank_unit).path is None
