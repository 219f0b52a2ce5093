"""Files of one table put together: order, repeats, and where each row stands."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.records import Scope
from kit.basis.tables import TABLES
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.merge import merge_drafts
from kit.records.files.raw import RawTable, as_texts


def draft(table: str, head: str, *rows: str, file: str = "records/a.csv") -> Draft:
    names = tuple(head.split(","))
    cells = [row.split(",") for row in rows]
    columns = tuple(as_texts([row[place] for row in cells]) for place in range(len(names)))
    return draft_table(file, TABLES[table], RawTable(names, columns, np.arange(2, 2 + len(rows))))


STROKES = "tag,visit,stage,direction,time_s"
SHORT = ("as_found,open,4", "as_left,open,1", "as_left,open,0.5")


def test_visits_come_by_date_whatever_they_are_called() -> None:
    rows = ("A,FAT,2026-01-20", "A,10,2026-06-01", "B,0,2026-07-01", "A,9,2026-06-01", "A,2099,2026-02-01")
    merged = merge_drafts(TABLES["visits"], [draft("visits", "tag,visit,date", *rows)])
    assert merged["visit"].tolist() == ["FAT", "2099", "9", "10", "0"]


def test_rows_come_by_tag_visit_and_stage_and_else_as_they_stand() -> None:
    drafts = [
        draft("strokes", STROKES, "B,1,as_left,open,1", "A,10,as_left,open,2", "A,9,as_left,open,3"),
        draft(
            "strokes",
            STROKES,
            "A,9,as_found,open,4",
            "A,9,as_left,open,1",
            "A,9,as_left,open,0.5",
            file="records/b.csv",
        ),
    ]
    rows = merge_drafts(TABLES["strokes"], drafts)
    assert rows["time_s"].tolist() == [4.0, 3.0, 1.0, 0.5, 2.0, 1.0]
    assert rows["file"].tolist() == [f"records/{each}.csv" for each in "babbaa"]
    assert rows["row"].tolist() == [2, 4, 3, 4, 3, 2]


def test_a_table_without_files_is_empty() -> None:
    rows = merge_drafts(TABLES["strokes"], [])
    assert len(rows) == 0
    assert set(rows.columns) == {*TABLES["strokes"].columns, "file", "row"}


def test_rows_set_aside_are_not_handed_on_and_repeat_nothing() -> None:
    one = draft("strokes", STROKES, "A,1,as_left,open,quick", "A,1,as_left,open,5", "A,1,as_left,open,5")
    rows = merge_drafts(TABLES["strokes"], [one])
    assert rows["row"].tolist() == [3, 4]
    assert [(each.row, each.column) for each in one.problems()] == [(2, "time_s"), (4, "")]
    assert one.problems()[1].problem == "Identical to row 3, and no at tells them apart. Used as a repeat; check it."


def test_the_same_row_in_another_file_is_read_once_and_nothing_is_open_for_it() -> None:
    row = "A,1,as_left,open,5"
    first, second = draft("strokes", STROKES, row), draft("strokes", STROKES, row, row, file="records/b.csv")
    assert merge_drafts(TABLES["strokes"], [first, second])["file"].tolist() == ["records/a.csv"]
    assert [(each.row, each.set_aside, each.status) for each in second.problems()] == [
        (2, True, "flag"),
        (3, True, "flag"),
    ]
    assert all("row 2 of records/a.csv" in each.problem for each in second.problems())
    assert first.problems() == []


@pytest.mark.parametrize(
    ("table", "row"),
    [
        ("readings", {"direction": "up", "command_mA": "12", "position_pct": "50", "cycle": "1"}),
        ("strokes", {"direction": "open", "time_s": "30.2"}),
        ("fail_tests", {"cause": "signal_open", "position_after_pct": "0"}),
        ("switches", {"switch": "open", "makes_at_pct": "98"}),
        ("potentiometer", {"position_pct": "50", "wiper_ohm": "500"}),
        ("electrical", {"supply_idle_v": "24"}),
        ("loop_checks", {"station_output_pct": "50"}),
    ],
)
@pytest.mark.parametrize(("at", "used"), [("", 2), ("2026-03-04T07:30", 1)])
def test_a_measurement_may_be_made_twice_where_no_time_says_that_it_is_one(
    table: str, row: dict[str, str], at: str, used: int
) -> None:
    """Two of three equal honest strokes must not drop out: the mean would move."""
    cells = {"tag": "A", "visit": "1", **row, "at": at}
    one = draft(table, ",".join(cells), *[",".join(cells.values())] * 2)
    assert len(merge_drafts(TABLES[table], [one])) == used
    (problem,) = [each for each in one.problems() if each.row == 3]
    assert (problem.set_aside, problem.status) == (used == 1, "flag")


def test_what_is_no_measurement_is_told_once() -> None:
    one = draft("prechecks", "tag,visit,item,result", "A,1,wiring,yes", "A,1,wiring,yes")
    assert len(merge_drafts(TABLES["prechecks"], [one])) == 1


CYCLED = "tag,visit,stage,cycle,direction,command_mA,position_pct"


def cycle(name: str, *positions: str, stage: str = "as_left", visit: str = "1") -> list[str]:
    return [f"A,{visit},{stage},{name},up,{4 + 8 * at},{position}" for at, position in enumerate(positions)]


def test_cycles_that_are_equal_in_every_value_are_one_cycle() -> None:
    rows = [*cycle("1", "0.1", "50.2"), *cycle("2", "0.1", "50.3"), *reversed(cycle("3", "0.1", "50.2"))]
    one = draft("readings", CYCLED, *rows)
    assert merge_drafts(TABLES["readings"], [one])["cycle"].tolist() == ["1", "1", "2", "2"]
    assert [(each.row, each.column, each.set_aside, each.status) for each in one.problems()] == [
        (6, "cycle", True, "flag"),
        (7, "cycle", True, "flag"),
    ]
    assert one.problems()[0].problem == "Cycle 3 equals cycle 1 in every value: it is read once. Was it copied?"


def test_cycles_of_other_stages_and_visits_and_parts_of_a_cycle_are_cycles_of_their_own() -> None:
    rows = [
        *cycle("1", "0.1", "50.2"),
        *cycle("2", "0.1", "50.2", stage="as_found"),
        *cycle("2", "0.1", "50.2", visit="2"),
        *cycle("3", "0.1"),
        *cycle("4", "0.1", "50.2", "99"),
    ]
    one = draft("readings", CYCLED, *rows)
    assert len(merge_drafts(TABLES["readings"], [one])) == len(rows)
    assert one.problems() == []


def test_two_rows_of_one_visit_that_differ_are_both_open() -> None:
    one = draft("visits", "tag,visit,date", "A,1,2026-03-04", "A,2,2026-03-04", "A,1,2026-03-05")
    assert merge_drafts(TABLES["visits"], [one])["row"].tolist() == [2, 3]
    words = "This row and row {} are of one tag and visit and differ. Keep the one that is right."
    assert sorted((each.row, each.problem, each.set_aside, each.status) for each in one.problems()) == [
        (2, words.format(4), False, "open"),
        (4, words.format(2), True, "open"),
    ]
    assert {each.scope for each in one.problems()} == {Scope(("A",))}


def test_a_visit_told_twice_in_the_same_words_is_read_once_and_open_to_nothing() -> None:
    row = "A,1,2026-03-04"
    one, other = draft("visits", "tag,visit,date", row), draft("visits", "tag,visit,date", row, file="records/b.csv")
    assert len(merge_drafts(TABLES["visits"], [one, other])) == 1
    assert [(each.set_aside, each.status) for each in other.problems()] == [(True, "flag")]
