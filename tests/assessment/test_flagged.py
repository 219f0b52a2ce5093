"""A value that rests on a flagged reading carries its place, and its verdict does not move."""

from __future__ import annotations

from dataclasses import replace

import pytest

from kit.assessment import assess_tag
from kit.assessment.flagged import flags_in_stage, places_of, with_flags
from kit.assessment.stage import assess_stage
from kit.basis.records import Problem, Scope
from tests.assessment.builders import GOOD, limit, records
from tests.assessment.made import stage_records

FILE = "records/strokes.csv"
STROKES = [
    {"direction": "open", "time_s": 20.0},
    {"direction": "close", "time_s": 21.0},
    {"direction": "close", "time_s": 21.2},
]


def flag(row: int, column: str = "time_s", **more) -> Problem:
    columns = (column,) if column else ()
    scope = Scope(("T",), "1", "as_left", "strokes", columns)
    return Problem(FILE, row, column, "", "odd", "T", table="strokes", **{"scope": scope, **more})


def flagged(*problems: Problem) -> dict[str, tuple[str, ...]]:
    made = replace(stage_records({"strokes": STROKES}), flagged=problems)
    found = assess_stage(made, decides=False).result
    return {each.check: each.flagged for each in found.checks if each.flagged}


def test_only_what_is_made_of_the_row_rests_on_its_flag() -> None:
    assert flagged(flag(2)) == {"stroke_time_open": ("strokes.csv row 2",)}
    assert flagged(flag(3), flag(4)) == {"stroke_time_close": ("strokes.csv row 3", "strokes.csv row 4")}
    assert flagged(flag(9)) == {}


def test_a_flag_on_the_whole_row_marks_what_is_made_of_it_and_one_of_another_table_nothing() -> None:
    assert flagged(flag(2, "")) == {"stroke_time_open": ("strokes.csv row 2",)}
    readings = replace(flag(2, "feedback_mA"), table="readings", scope=Scope(("T",), "1", "as_left", "readings"))
    assert flagged(readings) == {}


def test_places_stand_once_in_the_order_of_the_flags() -> None:
    assert places_of([flag(4), flag(2), flag(4, "")]) == ("strokes.csv row 4", "strokes.csv row 2")


def test_no_flag_changes_nothing() -> None:
    made = stage_records({"strokes": STROKES})
    checks = assess_stage(made, decides=False).result.checks
    assert with_flags(checks, made) == list(checks)


@pytest.mark.parametrize(
    ("changed", "holds"),
    [
        ({}, True),
        ({"status": "answered"}, False),
        ({"status": "open"}, False),
        ({"scope": None}, False),
        ({"scope": Scope(("T",), "2", "as_left", "strokes")}, False),
        ({"scope": Scope(("T",), "1", "as_found", "strokes")}, False),
        ({"scope": Scope(("T",), "1", "", "strokes")}, True),
    ],
)
def test_a_stage_holds_the_flags_on_its_own_readings(changed, holds) -> None:
    assert bool(flags_in_stage([replace(flag(2), **changed)], "1", "as_left")) == holds


def test_a_flag_moves_no_verdict_and_no_value_of_a_tag() -> None:
    made = records({"strokes": STROKES}, limit("stroke_time_open", maximum=25.0), instruments=GOOD, rule="simple")
    before, after = assess_tag(made), assess_tag(replace(made, problems=(flag(2),)))
    assert after.verdict == before.verdict
    for one, other in zip(before.deciding.checks, after.deciding.checks, strict=True):
        assert replace(other, flagged=()).verdict == one.verdict
        assert other.value == one.value
    assert [each.check for each in after.deciding.checks if each.flagged] == ["stroke_time_open"]
