"""Revisions that count on, and changes in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.basis.issues import Change, Issue, TagIssues, becomes, change_words, next_revision, result_changes, result_mark

ROW = {"visit": "1", "stage": "as_left", "check": "zero_error", "detail": "", "verdict": "pass", "value": 0.1}
LIMITS = {"lower_limit": -1.0, "upper_limit": 1.0, "expanded_uncertainty": 0.05, "limit_source": "S"}


def letters(count: int) -> str:
    """The count-th revision in letters, worked out as a spreadsheet numbers its columns."""
    name = ""
    while count:
        count, digit = divmod(count - 1, 26)
        name = chr(ord("A") + digit) + name
    return name


@given(st.integers(1, 20_000))
def test_letters_count_on_as_the_columns_of_a_spreadsheet(count: int):
    assert next_revision(letters(count)) == letters(count + 1)


@given(st.integers(0, 10**6), st.text("PR. -", max_size=3))
def test_numbers_count_on_and_what_stands_before_them_stays(count: int, before: str):
    assert next_revision(f"{before}{count}") == f"{before}{count + 1}"


def test_leading_zeros_stay_as_long_as_there_is_room():
    assert [next_revision(each) for each in ("00", "09", "99")] == ["01", "10", "100"]


@pytest.mark.parametrize("last", ["A*", "", "1-"])
def test_a_revision_that_ends_in_neither_is_refused(last: str):
    with pytest.raises(ValueError, match="ends neither in a letter nor in a digit"):
        next_revision(last)


def test_the_first_revision_is_that_of_unit_toml_and_later_ones_follow_the_last_issue():
    issue = Issue("A", "C", "2026-01-01", "B", "R", "pass", "", "", "", "1")
    assert (becomes(TagIssues(), ""), becomes(TagIssues(), "0")) == ("A", "0")
    assert becomes(TagIssues((issue,)), "0") == "D"


def test_changes_are_counted_by_kind_and_kinds_have_their_plural():
    kinds = ("fail test", "switch", "entry of the register", "key of unit.toml", "limit as applied")
    assert change_words([Change(kind, "", "", "") for kind in kinds for _ in range(2)]) == (
        "2 fail tests, 2 switches, 2 entries of the register, 2 keys of unit.toml, 2 limits as applied"
    )


@pytest.mark.parametrize(
    ("changed", "kind", "before", "now"),
    [
        ({"verdict": "fail", "value": 2.0}, "verdict", "pass", "fail"),
        ({"upper_limit": 2.0}, "limit as applied", "-1 to 1 (S)", "-1 to 2 (S)"),
        ({"limit_source": "T"}, "limit as applied", "-1 to 1 (S)", "-1 to 1 (T)"),
        ({"value": 0.2}, "value", "0.1 ± 0.05", "0.2 ± 0.05"),
        ({"expanded_uncertainty": None}, "value", "0.1 ± 0.05", "0.1"),
    ],
)
def test_a_result_that_moved_says_in_what(changed, kind: str, before: str, now: str):
    marks = [[result_mark({**ROW, **LIMITS, **each})] for each in ({}, changed)]
    assert result_changes(*marks) == (Change(kind, "zero error, visit 1 as left", before, now),)


def test_a_result_that_came_or_went_is_a_verdict():
    mark = result_mark({**ROW, **LIMITS})
    assert [(each.before, each.now) for each in result_changes([], [mark])] == [("", "pass")]
    assert [(each.before, each.now) for each in result_changes([mark], [])] == [("pass", "")]


def test_the_last_bits_of_a_number_are_no_change():
    marks = [[result_mark({**ROW, "value": value})] for value in (0.1 + 0.2, 0.3)]
    assert result_changes(*marks) == ()
    assert result_mark({**ROW, "value": float("nan")}) == result_mark({**ROW, "value": None})
