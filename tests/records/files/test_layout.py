"""Lines laid out as a table: which holds the headings, how wide it is, what does not fit."""

from __future__ import annotations

from kit.records.files.layout import lay_out
from kit.records.files.raw import RawTable

KNOWN = frozenset({"tag", "visit"})
BESIDE = "{found} under {wanted}"


def laid(*lines: list[str], grid: bool = False) -> RawTable:
    found = lay_out([(number, line, "") for number, line in enumerate(lines, start=1)], KNOWN, BESIDE, grid=grid)
    assert found is not None
    return found


def test_filled_lines_above_the_headings_are_handed_on() -> None:
    found = laid(["Week 3"], [], ["T", "1", "x"], ["tag", "visit"], ["U", "2"])
    assert found.above == ((1, ("Week 3", "")), (3, ("T", "1")))
    assert (found.header, found.rows.tolist()) == (("tag", "visit"), [5])


def test_a_first_line_of_values_is_a_row_where_no_line_names_a_column() -> None:
    assert laid(["T", "1"], ["U", "2"]).rows.tolist() == [1, 2]
    assert laid(["T", "open"], ["U", "open"]).header == ("", "")
    assert laid(["Valve", "Which way"], ["U", "open"]).header == ("Valve", "Which way")
    assert laid(["T", "<0.1"]).rows.tolist() == [1]


def test_a_column_without_a_heading_is_one_where_most_rows_fill_it() -> None:
    found = laid(["tag", "visit", ""], ["T", "1", "x"], ["U", "1", "y"], ["V", "1", ""])
    assert (found.header, found.row_faults) == (("tag", "visit", ""), {})
    few = laid(["tag", "visit", ""], ["T", "1", "x"], ["U", "1", ""])
    assert (few.header, few.row_faults) == (("tag", "visit"), {0: "3 under 2"})


def test_cells_beyond_the_headings_own_line_make_a_column_only_where_none_can_have_moved() -> None:
    lines = ["tag", "visit"], ["T", "20", "1"]
    assert laid(*lines).row_faults == {0: "3 under 2"}
    assert laid(*lines, grid=True).header == ("tag", "visit", "")


def test_rows_of_another_length_than_their_headings_are_told() -> None:
    found = laid(["tag", "visit"], ["T"], ["T", "1", ""], ["T", "1"], ["T", "1", "x"])
    assert found.short == {0: 1}
    assert found.beyond == {1: ("T", "1", ""), 3: ("T", "1", "x")}
    assert found.row_faults == {3: "3 under 2"}


def test_lines_without_a_filled_cell_are_no_table() -> None:
    assert lay_out([(1, ["", " "], "")], KNOWN, BESIDE) is None
