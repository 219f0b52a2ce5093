"""A case beside the record."""

from __future__ import annotations

from kit.assessment.what_if import on_record, without_readings
from kit.assessment.what_if.case import compared
from kit.assessment.what_if.reading_keys import reading_keys
from tests.assessment import builders
from tests.assessment.what_if.made import case

LIMIT = builders.limit("inaccuracy", plus_minus=1.5)


def test_as_it_is_nothing_changes() -> None:
    found = compared(case(builders.stroke(*[0.3] * 5), LIMIT))
    assert found.changed == ()
    assert [each.shown.check for each in found.unchanged] == ["inaccuracy"]
    assert found.verdict_before == found.verdict_after == "pass"


def test_the_record_stays_what_it_is_whatever_is_supposed() -> None:
    made = case(builders.stroke(0.1, 0.2, 1.9, -0.5, 0.3), LIMIT)
    supposed = without_readings(made, {"readings.csv:4": "needle stuck"})
    assert len(made.records.tables["readings"]) == 5
    assert supposed.on_record == made.on_record
    again = on_record(made.unit, made.records).on_record
    assert again.deciding is not None
    assert again.deciding.checks[2].value == made.on_record.deciding.checks[2].value  # type: ignore[union-attr]


def test_a_tag_without_records_gets_no_verdict_by_supposing() -> None:
    found = compared(case([], LIMIT, visits=()))
    assert (found.verdict_before, found.verdict_after, found.checks) == ("not_tested", None, ())


def test_keys_name_file_and_row_and_tell_sheets_apart() -> None:
    rows = builders.rows("readings", builders.stroke(0.0, 0.0, commands=(0, 100)))
    rows["row"][:] = 7
    assert reading_keys(rows) == ("readings.csv:7", "readings.csv:7#2")
