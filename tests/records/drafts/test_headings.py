"""Headings: what is read, what only looks like a column, what is a plant's own."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.tables import TABLES
from kit.records.drafts.headings import Headings, all_words, close_to, match_headings
from kit.records.files.raw import RawTable, as_texts


def matched(table: str, *own: str, **columns: str) -> Headings:
    cells = tuple(as_texts([cell]) for cell in columns.values())
    return match_headings(TABLES[table], RawTable(tuple(columns), cells, np.array([2])), own)


@pytest.mark.parametrize(
    ("heading", "meant"),
    [
        ("makes_at", ("makes_at_pct",)),  # a beginning
        ("Makes At (%)", ("makes_at_pct",)),
        ("mekes_at_pct", ("makes_at_pct",)),  # one edit
        ("breaks-at-pct", ("breaks_at_pct",)),  # marks
        ("Stäge", ("stage",)),
        ("tg", ("tag",)),
        ("mak", ()),  # three letters
        ("remark", ()),
        ("", ()),
    ],
)
def test_a_heading_is_close_by_its_beginning_one_edit_or_its_marks(heading: str, meant: tuple[str, ...]) -> None:
    assert close_to(heading, TABLES["switches"].columns) == meant


def test_of_columns_that_are_equally_close_all_are_named_and_of_others_the_closest() -> None:
    readings = TABLES["readings"].columns
    assert close_to("position", readings) == ("position_pct", "position_deg", "position_mm")
    assert close_to("position_d", readings) == ("position_deg",)
    assert close_to("position_dgg", readings) == ("position_deg",)


def test_a_slip_is_taken_for_a_column_that_is_missing_before_one_that_is_there() -> None:
    found = matched("readings", tag="T", position_pct="50", position="45")
    assert [slip.meant for slip in found.slips] == [("position_deg", "position_mm")]
    assert set(found.columns) == {"tag", "position_pct"}
    whole = matched("strokes", time_s="20", time_of_day="9")
    assert [(slip.heading, slip.meant) for slip in whole.slips] == [("time_of_day", ("time_s",))]
    assert "time_s" in whole.columns


def test_a_column_of_words_that_the_table_lacks_is_a_slip() -> None:
    assert [slip.meant for slip in matched("readings", tag="T", way="up").slips] == [("direction",)]
    assert [slip.meant for slip in matched("readings", tag="T", when="as found").slips] == [("stage",)]
    assert matched("readings", tag="T", when="sideways").others == ("when",)
    assert matched("readings", tag="T", direction="up", way="up").others == ("way",)
    assert matched("fail_tests", tag="T", bell="yes").others == ("bell",)  # yes and no tell nothing in records


def test_a_column_without_a_heading_is_a_slip_where_it_holds_anything() -> None:
    assert [(slip.heading, slip.meant) for slip in matched("strokes", tag="T", **{" ": "x"}).slips] == [("", ())]
    assert matched("strokes", tag="T", **{" ": " "}).slips == ()


def test_a_plants_own_columns_are_neither_slips_nor_strange() -> None:
    found = matched("strokes", "TIME of day ", tag="T", **{"Time of day": "9"})
    assert (found.slips, found.others, set(found.columns)) == ((), (), {"tag"})


def test_numbers_and_blanks_are_no_words() -> None:
    words = ("up", "down")
    assert all_words(as_texts(["UP", "", "down"]), words)
    assert not all_words(as_texts(["", "-"]), words)
    assert not all_words(as_texts(["up", "1"]), words)
    assert not all_words(np.array([1.0]), words)
