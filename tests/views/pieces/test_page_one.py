"""The budget of lines of page one."""

from __future__ import annotations

import pytest

from kit.views.pieces.page_one import FEWEST, exceptions_that_fit, identity_lines, lines, table_lines
from kit.views.pieces.text_tables import Cell, table


def test_a_line_breaks_between_words_and_a_word_that_is_too_long_within() -> None:
    assert [lines(text, 100.0) for text in ("short", "two words that do not fit into one line", "x" * 40)] == [1, 2, 3]


def test_a_space_that_does_not_break_keeps_a_number_and_its_unit_together() -> None:
    assert lines("at rest after 1234\u00a0s", 84.0) == lines("at rest after", 84.0) + 1


def test_a_row_of_the_identity_is_as_high_as_its_highest_field() -> None:
    low = [("Site", "A"), ("Unit", "B"), ("Visit", "1")]
    high = [("Site", "a site with a name so long that it needs three lines of its field"), *low[1:]]
    assert identity_lines(high) - identity_lines(low) == 2
    assert identity_lines(low) == identity_lines(low[:1])


def test_small_print_counts_with_its_cell() -> None:
    plain, small = ([["a", "b"]], [[Cell("a", small="as long as a line of its own"), "b"]])
    assert table_lines(table("", ["", ""], small), (60.0, 60.0)) > table_lines(table("", ["", ""], plain), (60.0, 60.0))


@pytest.mark.parametrize("used", [105.0, 85.0, 82.0, 77.5, 72.0, -15.0])
def test_never_fewer_than_the_gravest_and_never_more_than_there_are(used: float) -> None:
    for count in range(12):
        assert min(count, FEWEST) <= exceptions_that_fit(["a failure"] * count, used) <= count


def test_more_room_never_shows_fewer() -> None:
    texts = ["short", "a reason " * 40, "short", "a reason " * 20, "short"] * 4
    shown = [exceptions_that_fit(texts, 85 - left / 2) for left in range(200)]
    assert shown == sorted(shown)
    assert shown[-1] == len(texts)
