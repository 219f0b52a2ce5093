"""The result that the batch collects: complete, unrounded, plain JSON."""

from __future__ import annotations

import dataclasses
import json

import pytest

from kit.assessment import assess_tag
from kit.basis.quantity import Quantity
from kit.basis.records import Problem
from kit.basis.tables import TESTS
from kit.basis.verdicts import GAPS
from kit.runs.outputs.csv_tables import RESULTS_COLUMNS
from kit.views.pieces.parts import RESULT_MIME
from kit.views.report import sections
from kit.views.report.result_json import result_content
from tests.views import made


def test_every_check_of_every_stage_is_a_row_of_the_contract() -> None:
    records = made.records()
    assessment = assess_tag(records)
    content = result_content(records, assessment)
    assert len(content["results"]) == sum(len(stage.checks) for stage in assessment.stages)
    assert all(tuple(row) == RESULTS_COLUMNS for row in content["results"])


def test_what_is_made_of_an_earlier_visit_is_named() -> None:
    records = made.records()
    older = made.result("inaccuracy", 0.2, visit="0", date="2026-01-02")
    stage = made.stage(older, made.result("stroke_time_open", 30.0, visit="1"), goes_on_from=("0",))
    content = result_content(records, made.assessment(stage))
    assert content["taken_from"] == [{"check": "inaccuracy", "detail": "", "visit": "0", "date": "2026-01-02"}]
    assert [row["date"] for row in content["results"]] == ["2026-01-02", "2026-03-02"]
    assert result_content(records, assess_tag(records))["taken_from"] == []


def test_numbers_are_unrounded() -> None:
    records = made.records()
    assessment = assess_tag(records)
    value = next(each.value for each in assessment.stages[0].checks if each.check == "inaccuracy")
    row = next(each for each in result_content(records, assessment)["results"] if each["check"] == "inaccuracy")
    assert row["value"] == value


def test_a_row_says_where_why_when_how_near_and_with_what() -> None:
    records = made.records()
    content = result_content(records, assess_tag(records))
    deciding = [row for row in content["results"] if (row["visit"], row["stage"]) == (content["visit"], "as_left")]
    row = next(each for each in deciding if each["check"] == "inaccuracy")
    assert "command" in row["place"]
    assert row["date"] == content["date"]
    assert row["instruments"] == "D-1; M-1"
    assert row["share_pct"] == pytest.approx(100 * row["value"] / row["upper_limit"])
    assert content["share_pct"] == max((each["share_pct"] or 0 for each in deciding), key=abs)
    assert any(each["reason"] for each in deciding if each["verdict"] in GAPS)


def test_a_place_begins_with_a_word() -> None:
    sweep = [{"position_pct": at, "wiper_ohm": 100 + 8 * at, "track_ohm": 1000} for at in (-0.1, 50, 100.1)]
    records = made.records({"potentiometer": sweep})
    rows = result_content(records, assess_tag(records))["results"]
    assert [row["place"] for row in rows if row["check"] == "potentiometer_low_margin"] == ["at -0.1 % travel"]


def test_open_records_are_counted_once_each() -> None:
    one = Problem("records/a.csv", 3, "time_s", "x", "no number", "FV-101", record="r1", status="open")
    answered = dataclasses.replace(one, record="r3", status="answered")
    problems = (one, dataclasses.replace(one, column="at"), dataclasses.replace(one, record="r2"), answered)
    records = dataclasses.replace(made.records(), problems=problems)
    assert result_content(records, assess_tag(records))["open_records"] == 2


def test_the_result_is_plain_json_even_without_records() -> None:
    empty = made.records({name: [] for name in made.records().tables}, visits=())
    for records in (made.records(), empty):
        content = result_content(records, assess_tag(records))
        assert json.loads(json.dumps(content, allow_nan=False)) == content


def test_a_tag_without_records_is_not_tested_and_its_tests_are_gaps() -> None:
    empty = made.records({name: [] for name in made.records().tables}, visits=())
    content = result_content(empty, assess_tag(empty))
    assert content["verdict"] == "not_tested"
    assert content["tests"]["readings"] == "not_tested"
    assert content["tests"]["loop_checks"] == ""
    assert content["nearest"] is None


def test_each_kind_of_test_has_its_worst_verdict() -> None:
    records = made.records()
    tests = result_content(records, assess_tag(records))["tests"]
    assert set(tests) == {name for name in TESTS if ":" not in name}
    assert tests["readings"] == "pass"
    assert tests["potentiometer"] == "not_assessable"
    assert tests["electrical"] == "information"


def test_a_wiper_that_is_open_does_not_put_infinity_into_the_result() -> None:
    sweep = [{"position_pct": at, "wiper_ohm": float("inf"), "track_ohm": 1000} for at in (0, 50, 100)]
    records = made.records({"potentiometer": sweep})
    json.dumps(result_content(records, assess_tag(records)), allow_nan=False)


def test_the_notebook_shows_the_result_as_one_bundle() -> None:
    records = made.records()
    (part,) = sections.keep_result(records, assess_tag(records))
    assert list(part.bundle()) == [RESULT_MIME]


@pytest.mark.parametrize("key", ["document", "verdict", "reason", "stages", "instruments", "problems", "input_hashes"])
def test_the_result_holds_what_the_unit_page_needs(key: str) -> None:
    records = made.records()
    assert result_content(records, assess_tag(records))[key]


def test_a_value_that_is_the_end_of_a_bound_says_so_beside_it() -> None:
    one = made.result("insulation_resistance", 999.0, lower=1.0)
    bound = dataclasses.replace(
        one, finding=dataclasses.replace(one.finding, quantity=Quantity(999.0, within=(999.0, float("inf"))))
    )
    records = made.records()
    (row,) = result_content(records, made.assessment(made.stage(bound)))["results"]
    assert (row["value"], row["place"]) == (999.0, "recorded as a bound, > 999 MΩ")


def test_what_never_happened_is_a_row_without_a_value() -> None:
    one = made.result("stroke_time_open", 20.0, verdict="fail", reason="the valve did not arrive")
    never = dataclasses.replace(one, finding=dataclasses.replace(one.finding, quantity=Quantity(None, never="none")))
    content = result_content(made.records(), made.assessment(made.stage(never)))
    json.dumps(content, allow_nan=False)
    (row,) = content["results"]
    assert (row["value"], row["verdict"], row["reason"]) == (None, "fail", "the valve did not arrive")


def test_a_row_names_the_flagged_readings_that_its_value_rests_on() -> None:
    records = made.records()
    doubted = made.result("inaccuracy", 0.2, flagged=("readings.csv row 3", "readings.csv row 4"))
    content = result_content(records, made.assessment(made.stage(doubted, made.result("dead_band", 0.2))))
    assert [row["flagged"] for row in content["results"]] == ["readings.csv row 3; readings.csv row 4", ""]
