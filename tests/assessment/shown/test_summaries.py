"""What is counted over a unit, as plain tables."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from kit.assessment.shown.summaries import SUMMARIES, file_of, summaries
from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.basis.issues import Change
from tests.views import made
from tests.views.made_unit import many_tags


def visit(name: str, verdict: str, date: str = "2026-03-01") -> dict[str, str]:
    return {"visit": name, "stage": "as_left", "date": date, "verdict": verdict}


def tables(*lines: TagLine) -> dict[str, list[dict[str, Any]]]:
    found = summaries(UnitResults(made.settings(), lines, (), (), (), {}))
    return {each.name: [dict(row) for row in each.rows] for each in found}


FAILED = TagLine(
    "FV-1",
    "",
    "",
    {
        "verdict": "pass",
        "visit": "2",
        "date": "2026-04-01",
        "tests": {"readings": "pass", "strokes": "stale"},
        "causes": ["Bow"],
        "stages": [visit("2", "pass", "2026-04-01"), visit("1", "fail")],
        "issue": {
            "standing": "differs",
            "last": {"revision": "B", "on": "2026-03-05"},
            "changes": [
                asdict(Change("reading", "records/a.csv row 3", "1", "2")),
                asdict(Change("verdict", "", "a", "b")),
            ],
        },
    },
)


def test_a_tag_says_how_its_tests_ended_and_whether_it_passed_first():
    first, empty = tables(FAILED, TagLine("FV-2", "", "", {}))["tests_done"]
    assert (first["readings"], first["strokes"], first["switches"]) == ("pass", "stale", "")
    assert (first["visits_as_left"], first["passed_first"]) == (2, False)
    assert (empty["tag"], empty["verdict"], empty["visits_as_left"], empty["passed_first"]) == ("FV-2", "", 0, None)


def test_what_changed_since_the_last_issue_stands_one_thing_a_row():
    issued = TagLine("FV-3", "", "", {"issue": {"standing": "issued", "last": {}, "changes": [{}]}})
    rows = tables(FAILED, issued)["changed"]
    assert [(row["tag"], row["issued_revision"], row["kind"], row["before"], row["now"]) for row in rows] == [
        ("FV-1", "B", "reading", "1", "2"),
        ("FV-1", "B", "verdict", "a", "b"),
    ]


def test_several_names_are_one_text_and_a_tag_and_cause_one_row():
    lines = [
        TagLine(f"T{n}", "", "", {"verdict": "fail" if n < 2 else "pass", "technician": f"P{n // 2}"}) for n in range(4)
    ]
    found = tables(*lines, FAILED)
    assert next(row["failing"] for row in found["in_common"] if row["name"] == "P0") == "T0; T1"
    assert found["causes"] == [{"cause": "Bow", "tag": "FV-1"}]
    assert found["progress"] == [
        {"date": "2026-03-01", "tested": 1, "passed": 0},
        {"date": "2026-04-01", "tested": 1, "passed": 1},
    ]


def test_every_table_stands_whether_or_not_it_has_rows_and_says_what_a_row_is():
    empty, full = tables(), tables(*many_tags(99).tags)
    assert list(empty) == list(full) == list(SUMMARIES)
    assert not any(empty.values())
    assert all(SUMMARIES.values())
    assert full["limits_that_bite"]
    assert full["register_columns"]


def test_each_table_is_a_file_of_its_own_in_one_folder():
    assert len({file_of(name) for name in SUMMARIES}) == len(SUMMARIES)
    assert file_of("causes") == "summary/causes.csv"
