"""A tag's report tells its own problems and the open records that could be of it."""

from __future__ import annotations

from dataclasses import replace

from kit.basis.records import Problem, Scope
from kit.records.shares.by_tag import problems_by_tag

BOTH = Scope(("A", "B"), table="strokes")
OPEN = Problem("records/strokes.csv", 2, "tag", "X", "Not known.", "", True, "strokes", "r2", "open", BOTH)
FLAG = Problem("records/strokes.csv", 3, "time_s", "9", "Odd.", "A", table="strokes", record="r3")


def test_an_open_record_stands_with_each_tag_of_its_scope_narrowed_to_it() -> None:
    found = problems_by_tag([OPEN, FLAG])
    assert found == {
        "A": (replace(OPEN, scope=replace(BOTH, tags=("A",))), FLAG),
        "B": (replace(OPEN, scope=replace(BOTH, tags=("B",))),),
    }


def test_a_record_of_a_tag_of_its_own_stands_there_once() -> None:
    own = replace(OPEN, tag="A", scope=replace(BOTH, tags=("A",)))
    assert problems_by_tag([own]) == {"A": (own,)}


def test_many_rows_of_no_known_tag_and_one_cause_are_drawn_together() -> None:
    """Ten thousand tags would each carry ten thousand rows."""
    rows = [replace(OPEN, row=place, record=f"r{place}") for place in range(2, 102)]
    found = problems_by_tag(rows)["B"]
    assert [each.row for each in found] == [*range(2, 22), None]
    assert found[-1].problem == "Not known. So are 80 rows more."
    assert found[-1].scope == replace(BOTH, tags=("B",))
    assert len(problems_by_tag(rows[:20])["B"]) == 20
