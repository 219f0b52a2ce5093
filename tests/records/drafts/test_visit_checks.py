"""What the visits must agree with: the instrument register, and the tables that name a visit."""

from __future__ import annotations

import numpy as np

from kit.basis.registers import Instrument
from kit.basis.rows import Rows, empty_rows
from kit.basis.tables import RECORD_TABLES, TABLES
from kit.records.drafts.draft import Draft, draft_table
from kit.records.drafts.merge import merge_drafts
from kit.records.drafts.visit_checks import find_missing_visits, match_instruments
from kit.records.files.raw import RawTable, as_texts


def draft(table: str, *rows: dict[str, str]) -> Draft:
    names = tuple(dict.fromkeys(name for row in rows for name in row))
    columns = tuple(as_texts([row.get(name, "") for row in rows]) for name in names)
    raw = RawTable(names, columns, np.arange(2, 2 + len(rows)))
    return draft_table(f"records/{table}.csv", TABLES[table], raw)


def tables(**given: Draft) -> dict[str, Rows]:
    return {
        name: merge_drafts(TABLES[name], [given[name]]) if name in given else empty_rows(TABLES[name])
        for name in RECORD_TABLES
    }


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


def test_a_visit_that_has_no_row_is_told_once_at_the_first_row_that_names_it() -> None:
    stroke = {"tag": "T", "direction": "open", "time_s": "5"}
    strokes = draft(
        "strokes", {**stroke, "visit": "2"}, {**stroke, "visit": "2", "time_s": "6"}, {**stroke, "visit": "1"}
    )
    electrical = draft("electrical", {"tag": "T", "visit": "2", "supply_idle_v": "24"})
    found = find_missing_visits(tables(visits=draft("visits", visit()), strokes=strokes, electrical=electrical))
    (problem,) = found
    assert (problem.file, problem.row, problem.column, problem.value) == ("records/strokes.csv", 2, "visit", "2")
    assert (problem.tag, problem.set_aside) == ("T", False)


def test_visits_with_a_row_are_not_told() -> None:
    assert find_missing_visits(tables(visits=draft("visits", visit()))) == []
    electrical = draft("electrical", {"tag": "U", "visit": "1", "supply_idle_v": "24"})
    found = find_missing_visits(tables(visits=draft("visits", visit()), electrical=electrical))
    assert [each.tag for each in found] == ["U"]
