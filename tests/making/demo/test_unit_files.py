"""The committed demo unit is byte for byte what its maker makes."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pyarrow.parquet as pq
import pytest

from tests.making.demo.unit_files import COMMITTED, demo_files

BY_HAND = ["instruments.csv", "unit.toml"]


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def written() -> dict[str, bytes]:
    return demo_files()


def test_making_twice_gives_the_same_bytes(written: dict[str, bytes]) -> None:
    assert demo_files() == written


def test_no_file_of_the_committed_unit_is_missing_or_left_over(written: dict[str, bytes]) -> None:
    assert sorted([*written, *BY_HAND]) == sorted(contents(COMMITTED))


def test_the_committed_text_files_are_what_is_written(written: dict[str, bytes]) -> None:
    """Renew them with ``python -m tests.making.demo`` after a change of the stories."""
    committed = contents(COMMITTED)
    names = [name for name in written if name.endswith(".csv")]
    assert len(names) > 20
    assert {name: written[name] for name in names} == {name: committed[name] for name in names}


def test_the_committed_workbook_is_what_is_written(written: dict[str, bytes]) -> None:
    """Bytes where the workbook is written by the standard library's XML, cells where lxml steps in."""
    (name,) = (name for name in written if name.endswith(".xlsx"))
    committed = contents(COMMITTED)[name]
    assert _cells(written[name]) == _cells(committed)
    assert openpyxl.LXML or written[name] == committed


def test_the_committed_parquet_files_are_what_is_written(written: dict[str, bytes]) -> None:
    """Bytes where the same release of pyarrow wrote both (a Parquet file names its writer), values always."""
    committed = contents(COMMITTED)
    names = [name for name in written if name.endswith(".parquet")]
    assert len(names) == 9
    for name in names:
        new, old = io.BytesIO(written[name]), io.BytesIO(committed[name])
        assert pq.read_table(new).equals(pq.read_table(old)), name
        same_writer = pq.read_metadata(new).created_by == pq.read_metadata(old).created_by
        assert not same_writer or written[name] == committed[name], name


def test_the_unit_stays_small() -> None:
    """Every installation carries it."""
    committed = contents(COMMITTED)
    logs = sum(len(content) for name, content in committed.items() if name.startswith("logs/"))
    assert logs < 3_000_000
    assert sum(map(len, committed.values())) - logs < 300_000


def test_the_unit_says_that_it_is_invented() -> None:
    register = (COMMITTED / "unit.toml").read_text("utf-8")
    assert 'title = "Invented' in register
    assert 'notice = "Invented' in register


def _cells(workbook: bytes) -> dict[str, list[tuple[object, ...]]]:
    book = openpyxl.load_workbook(io.BytesIO(workbook))
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book}
