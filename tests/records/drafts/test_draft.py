"""A table being read: what each fault costs, and that a cell's first fault is the one that is told."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.basis.records import Scope
from kit.basis.tables import RECORD_TABLES, TABLES
from kit.basis.tables.columns import Table, date, number, table, text, word
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.drafts.schemas import impossible_text
from kit.records.files.raw import RawTable, as_texts

MADE = table(
    "made",
    "An invented table.",
    {
        "tag": text("Tag.", bold=True),
        "level": number("mA", "Bounded on both sides.", 0, 24, one_of="value"),
        "share": number("1", "Bounded on both sides, without a unit.", 0, 1, one_of="value"),
        "least": number("s", "Bounded below.", 0),
        "most": number("s", "Bounded above.", None, 9),
        "way": word(("up", "down"), "Word.", bold=True),
        "maybe": word(("up", "down"), "Word, blank allowed.", bold=True, blank=True),
        "day": date("Day."),
    },
)
HEAD = ("tag", "level", "share", "least", "most", "way", "maybe", "day")
GOOD = ("T", "12", "0.5", "1", "1", "up", "", "2026-03-04")


def drafted(*rows: tuple[str, ...], head: tuple[str, ...] = HEAD, name: str = "made", **more: Any) -> Draft:
    columns = tuple(as_texts([row[place] for row in rows]) for place in range(len(head)))
    raw = RawTable(head, columns, np.arange(2, 2 + len(rows)), **more)
    return draft_table("records/made.csv", dataclasses.replace(MADE, name=name), raw)


def changed(column: str, cell: str) -> tuple[str, ...]:
    return tuple(cell if name == column else value for name, value in zip(HEAD, GOOD, strict=True))


def told(draft: Draft) -> list[tuple[int | None, str, str, str, bool]]:
    return [(each.row, each.column, each.value, each.problem, each.set_aside) for each in draft.problems()]


def test_a_good_row_has_no_problem() -> None:
    draft = drafted(GOOD)
    assert (told(draft), draft.bad.tolist()) == ([], [False])
    assert (draft.count().read, draft.count().used, draft.count().set_aside) == (1, 1, 0)
    assert draft.values["level"].tolist() == [12.0]
    assert draft.values["maybe"].tolist() == [""]


FAULTS = [
    ("tag", "", "tag is blank. Enter it."),
    ("way", "", "way is blank. Enter it."),
    ("way", "left", "'left' is not one of up, down."),
    ("maybe", "left", "'left' is not one of up, down."),
    ("day", "soon", "'soon' is not a date. Write it as 2026-04-30."),
    ("level", "-0.1", "Impossible: level lies between 0 and 24 mA. Correct it."),
    ("level", "24.1", "Impossible: level lies between 0 and 24 mA. Correct it."),
    ("share", "1.1", "Impossible: share lies between 0 and 1. Correct it."),
    ("least", "-1", "Impossible: least is at least 0 s. Correct it."),
    ("most", "9.5", "Impossible: most is at most 9 s. Correct it."),
    ("level", "OK", "'OK' is not a number. Enter the number."),
]


@pytest.mark.parametrize(("column", "cell", "words"), FAULTS)
def test_a_bad_cell_costs_its_row_and_no_other(column: str, cell: str, words: str) -> None:
    draft = drafted(GOOD, changed(column, cell), GOOD)
    assert told(draft) == [(3, column, cell, words, True)]
    assert draft.bad.tolist() == [False, True, False]
    assert (draft.count().used, draft.count().set_aside) == (2, 1)
    (problem,) = draft.problems()
    assert (problem.file, problem.table, problem.tag) == ("records/made.csv", "made", "" if column == "tag" else "T")


@pytest.mark.parametrize(("column", "cell", "words"), FAULTS)
def test_a_row_of_the_register_keeps_its_place_with_a_cell_that_is_not_known(
    column: str, cell: str, words: str
) -> None:
    draft = drafted(GOOD, changed(column, cell), name="tags")
    blank, lost = cell == "", column == "tag"
    assert told(draft) == [(3, column, cell, words if blank else f"{words} It is taken as not known.", lost)]
    assert draft.bad.tolist() == [False, lost]
    value = draft.values[column][1]
    assert value == "" or np.isnan(value)
    (problem,) = draft.problems()
    assert (problem.status, problem.scope) == (("flag", None) if blank and not lost else ("open", OF_THE_TAG[lost]))
    assert draft.not_known(1) == ((column,) if lost or not blank else ())


OF_THE_TAG = {False: Scope(("T",)), True: Scope()}


@pytest.mark.parametrize("cell", ["0", "24"])
def test_a_bound_itself_is_possible(cell: str) -> None:
    assert told(drafted(changed("level", cell))) == []


def test_a_row_needs_one_of_a_group() -> None:
    both = "No value in level or share. Enter one of level, share."
    rows = [(*GOOD[:1], level, share, *GOOD[3:]) for level, share in (("12", ""), ("", "0.5"), ("", ""))]
    assert told(drafted(*rows)) == [(4, "level", "", both, True)]
    head = tuple(name for name in HEAD if name != "share")
    alone = ("T", "", "1", "1", "up", "", "")
    assert told(drafted(alone, head=head)) == [(2, "level", "", "No value in level. Enter one of level, share.", True)]


def test_a_faulty_value_is_told_and_not_called_missing() -> None:
    row = ("T", "OK", "", *GOOD[3:])
    assert [each[3][:4] for each in told(drafted(row))] == ["'OK'"]


@pytest.mark.parametrize("name", ["made", "tags"])
def test_a_missing_column_is_told(name: str) -> None:
    head = tuple(each for each in HEAD if each not in ("level", "share", "day"))
    cells = ("T", "1", "1", "up", "")
    words = "The file has no column level or share. Add it."
    lost = name == "made"
    wanted = (
        [(2, "level", "", words, True), (3, "level", "", words, True)] if lost else [(None, "level", "", words, False)]
    )
    draft = drafted(cells, cells, head=head, name=name)
    assert told(draft) == wanted
    assert draft.bad.tolist() == [lost] * 2


def test_of_two_columns_of_one_name_neither_is_read() -> None:
    """One record tells it where the column may lack; where it may not, each row is lost for it."""
    draft = drafted((*GOOD, "2"), (*GOOD, "2"), head=(*HEAD, "Least"))
    words = "The file has two columns least: neither is read. Remove one of them."
    assert told(draft) == [(None, "least", "", words, False)]
    assert [each.scope for each in draft.problems()] == [Scope(("T",), table="made", columns=("least",))]
    assert np.isnan(draft.values["least"]).all()
    assert drafted((*GOOD, "down"), head=(*HEAD, "Way")).bad.tolist() == [True]
    beside = drafted((*GOOD, "13"), head=(*HEAD, "Level"))  # share stands beside it
    assert [(each.problem[:12], each.status) for each in beside.problems()] == [("The file has", "open")]


def test_one_wrong_heading_is_one_record_however_many_rows_stand_under_it() -> None:
    head = (*HEAD[:-1], "daay", " Remark ", "", "leasst", "own")
    row = (*GOOD, "x", "y", "1", "z")
    draft = drafted(row, row, head=head)
    assert [(each.row, each.column, each.status, each.scope) for each in draft.problems()] == [
        (None, "Remark", "flag", None),
        (None, "own", "flag", None),
        (None, "", "open", Scope(("T",), table="made")),
        (None, "daay", "open", Scope(("T",), table="made")),
        (None, "leasst", "open", Scope(("T",), table="made", columns=("least",))),
    ]
    assert told(draft)[3][3] == (
        "made has no column 'daay', so it is not read. Was day meant? "
        "Correct the heading, or name it under own_columns in unit.toml."
    )
    assert draft.bad.tolist() == [False, False]


@pytest.mark.parametrize("heading", ["waay", ""])
def test_where_a_row_is_lost_for_a_wrong_heading_each_row_says_so_in_the_same_words(heading: str) -> None:
    head = tuple(heading if name == "way" else name for name in HEAD)
    draft = drafted(GOOD, GOOD, head=head)
    assert [(each.row, each.column, each.set_aside) for each in draft.problems()] == [
        (2, "way", True),
        (3, "way", True),
    ]
    (text,) = {each.problem for each in draft.problems()}
    assert ("'waay'" if heading else "no heading") in text


def test_a_row_that_cannot_be_told_apart_is_set_aside_first() -> None:
    draft = drafted(GOOD, changed("way", ""), row_faults={1: "Too many cells."})
    assert told(draft) == [(3, "", "", "Too many cells.", True), (3, "way", "", "way is blank. Enter it.", True)]


def test_only_the_first_fault_of_a_cell_is_told() -> None:
    draft = drafted(GOOD, GOOD)
    draft.set_aside([0], "level", "first")
    draft.set_aside(np.array([True, True]), "level", {0: "second", 1: "other"})
    draft.flag([0, 1], "level", "odd")
    assert [each[3] for each in told(draft)] == ["first", "other"]
    assert draft.bad.tolist() == [True, True]
    assert draft.is_faulty("level").tolist() == [True, True]
    assert draft.is_faulty("least").tolist() == [False, False]


def test_what_costs_a_row_is_told_though_its_cell_was_flagged_before() -> None:
    """A row that is set aside without an open record would be a row that nobody hears of."""
    draft = drafted(GOOD)
    draft.flag([0], "level", "odd")
    draft.set_aside([0], "level", "impossible")
    assert [(each.problem, each.set_aside, each.status) for each in draft.problems()] == [("impossible", True, "open")]


STAGED = ("tag", "visit", "stage", "direction", "time_s")


def strokes(*rows: tuple[str, ...], table: str = "strokes", head: tuple[str, ...] = STAGED, **more: Any) -> Draft:
    columns = tuple(as_texts([row[place] for row in rows]) for place in range(len(head)))
    return draft_table("records/a.csv", TABLES[table], RawTable(head, columns, np.arange(2, 2 + len(rows)), **more))


@pytest.mark.parametrize(
    ("row", "scope"),
    [
        (("T", "2", "as_found", "open", "quick"), Scope(("T",), "2", "as_found", "strokes")),
        (("T", "2", "", "open", "quick"), Scope(("T",), "2", "as_left", "strokes")),
        (("T", "2", "as_lost", "open", "1"), Scope(("T",), "2", "", "strokes")),
        (("T", "", "", "open", "1"), Scope(("T",), "", "as_left", "strokes")),
        (("", "2", "", "open", "1"), Scope((), "2", "as_left", "strokes")),
    ],
)
def test_a_row_set_aside_is_open_for_what_it_could_have_fed(row: tuple[str, ...], scope: Scope) -> None:
    (problem,) = strokes(row).problems()
    assert (problem.status, problem.set_aside, problem.scope) == ("open", True, scope)


def test_cells_that_may_have_moved_say_no_stage() -> None:
    (problem,) = strokes(("T", "2", "as_found", "open", "1"), row_faults={0: "Too many cells."}).problems()
    assert problem.scope == Scope(("T",), "2", "", "strokes")


@pytest.mark.parametrize(
    ("table", "head", "row", "scope"),
    [
        ("adjustments", ("tag", "visit", "at", "what"), ("T", "2", "soon", "speed"), Scope(("T",), "2")),
        (
            "settings",
            ("tag", "visit", "setting", "value"),
            ("T", "2", "x", ""),
            Scope(("T",), "2", "as_left", "strokes"),
        ),
        ("visits", ("tag", "visit", "date"), ("T", "", "2026-03-04"), Scope(("T",))),
        ("visits", ("tag", "visit", "date", "ambient_c"), ("T", "2", "2026-03-04", "warm"), Scope(("T",))),
        ("visits", ("tag", "visit", "date"), ("T", "2", ""), Scope(("T",))),
        ("instruments", ("instrument", "measures", "due_on"), ("S", "s", "soon"), Scope()),
    ],
)
def test_what_feeds_more_than_its_own_table_is_open_for_all_of_it(
    table: str, head: tuple[str, ...], row: tuple[str, ...], scope: Scope
) -> None:
    (problem,) = strokes(row, table=table, head=head).problems()
    assert (problem.status, problem.scope) == ("open", scope)


@pytest.mark.parametrize(
    ("column", "cell"), [("ambient_c", "warm"), ("date", "soon"), ("date", ""), ("as_left_from", "?!")]
)
def test_a_row_of_visits_is_kept_with_a_cell_that_is_not_known(column: str, cell: str) -> None:
    """A visit that dropped out for its temperature would leave an older one to decide."""
    row = {"tag": "T", "visit": "2", "date": "2026-03-04", column: cell}
    draft = strokes(tuple(row.values()), table="visits", head=tuple(row))
    assert draft.bad.tolist() == [False]
    assert draft.not_known(0) == (column,)
    assert not draft.filled(column)[0]


def test_a_row_says_what_stood_in_all_of_its_cells() -> None:
    draft = strokes(("T", "2", "as_found", "open", " 1,5 "), ("U", "2", "as_found", "open", "2"))
    assert draft.texts_of(0) == ("T", "2", "as_found", "open", " 1,5 ")
    assert (draft.place_of(3), draft.written("time_s", 1), draft.written("at", 1)) == (1, "2", "")
    numbers = RawTable(("time_s", "odd"), (np.array([2.0, np.nan]), as_texts(["", "x"])), np.array([1, 2]))
    assert [draft_table("records/a.parquet", TABLES["strokes"], numbers).texts_of(row) for row in (0, 1)] == [
        ("2", ""),
        ("", "x"),
    ]


@pytest.mark.parametrize("cell", ["=A1", "#REF!", "#N/A", "#NAME?"])
def test_a_broken_cell_is_no_text_where_texts_tell_rows_apart(cell: str) -> None:
    head = ("tag", "visit", "item", "result", "remark")
    draft = strokes(("T", "1", cell, "yes", cell), table="prechecks", head=head)
    assert [each[:3] for each in told(draft)] == [(2, "item", cell)]
    assert draft.bad.tolist() == [True]


def test_a_sheet_is_named_before_what_is_said_of_it() -> None:
    draft = drafted(GOOD)
    draft.sheet = "Week 3"
    draft.say("Something.", "level")
    assert told(draft) == [(None, "level", "", "Sheet Week 3: Something.", False)]
    assert draft.problems()[0].tag == ""


def test_filled_tells_numbers_and_texts_apart() -> None:
    draft = drafted(GOOD, ("T", "", "0.5", "", "1", "up", "down", ""))
    assert draft.filled("level").tolist() == [True, False]
    assert draft.filled("maybe").tolist() == [False, True]


def test_the_unit_is_named_where_a_column_has_one_of_its_own() -> None:
    units = {unit: number(unit, "A number.", 1, 2) for unit in ("travel_unit", "measures", "1", "mm")}
    said = {unit: impossible_text(table("t", "d", {"x": column}), "x") for unit, column in units.items()}
    assert said["mm"] == "Impossible: x lies between 1 and 2 mm. Correct it."
    assert {said[unit] for unit in ("travel_unit", "measures", "1")} == {
        "Impossible: x lies between 1 and 2. Correct it."
    }


@settings(max_examples=20, deadline=None)
@given(name=st.sampled_from(RECORD_TABLES), data=st.data())
def test_a_number_of_any_table_is_held_against_its_bounds(name: str, data: st.DataObject) -> None:
    declared: Table = TABLES[name]
    bounded = [each for each in declared.columns if declared.kind(each) == "number" and declared.bounds(each)[1]]
    if not bounded:
        return
    column = data.draw(st.sampled_from(bounded))
    low, high = declared.bounds(column)
    value = data.draw(st.floats(-1e4, 1e4, allow_subnormal=False))
    raw = RawTable((column,), (np.array([value]),), np.array([2]))
    draft = draft_table("records/x.csv", declared, raw)
    impossible = any(each.column == column and "Impossible" in each.problem for each in draft.problems())
    assert impossible == ((low is not None and value < low) or (high is not None and value > high))
