"""Tables as they stand in a file: headings, header, blank rows, and which table a file is of."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from kit.basis.tables import RECORD_TABLES
from kit.records.files.kinds import table_of
from kit.records.files.parse import parse, read_bytes
from kit.records.files.raw import (
    FileBytes,
    UnreadableFileError,
    VanishedFileError,
    find_header,
    header_key,
    is_blank,
    known_headings,
)


@pytest.mark.parametrize("cell", ["Command_mA", " command_ma ", "\ufeffcommand_mA", "command_mA\u00a0"])
def test_a_heading_is_known_in_any_letter_case_and_between_blanks(cell: str) -> None:
    assert header_key(cell) == "command_ma"
    assert header_key(cell) in known_headings()


@pytest.mark.parametrize(("cells", "blank"), [([], True), (["", " \t"], True), (["", "x"], False)])
def test_a_row_of_blanks_is_blank(cells: list[str], blank: bool) -> None:
    assert is_blank(cells) == blank


@pytest.mark.parametrize(
    ("lines", "place"),
    [
        ([], None),
        ([[""], [" "]], None),
        ([["remark"], ["tag"]], 1),
        ([[""], ["remark"], ["else"]], 1),
        ([["TAG "], ["tag"]], 0),
        ([["tag", "T", "else"], ["tag", "visit"]], 1),
    ],
)
def test_the_header_is_the_line_that_names_most_columns(lines: list[list[str]], place: int | None) -> None:
    assert find_header(lines, frozenset({"tag", "visit"})) == place


@pytest.mark.parametrize("name", RECORD_TABLES)
def test_a_file_is_of_the_table_that_its_name_begins_with(name: str) -> None:
    assert table_of(f" {name.upper()}-week 3.csv") == name


def test_a_file_whose_name_begins_with_no_table_is_of_none() -> None:
    assert table_of("the-readings.csv") is None


def test_a_name_is_of_the_longest_table_that_it_begins_with(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("kit.records.files.kinds.RECORD_TABLES", ("loop", "loop_checks", "loops"))
    assert table_of("loop_checks.csv") == "loop_checks"


def test_a_files_bytes_come_with_their_hash(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_bytes(b"tag\n")
    file = read_bytes(tmp_path, "a.csv")
    assert (file.name, file.data, file.sha256) == ("a.csv", b"tag\n", hashlib.sha256(b"tag\n").hexdigest())


def test_a_file_that_is_gone_is_told_from_one_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(VanishedFileError, match="No such file"):
        read_bytes(tmp_path, "gone.csv")
    (tmp_path / "link.csv").symlink_to("nowhere")
    for name, words in (("link.csv", "points to a file that is not there"), (".", "It cannot be read: Is a directory")):
        with pytest.raises(UnreadableFileError, match=words) as caught:
            read_bytes(tmp_path, name)
        assert not isinstance(caught.value, VanishedFileError)


def test_the_end_of_a_files_name_says_how_it_is_read() -> None:
    assert parse(FileBytes("a.CSV", b"tag\nT\n")).tables[0].header == ("tag",)
    for name, words in (("a.XLSX", "no XLSX workbook"), ("a.Parquet", "no Parquet file"), ("a.ods", "Only .csv")):
        with pytest.raises(UnreadableFileError, match=words):
            parse(FileBytes(name, b"x"))
