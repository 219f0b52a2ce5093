"""What the visits must agree with: the instrument register, and the tables that name a visit."""

from __future__ import annotations

import numpy as np

from kit.basis.registers import Instrument
from kit.basis.tables import TABLES
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.merge import merge_drafts
from kit.records.drafts.visit_checks import leave_unvisited_open, match_instruments, visited
from kit.records.files.raw import RawTable, as_texts


def draft(table: str, *rows: dict[str, str]) -> Draft:
    names = tuple(dict.fromkeys(name for row in rows for name in row))
    columns = tuple(as_texts([row.get(name, "") for row in rows]) for name in names)
    raw = RawTable(names, columns, np.arange(2, 2 + len(rows)))
    return draft_table(f"records/{table}.csv", TABLES[table], raw)


def visit(**more: str) -> dict[str, str]:
    return {"tag": "T", "visit": "1", "date": "2026-03-04", **more}


def test_an_instrument_is_spelt_as_in_its_register() -> None:
    visits = draft("visits", visit(time_instrument="stop-1"), visit(visit="2", time_instrument="STOP-1"))
    match_instruments(visits, [Instrument("Stop-1", "s")])
    assert visits.values["time_instrument"].tolist() == ["Stop-1", "Stop-1"]
    assert visits.problems() == []


def test_an_unknown_instrument_is_told_at_each_row_with_what_was_meant() -> None:
    rows = [visit(time_instrument="Stop-l"), visit(visit="2"), visit(visit="3", time_instrument="Z")]
    visits = draft("visits", *rows)
    match_instruments(visits, [Instrument("Stop-1", "s")])
    assert [(each.row, each.column, each.set_aside) for each in visits.problems()] == [
        (2, "time_instrument", False),
        (4, "time_instrument", False),
    ]
    first, second = (each.problem for each in visits.problems())
    assert first.endswith("no uncertainty. Was Stop-1 meant?")
    assert second == "'Z' is not in the instrument register: what it measured has no uncertainty."


def test_a_row_of_a_visit_that_has_no_row_of_its_own_is_open_and_not_used() -> None:
    stroke = {"tag": "T", "direction": "open", "time_s": "5"}
    strokes = draft(
        "strokes",
        {**stroke, "visit": "2"},
        {**stroke, "visit": "1"},
        {**stroke, "visit": "2", "time_s": "soon"},
        {**stroke, "visit": ""},
    )
    known = visited(merge_drafts(TABLES["visits"], [draft("visits", visit())]))
    assert known == {("T", "1")}
    leave_unvisited_open(strokes, known)
    assert strokes.bad.tolist() == [True, False, True, True]
    told = [(each.row, each.column, each.problem) for each in strokes.problems() if each.value == "2"]
    assert told == [
        (2, "visit", "visits has no row for this tag and visit: its date and its instruments are unknown. Add one.")
    ]


def test_without_any_visits_row_no_row_is_used() -> None:
    electrical = draft("electrical", {"tag": "U", "visit": "1", "supply_idle_v": "24"})
    leave_unvisited_open(electrical, frozenset())
    assert electrical.bad.tolist() == [True]
    empty = draft_table("records/a.csv", TABLES["strokes"], RawTable(("tag",), (as_texts([]),), np.arange(0)))
    leave_unvisited_open(empty, frozenset())
    assert len(empty.problems()) == 0
