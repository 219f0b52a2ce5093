"""CSV files: encoding, delimiter, header and lines."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.records.files.csv_files import decode, delimiter_of, read_csv
from kit.records.files.raw import RawTable, UnreadableFileError

KNOWN = frozenset({"tag", "visit", "setting", "value"})
TEXTS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\x00\r\n"), max_size=4)


def only(text: str | bytes) -> RawTable:
    (found,) = read_csv(text.encode() if isinstance(text, str) else text, KNOWN).tables
    return found


def cells(found: RawTable) -> list[list[str]]:
    return [column.tolist() for column in found.columns]


@given(
    rows=st.lists(st.lists(TEXTS, min_size=2, max_size=2), max_size=6),
    delimiter=st.sampled_from(",;\t"),
)
def test_quoted_cells_survive(rows: list[list[str]], delimiter: str) -> None:
    """Whatever stands between quotation marks; rows without anything in them are no rows."""
    lines = [delimiter.join('"' + cell.replace('"', '""') + '"' for cell in row) for row in [["tag", "visit"], *rows]]
    found = only("\n".join(lines))
    filled = [(at, row) for at, row in enumerate(rows, start=2) if any(cell and not cell.isspace() for cell in row)]
    assert cells(found) == [[row[place] for _, row in filled] for place in range(2)]
    assert found.rows.tolist() == [at for at, _ in filled]


@pytest.mark.parametrize(
    ("text", "delimiter"),
    [
        ("tag;visit\n1,5;2,5\n", ";"),
        ("tag,visit\n1;2,3\n", ","),
        ("a\tb\tc\n1,2,3,4\n", "\t"),
        ("a;b,c,d\n", ","),
        ('"Tag"; "Visit"\n', ";"),
        ("", ","),
        ("\n" * 3 + "tag\tvisit\n", "\t"),
    ],
)
def test_the_delimiter_finds_most_headings_and_then_most_cells(text: str, delimiter: str) -> None:
    assert delimiter_of(text, KNOWN) == delimiter


@pytest.mark.parametrize(("above", "found"), [(19, True), (20, False)])
def test_a_header_stands_within_twenty_lines(above: int, found: bool) -> None:
    text = "".join(f"remark {line}\n" for line in range(above)) + "tag\nT\n"
    assert only(text).header == (("tag",) if found else ("remark 0",))


def test_the_first_filled_line_is_the_header_where_none_is_known() -> None:
    found = only("\n,\na,b,,\n1,2,,\n")
    assert (found.header, cells(found), found.rows.tolist()) == (("a", "b"), [["1"], ["2"]], [4])


def test_more_cells_than_headings_are_a_fault_that_counts_them() -> None:
    found = only("tag,visit\nT,1,5\nT,1,,\nT\n")
    assert found.row_faults == {
        0: "3 cells under 2 headings. A decimal comma in a comma-separated file does this; write a decimal point."
    }
    assert cells(found) == [["T", "T", "T"], ["1", "1", ""]]


def test_a_lost_quotation_mark_names_its_line() -> None:
    found = only('tag,visit\nT,"1\nU,2\n')
    assert found.row_faults == {0: "A quotation mark without its partner. Remove it or add the other one."}
    assert (cells(found)[0], found.rows.tolist()) == (["T", "U"], [2, 3])


def test_which_files_commas_separate_is_handed_on() -> None:
    assert only("tag,visit\nT,1\n").comma_separated
    assert not only("tag;visit\nT;1\n").comma_separated


def test_a_header_without_rows_has_a_column_for_each_heading() -> None:
    found = only("tag,visit\n")
    assert (len(found), cells(found)) == (0, [[], []])


@pytest.mark.parametrize(
    ("data", "text", "remark"),
    [
        ("Größe".encode(), "Größe", ""),
        ("Größe".encode("utf-8-sig"), "Größe", ""),
        ("Größe".encode("utf-16"), "Größe", "UTF-16"),
        ("Größe".encode("cp1252"), "Größe", "cp1252"),
    ],
)
def test_an_encoding_other_than_utf8_is_said(data: bytes, text: str, remark: str) -> None:
    found, remarks = decode(data)
    assert found == text
    assert len(remarks) == bool(remark)
    assert all(remark in each and "Save it as CSV UTF-8" in each for each in remarks)


def test_what_is_neither_is_guessed_or_refused() -> None:
    text, (remark,) = decode("Größe 5 Grad, Ventil geöffnet".encode("cp1252") + b"\x81\x8d")
    assert "check accents" in remark
    assert "Ventil" in text
    with pytest.raises(UnreadableFileError, match="Its mark says UTF-16"):
        decode(b"\xff\xfea")
