"""The demo unit is laid down byte for byte as it is committed, and never over anything."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl
import pyarrow.parquet as pq
import pytest

from kit.demo import DEMO_UNIT, DemoFolderError
from kit.demo.write import write_demo

CHECKOUT = Path(__file__).resolve().parents[2]
COMMITTED = CHECKOUT / "inputs" / DEMO_UNIT


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    folder = tmp_path_factory.mktemp("demo") / "unit"
    write_demo(folder)
    return contents(folder)


def test_writing_twice_gives_the_same_bytes(written: dict[str, bytes], tmp_path: Path) -> None:
    write_demo(tmp_path / "again")
    assert contents(tmp_path / "again") == written


def test_no_file_of_the_committed_unit_is_missing_or_left_over(written: dict[str, bytes]) -> None:
    assert sorted(written) == sorted(contents(COMMITTED))


def test_the_committed_text_files_are_what_is_written(written: dict[str, bytes]) -> None:
    """Renew them with ``python -m kit.demo`` after a change of the stories."""
    committed = contents(COMMITTED)
    names = [name for name in written if name.endswith((".csv", ".toml"))]
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


def test_the_unit_stays_small(written: dict[str, bytes]) -> None:
    logs = sum(len(content) for name, content in written.items() if name.startswith("logs/"))
    assert logs < 3_000_000
    assert sum(map(len, written.values())) - logs < 300_000


def test_the_unit_says_that_it_is_invented(written: dict[str, bytes]) -> None:
    assert b'title = "Invented' in written["unit.toml"]
    assert b'notice = "Invented' in written["unit.toml"]


def test_an_empty_folder_is_filled(tmp_path: Path) -> None:
    write_demo(tmp_path)
    assert (tmp_path / "unit.toml").is_file()


def test_a_folder_that_holds_something_is_refused_and_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("kept")
    with pytest.raises(DemoFolderError, match=r"is not empty; the demo unit needs a new or an empty folder"):
        write_demo(tmp_path)
    assert contents(tmp_path) == {"mine.txt": b"kept"}


def test_a_file_in_the_folder_s_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "unit").write_text("kept")
    with pytest.raises(DemoFolderError, match=r"is a file"):
        write_demo(tmp_path / "unit")


def _cells(workbook: bytes) -> dict[str, list[tuple[object, ...]]]:
    book = openpyxl.load_workbook(io.BytesIO(workbook))
    return {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in book}
