"""Which visit decides, and what it goes on from."""

from __future__ import annotations

import dataclasses

import pytest

from kit.assessment import assess_tag
from kit.assessment.timeline import timeline_of
from kit.basis.records import Problem, Scope
from kit.basis.registers import Visit
from tests.assessment.builders import GOOD, limit, records, stroke

GOOD_RUN, BAD_RUN = (0, 0, 0.1, 0, 0), (0, 0, 5, 0, 0)


def visits(*rows):
    """Visits from (name, date, what it goes on from)."""
    roles = {f"{role}_instrument": name for role, name in (("command", "C"), ("position", "P"))}
    return tuple(Visit(name, date, continues=goes_on, **roles) for name, date, goes_on in rows)


def unit(runs, *rows, problems=(), rule="by_ratio"):
    """One tag with a run of readings on each visit named."""
    readings = [each | {"visit": name} for name, run in runs.items() for each in stroke(*run)]
    one = limit("inaccuracy", plus_minus=1)
    made = records({"readings": readings}, one, instruments=GOOD, visits=visits(*rows), rule=rule)
    return dataclasses.replace(made, problems=tuple(problems))


@pytest.mark.parametrize("name", ["FAT", "999", "2099-01-01", "~"])
def test_a_visit_of_january_does_not_beat_one_of_june_whatever_its_name(name):
    made = unit({name: GOOD_RUN, "0": BAD_RUN}, (name, "2026-01-20", ""), ("0", "2026-06-01", ""))
    found = assess_tag(made)
    assert (found.verdict, found.visit) == ("fail", "0")
    assert [each.visit for each in found.stages] == ["0", name]


def test_two_visits_of_the_newest_date_pass_nothing_and_name_each_other():
    made = unit({"1": GOOD_RUN, "2": GOOD_RUN}, ("1", "2026-06-01", ""), ("2", "2026-06-01", ""))
    found = assess_tag(made)
    assert found.verdict == "incomplete"
    assert "Visits 1 and 2 have one date, 2026-06-01" in found.reason
    assert "in continues of the later one" in found.reason


def test_two_visits_of_an_older_date_cost_nothing():
    rows = (("1", "2026-05-01", ""), ("2", "2026-05-01", ""), ("3", "2026-06-01", ""))
    assert assess_tag(unit({"1": BAD_RUN, "2": GOOD_RUN, "3": GOOD_RUN}, *rows)).verdict == "pass"


def test_of_one_date_the_visit_that_goes_on_from_the_other_is_the_newer():
    rows = (("2", "2026-06-01", "9"), ("9", "2026-06-01", ""))
    found = assess_tag(unit({"9": BAD_RUN, "2": GOOD_RUN}, *rows))
    assert (found.verdict, found.visit) == ("pass", "2")


def test_a_visit_without_a_visits_row_does_not_decide_and_keeps_what_it_holds_from_passing():
    found = assess_tag(unit({"1": GOOD_RUN, "zz": BAD_RUN}, ("1", "2026-06-01", "")))
    assert (found.verdict, found.visit) == ("incomplete", "1")
    assert "visit zz holds it too and has no row in visits" in found.reason


def test_without_any_visits_row_nothing_passes_and_a_failure_stays():
    found = assess_tag(unit({"1": GOOD_RUN}))
    assert (found.verdict, found.visit) == ("incomplete", "1")
    assert "No visit has a row in visits: write one, with tag, visit and date" in found.reason
    assert assess_tag(unit({"1": BAD_RUN}, rule="simple")).verdict == "fail"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([("2", "2026-06-01", "9")], "visit 2 goes on from visit 9, which this tag does not have"),
        ([("2", "2026-06-01", "2")], "visit 2 goes on from visit 2, and so in a circle"),
        ([("1", "2026-05-01", "2"), ("2", "2026-06-01", "1")], "visit 1 goes on from visit 2, and so in a circle"),
        ([("2", "2026-06-01", "1"), ("1", "2026-05-01", "0"), ("0", "2026-04-01", "1")], "in a circle"),
        ([("2", "2026-06-01", "1"), ("1", "2026-05-01", "0"), ("0", "2026-05-02", "")], "of the later date 2026-05-02"),
        ([("2", "2026-06-01", "1"), ("1", "2026-05-01", "0")], "which this tag does not have"),
    ],
)
def test_a_chain_that_does_not_hold_passes_nothing(rows, said):
    found = assess_tag(unit({"2": GOOD_RUN}, *rows))
    assert (found.verdict, found.visit) == ("incomplete", "2")
    assert said in found.reason.casefold()
    assert found.deciding.goes_on_from == ()


def test_a_chain_to_a_visit_without_a_visits_row_passes_nothing():
    found = assess_tag(unit({"1": GOOD_RUN, "2": GOOD_RUN}, ("2", "2026-06-01", "1")))
    assert found.verdict == "incomplete"
    assert "Visit 2 goes on from visit 1, which has no row in visits" in found.reason


@pytest.mark.parametrize(
    ("columns", "verdict"), [((), "incomplete"), (("date",), "incomplete"), (("remarks",), "pass")]
)
def test_a_visits_row_that_cannot_be_read_may_be_that_of_a_newer_visit(columns, verdict):
    scope = Scope(("T",), visit="7", table="visits", columns=columns)
    problem = Problem("records/visits.csv", 9, "date", "June", "No date.", "T", status="open", scope=scope)
    found = assess_tag(unit({"1": GOOD_RUN}, ("1", "2026-06-01", ""), problems=[problem]))
    assert found.verdict == verdict
    assert ("records/visits.csv row 9" in found.reason) == (verdict == "incomplete")
    answered = dataclasses.replace(problem, status="answered")
    assert assess_tag(unit({"1": GOOD_RUN}, ("1", "2026-06-01", ""), problems=[answered])).verdict == "pass"


def test_a_tag_without_records_has_no_timeline():
    assert timeline_of(records({}, visits=())) is None


def test_one_visit_is_earlier_than_another_by_date_or_because_that_one_goes_on_from_it():
    order = timeline_of(
        unit({"x": GOOD_RUN}, ("a", "2026-05-01", ""), ("b", "2026-06-01", "a"), ("c", "2026-06-01", "b"))
    )
    pairs = {(one, other) for one in "abcx" for other in "abcx" if order.is_earlier(one, other)}
    assert pairs == {("a", "b"), ("a", "c"), ("b", "c")}
    assert (order.newest_first, order.chain) == (("c", "b", "a", "x"), ("c", "b", "a"))
