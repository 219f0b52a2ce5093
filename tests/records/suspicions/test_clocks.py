"""Times that no clock ran through."""

from __future__ import annotations

import pytest

from kit.records.suspicions.clocks import find_wrong_times
from tests.records.suspicions.frames import seen

VISIT = {"date": "2026-03-04"}


def told(*times: str, visit=VISIT) -> list[str]:
    strokes = [{"direction": "open", "time_s": 30.0, "at": each} for each in times]
    found = find_wrong_times(seen(visits=[visit], strokes=strokes))
    assert all(each.scope is None and each.column == "at" for each in found)
    return [each.problem for each in found]


@pytest.mark.parametrize(
    ("back_to", "words"),
    [("07:04", "an hour"), ("08:01", ""), ("06:30", ""), ("07:30", ""), ("08:04", "")],
)
def test_a_step_back_by_what_clocks_are_set_wrong_by_is_asked_about(back_to, words) -> None:
    texts = told(*(f"2026-03-04T{each}" for each in ("08:01", "08:02", "08:03", back_to)))
    assert [words in each for each in texts] == ([True] if words else [])


def test_rows_that_step_back_often_are_sorted_otherwise() -> None:
    assert told(*(f"2026-03-04T{each}" for each in ("09:00", "08:00", "09:00", "08:00", "09:00"))) == []


@pytest.mark.parametrize(
    ("day", "words"),
    [
        ("2026-03-04", ""),
        ("2026-03-03", ""),
        ("2026-03-18", ""),
        ("2026-03-19", "Which one is right?"),
        ("2026-03-02", "Which one is right?"),
        ("2026-04-03", "day and month exchanged"),
        ("2025-03-04", "Is the year right?"),
        ("2022-03-03", "day counts of two spreadsheets"),
    ],
)
def test_a_row_is_of_the_days_of_its_visit(day, words) -> None:
    texts = told(f"{day}T08:00", f"{day}T08:01")
    assert [words in each for each in texts] == ([True] if words else [])


def test_a_visit_without_a_date_and_rows_without_times_tell_nothing() -> None:
    assert told("2020-01-01T08:00", visit={"date": ""}) == []
    assert told("", "") == []
    assert find_wrong_times(seen()) == []
