"""Words, dates and times as people type them."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.records.cells.typed_texts import read_dates, read_keys, read_texts, read_times, read_words
from kit.records.files.raw import as_texts


@pytest.mark.parametrize("cell", ["as_left", "As left", "AS-LEFT", " as left "])
def test_words_are_known_in_any_case_and_spacing(cell: str) -> None:
    assert read_words(as_texts([cell]), ("as_found", "as_left")).values.tolist() == ["as_left"]


def test_an_unknown_word_is_a_fault_that_names_the_nearest() -> None:
    column = read_words(as_texts(["", "upp"]), ("up", "down"))
    assert column.values.tolist() == ["", ""]
    assert "Was up meant?" in column.faults[1]


def test_does_not_apply_is_an_answer_where_the_list_has_it() -> None:
    assert read_words(as_texts(["n/a", "N.A.", "na"]), ("yes", "no", "na")).values.tolist() == ["na"] * 3


@pytest.mark.parametrize(
    "cell",
    ["not ok", "Not-OK", "not in order", "NOK", "n.ok", "N.O.K.", "nok: leak", "fail", "no, loose", "bad"],
)
def test_what_clearly_says_not_ok_is_a_no(cell: str) -> None:
    column = read_words(as_texts([cell]), ("yes", "no", "na"))
    assert (column.values.tolist(), column.faults) == (["no"], {})


@pytest.mark.parametrize("cell", ["?", "x?", "ok?", "ok", "no leak", "nokia", "good"])
def test_what_does_not_clearly_answer_a_precheck_is_a_fault(cell: str) -> None:
    column = read_words(as_texts([cell]), ("yes", "no", "na"))
    assert column.values.tolist() == [""]
    assert list(column.faults) == [0]


@pytest.mark.parametrize("words", [("yes", "no"), ("open", "close")])
def test_not_ok_is_no_answer_outside_the_prechecks(words: tuple[str, ...]) -> None:
    assert list(read_words(as_texts(["not ok"]), words).faults) == [0]


@pytest.mark.parametrize(
    ("cell", "text"), [("2026-03-04", "2026-03-04"), ("2026-03-04T00:00:00", "2026-03-04"), ("-", "")]
)
def test_a_date_is_iso_8601(cell: str, text: str) -> None:
    column = read_dates(as_texts([cell]))
    assert (column.values.tolist(), column.faults) == ([text], {})


@pytest.mark.parametrize(
    ("cell", "reason"),
    [
        ("03/04/2026", "which is the day"),
        ("3.4.26", "which is the day"),
        ("45231", "day count"),
        ("2026-02-30", "not a date"),
        ("1926-03-04", "between 1990 and 2100"),
        ("soon", "not a date"),
        ("?", "says nothing"),
        ("2026-03-1?", "says nothing"),
    ],
)
def test_another_date_is_a_fault_with_its_reason(cell: str, reason: str) -> None:
    column = read_dates(as_texts([cell]))
    assert column.values.tolist() == [""]
    assert reason in column.faults[0]


def test_a_time_keeps_its_hour_and_its_zone() -> None:
    cells = ["2026-03-04 10:15", "2026-03-04T10:15:00+02:00", "2026-03-04"]
    wanted = ["2026-03-04T10:15:00", "2026-03-04T10:15:00+02:00", "2026-03-04"]
    assert read_times(as_texts(cells)).values.tolist() == wanted


def test_a_number_in_a_text_column_reads_as_it_is_written() -> None:
    """A Parquet file may hold visits as numbers."""
    assert read_keys(np.array([1.0, np.nan, 2.5])).values.tolist() == ["1", "", "2.5"]


@pytest.mark.parametrize(("year", "known"), [(1989, False), (1990, True), (2100, True), (2101, False)])
def test_a_year_lies_between_1990_and_2100(year: int, known: bool) -> None:
    column = read_dates(as_texts([f"{year}-06-01"]))
    assert bool(column.values[0]) == known
    assert bool(column.faults) != known


@given(moment=st.datetimes(min_value=datetime(1990, 1, 1), max_value=datetime(2100, 12, 31)))
def test_a_moment_survives(moment: datetime) -> None:
    text = moment.isoformat()
    assert read_times(as_texts([text])).values.tolist() == [text]
    assert read_dates(as_texts([text])).values.tolist() == [moment.date().isoformat()]


def test_a_date_is_told_how_to_be_written() -> None:
    column = read_dates(as_texts(["45231.5", "1.2.2026", "tomorrow", "2026-13-01"]))
    assert all(fault.endswith("Write it as 2026-04-30.") for fault in column.faults.values())
    assert sorted(column.faults) == [0, 1, 2, 3]
    assert "day count" in column.faults[0]
    assert "is not a date" in column.faults[3]


def test_free_texts_keep_what_they_say() -> None:
    assert read_texts(as_texts([" n/a ", "-", "a  b", "\ufeffx"])).values.tolist() == ["n/a", "-", "a  b", "x"]


@pytest.mark.parametrize("cell", ["-", "n/a", "N.A.", " ", "none", "\u2013"])
def test_a_placeholder_is_no_key_and_no_word(cell: str) -> None:
    assert read_keys(as_texts([cell])).values.tolist() == [""]
    column = read_words(as_texts([cell]), ("up", "down"))
    assert (column.values.tolist(), column.faults) == ([""], {})


def test_a_word_far_from_any_is_a_fault_with_the_list_and_no_hint() -> None:
    column = read_words(as_texts(["sideways"]), ("up", "down"))
    assert column.faults == {0: "'sideways' is not one of up, down."}


def test_each_row_with_a_faulty_cell_is_named() -> None:
    column = read_words(as_texts(["up", "x", "down", "x"]), ("up", "down"))
    assert column.values.tolist() == ["up", "", "down", ""]
    assert sorted(column.faults) == [1, 3]


def test_a_column_without_rows_is_read() -> None:
    assert len(read_words(as_texts([]), ("up",)).values) == 0
