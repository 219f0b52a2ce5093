"""A line of a field sheet holds no record while it stands as it was printed, and is a line as any as soon as not."""

from __future__ import annotations

import pytest

from kit.records.files.printed import AS_PRINTED, printed_mark
from kit.records.files.printed import filled_in as filled_in_unless

HEAD = ["tag", "visit", "set to", "command_mA", "now", AS_PRINTED]
MARK = printed_mark(["FV-1", "1", ""], ["8 mA"])
TITLE = ["FV-1: readings", "", "", "", "", printed_mark(["FV-1: readings", "", ""], [""])]
BLANK = ["FV-1", "1", "8 mA", "", "", MARK]


def filled_in(of, merged=(), formulas=()):
    return filled_in_unless(of, dict(merged), dict(formulas))


def lines(*rows):
    return [(number, list(row), "") for number, row in enumerate(rows, start=1)]


def test_a_sheet_without_marks_is_read_as_before():
    assert filled_in(lines(["tag", "visit"], ["FV-1", "1"])) is None


def test_lines_as_printed_are_left_out_above_and_below_the_headings():
    kept = filled_in(lines(TITLE, HEAD, BLANK, BLANK))
    assert kept.lines == ((2, ["tag", "visit", "", "command_mA", "", ""], ""),)
    assert kept.left_blank == (1, 3, 4)


def test_nobody_misses_a_spare_row():
    spare = [*BLANK[:-1], printed_mark(["FV-1", "1", ""], ["8 mA"], spare=True)]
    assert filled_in(lines(HEAD, spare, BLANK)).left_blank == (3,)


def test_a_row_cleared_with_all_that_was_printed_there_is_told_by_its_mark():
    spare = printed_mark(["FV-1", "1", ""], ["8 mA"], spare=True)
    cleared = [["", "", "", "", "", MARK], ["", "", "8 mA", "", "=1", MARK], ["", "", "", "", "", spare]]
    kept = filled_in(lines(HEAD, *cleared, ["", "", "", "", "", MARK, "48.0"]))
    assert kept.left_blank == (2, 3)
    assert [number for number, _, _ in kept.lines] == [1, 5]


@pytest.mark.parametrize("written", [["", "", "48.0", "", "", MARK], ["", "", "8 mA", "", "48.0", MARK]])
def test_what_is_written_over_a_guide_of_a_cleared_row_is_not_lost(written):
    (_, kept) = filled_in(lines(HEAD, written)).lines
    assert "no longer as they were" in kept[2]


def test_what_stands_in_the_place_of_a_rule_without_its_formula_was_typed_there():
    rows = [["FV-1", "1", "8 mA", "8.01", text, MARK] for text in ("OUT: 3.1 %", "30 s", "", "0.1 %")]
    (_, *kept) = filled_in(lines(HEAD, *rows), formulas={2: {4}, 5: {4}}).lines
    assert ["under now" in fault for _, _, fault in kept] == [False, True, False, False]
    (_, *kept) = filled_in(lines(HEAD, *rows)).lines
    assert not any(fault for _, _, fault in kept)


def test_a_rule_without_a_stored_value_is_blank_still():
    assert len(filled_in(lines(HEAD, [*BLANK[:4], "=IF(D2=1,2,3)", MARK])).lines) == 1


@pytest.mark.parametrize(
    "changed",
    [
        ["FV-1", "1", "8 mA", "8.01", "", MARK],
        ["FV-2", "1", "8 mA", "", "", MARK],
        ["FV-1", "", "8 mA", "", "", MARK],
        ["FV-1", "1", "8 mA", "", "", ""],
        ["FV-1", "1", "8 mA", "", "", MARK, "22.5"],
        ["FV-1", "1", "8 mA", "", "22.5", MARK],
        ["FV-1", "1", "22.5", "", "", MARK],
    ],
    ids=["a value", "another tag", "a blank more", "no mark", "a cell beside it", "over a rule", "over a guide"],
)
def test_one_cell_other_than_printed_makes_it_a_row(changed):
    assert len(filled_in(lines(HEAD, changed)).lines) == 2


def test_what_is_written_over_a_guide_sets_the_row_aside():
    (_, kept) = filled_in(lines(HEAD, ["FV-1", "1", "22.5", "8.01", "", MARK])).lines
    assert "no longer as they were" in kept[2]


def test_a_guide_beside_a_row_without_its_mark_sets_the_row_aside_and_an_inserted_row_is_read():
    kept = filled_in(lines(HEAD, ["FV-1", "1", "22.5", "8.01", "", ""], ["FV-1", "1", "", "8.01", "", ""])).lines
    assert ["no longer as they were" in fault for _, _, fault in kept] == [False, True, False]


def test_a_row_of_which_a_merged_cell_hides_a_part_was_not_left_as_printed():
    kept = filled_in(lines(TITLE, HEAD, BLANK, ["", "", "", "", "", MARK]), {1: "merged", 3: "merged", 4: "merged"})
    assert [(number, fault) for number, _, fault in kept.lines] == [(2, ""), (3, "merged"), (4, "merged")]
    assert kept.left_blank == (1,)


def test_a_number_alone_in_the_place_of_a_rule_sets_the_row_aside():
    (_, kept) = filled_in(lines(HEAD, ["FV-1", "1", "8 mA", "8.01", "22,5", MARK])).lines
    assert "under now" in kept[2]


def test_guides_are_left_out_of_a_row_that_is_read():
    (_, kept) = filled_in(lines(HEAD, ["FV-1", "1", "8 mA", "8.01", "OUT: 3 %", MARK])).lines
    assert kept == (2, ["FV-1", "1", "", "8.01", "", ""], "")


def test_a_line_above_that_was_changed_stands_above_as_any():
    kept = filled_in(lines(["FV-1: readings", "8.01", *TITLE[2:]], HEAD))
    assert [number for number, _, _ in kept.lines] == [1, 2]
