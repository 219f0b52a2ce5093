"""Rows that do not stand under their headings: read where that can be done in one way only, and else told."""

from __future__ import annotations

import pytest

from kit.basis.records import Scope
from kit.basis.tables import TABLES
from kit.records.drafts.draft import Draft
from kit.records.drafts.drafting import draft_table
from kit.records.files.csv_files import read_csv
from kit.records.files.raw import known_headings

STROKES = "tag,visit,stage,direction,time_s,speed_setting_pct,from_pct,to_pct\n"
SHORT = "tag,visit,direction,time_s\n"


def drafted(text: str, table: str = "strokes") -> Draft:
    (raw,) = read_csv(text.encode(), known_headings()).tables
    return draft_table(f"records/{table}.csv", TABLES[table], raw)


def told(draft: Draft) -> list[tuple[int | None, str, bool, str]]:
    return [(each.row, each.column, each.set_aside, each.status) for each in draft.problems()]


@pytest.mark.parametrize(
    ("text", "time_s"),
    [
        (f"{SHORT}T,1,open,20,1\n", 20.1),
        (f"{SHORT}T,1,open,20,15\nT,1,close,30\n", 20.15),
    ],
)
def test_a_decimal_comma_that_split_a_number_is_mended_where_that_can_be_read_in_one_way(
    text: str, time_s: float
) -> None:
    draft = drafted(text)
    assert draft.values["time_s"][0] == time_s
    assert told(draft) == [(2, "time_s", False, "flag")]
    assert draft.problems()[0].problem.startswith(f"{time_s:.0f} and the cell after it are read as {time_s}")


@pytest.mark.parametrize(
    "text",
    [
        f"{STROKES}T,1,as_left,open,20,10,20,0,90\n",  # 20.10 s or 20 s at 10.20 %, or from 20.0 %
        f"{STROKES}T,1,as_left,open,20,5,100,0,100\n",  # 20.5 s, or 20 s at 5.100 %
        f"{SHORT}T,1,open,20,1,5\n",  # two cells too many
        f"{SHORT}T,1,open,quick,1\n",
        f"{SHORT}T,1,opn,20,1\n",
        f"{STROKES}T,1,as_left,open,20,1,,,\n",  # the cell too many is blank, and may not be the last one
    ],
)
def test_what_can_be_read_in_another_way_or_in_none_is_open_and_never_shifted(text: str) -> None:
    draft = drafted(text)
    assert draft.bad.tolist() == [True]
    assert ("", True, "open") in [each[1:] for each in told(draft)]
    assert "cells under" in draft.problems()[0].problem


def test_a_comma_too_many_at_the_end_of_a_row_is_nothing() -> None:
    assert told(drafted(f"{SHORT}T,1,open,20.1,\nT,1,close,20.1,,\n")) == []


def test_a_semicolon_file_needs_no_mending() -> None:
    draft = drafted(SHORT.replace(",", ";") + "T;1;open;20,1;\nT;1;open;20,2;5\n")
    assert (draft.values["time_s"].tolist(), draft.bad.tolist()) == ([20.1, 20.2], [False, True])


@pytest.mark.parametrize(
    ("row", "column"),
    [("T,1,as_left,open,20.1", "speed_setting_pct"), ("T,1,as_left,open", "time_s"), ("T,1", "stage")],
)
def test_a_row_cut_short_before_what_feeds_a_check_is_set_aside(row: str, column: str) -> None:
    draft = drafted(f"{STROKES}{row}\nT,1,as_left,open,20.1,,,\n")
    assert draft.bad.tolist() == [True, False]
    assert (2, column, True, "open") in told(draft)


def test_a_row_cut_short_before_a_remark_is_used_and_told_once() -> None:
    text = "tag,visit,item,result,remark\nT,1,a,yes\nT,1,b,yes\n"
    draft = drafted(text, "prechecks")
    assert draft.bad.tolist() == [False, False]
    assert told(draft) == [(None, "", False, "flag")]


def test_a_row_of_visits_cut_short_is_kept_and_open_for_what_it_lacks() -> None:
    draft = drafted("tag,visit,date,technician,time_instrument,continues\nT,1,2026-03-04,N\n", "visits")
    assert draft.bad.tolist() == [False]
    assert draft.not_known(0) == ("time_instrument", "continues")


def test_a_row_above_the_headings_is_set_aside_and_counted() -> None:
    draft = drafted(f"Week 12,,,\nT,1,open,20.1\n{SHORT}T,1,close,20.1\n")
    assert draft.rows.tolist() == [2, 4]
    assert (draft.count().read, draft.count().used, draft.count().set_aside) == (2, 1, 1)
    assert told(draft) == [(2, "", True, "open")]
    assert draft.problems()[0].scope == Scope(("T",), "1", "", "strokes")


@pytest.mark.parametrize(
    ("line", "rows"),
    [
        ("Unit,Lime works,Date,2026-03-04", 2),  # as many filled cells as a row
        ("Unit,,Date,2026-03-04", 1),
        ("T,,open,20.1", 2),  # two cells fit their headings
        ("Week 12", 1),
    ],
)
def test_a_title_above_the_headings_is_none(line: str, rows: int) -> None:
    assert len(drafted(f"{line}\n{SHORT}T,1,close,20.1\n")) == rows


def test_headings_that_are_lost_leave_every_row_aside_the_first_one_too() -> None:
    draft = drafted("T,1,open,20.1\nT,1,close,20.1\n")
    assert draft.rows.tolist() == [1, 2]
    assert draft.bad.all()
