"""The CSV files written."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.runs.outputs.csv_tables import CSV_ENCODING, csv_lines


def csv_text(columns, rows):
    return "".join(csv_lines(columns, rows))


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@a", "\t=1", "\r=1"])
def test_a_text_that_would_run_as_a_formula_gets_an_apostrophe(text):
    _, row = csv.reader(io.StringIO(csv_text(("value",), [{"value": text}]), newline=""))
    assert row == [f"'{text}"]


def test_a_negative_number_stays_a_number():
    assert csv_text(("value",), [{"value": -1.5}]) == "value\n-1.5\n"


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_read_back_is_the_same_number(value):
    assert float(csv_text(("value",), [{"value": value}]).split("\n")[1]) == value


def test_nothing_and_yes_and_no_have_their_own_writing():
    rows = [{"a": None, "b": True, "c": False, "d": 3}, {}]
    assert csv_text(("a", "b", "c", "d"), rows) == "a,b,c,d\n,yes,no,3\n,,,\n"


def test_lines_end_in_a_line_feed():
    assert csv_text(("x",), [{"x": "Ω, é"}]) == 'x\n"Ω, é"\n'


def test_a_file_begins_with_the_mark_by_which_a_spreadsheet_knows_utf8():
    assert "Ω".encode(CSV_ENCODING) == b"\xef\xbb\xbf" + "Ω".encode()
