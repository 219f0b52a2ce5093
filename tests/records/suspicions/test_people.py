"""One person on both sides of a check."""

from __future__ import annotations

import pytest

from kit.records.suspicions.people import find_initials, find_same_person
from tests.records.suspicions.frames import rows


def tables(visits=(), loop=()):
    return {"visits": rows("visits", visits), "loop_checks": rows("loop_checks", loop)}


@pytest.mark.parametrize(
    ("technician", "checker", "told"),
    [
        ("A. Smith", "a.smith", True),
        ("A  Smith ", "a smith", True),
        ("A", "B", False),
        ("", "", False),
        ("A", "", False),
    ],
)
def test_a_checker_who_is_the_technician_is_told_at_the_visit(technician, checker, told):
    other = {"technician": "A", "checked_by": "B"}
    found = find_same_person(tables([other, {"technician": technician, "checked_by": checker}]))
    assert [(each.file, each.row, each.column, each.status, each.table) for each in found] == (
        [("records/visits.csv", 3, "checked_by", "flag", "visits")] if told else []
    )


def test_a_loop_check_by_one_person_is_told_once_a_visit():
    alone = {"field_person": "C", "station_person": "c"}
    given = [alone, alone, {**alone, "visit": "2"}, {"field_person": "C", "station_person": "D", "visit": "3"}]
    found = find_same_person(tables(loop=given))
    assert [(each.row, each.column, each.tag) for each in found] == [
        (2, "station_person", "T"),
        (4, "station_person", "T"),
    ]
    assert not any(each.set_aside for each in found)


@pytest.mark.parametrize(
    ("name", "asked"), [("AB", True), ("A. B.", True), ("a.b", True), ("Bo", False), ("A. Smith", False), ("", False)]
)
def test_initials_alone_are_asked_about_once_a_visit(name, asked):
    found = find_initials(tables([{"technician": name, "checked_by": name}], [{"field_person": "C. Jones"}]))
    assert [(each.column, each.row) for each in found] == ([("technician", 2)] if asked else [])
