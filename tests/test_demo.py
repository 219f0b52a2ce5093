"""The demo unit is laid down as it comes with the package, and never over anything."""

from __future__ import annotations

from pathlib import Path

import pytest

from kit import demo
from kit.demo import DEMO_UNIT, DemoFolderError, lay_down_demo

COMMITTED = Path(__file__).resolve().parents[1] / "inputs" / DEMO_UNIT


def contents(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_it_is_laid_down_byte_for_byte_as_committed(tmp_path: Path) -> None:
    lay_down_demo(tmp_path / "new" / "unit")
    assert contents(tmp_path / "new" / "unit") == contents(COMMITTED)


def test_an_installed_package_lays_down_what_it_carries(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    carried = tmp_path / "kit" / "demo_unit"
    (carried / "logs" / "FV-1").mkdir(parents=True)
    (carried / "unit.toml").write_bytes(b"title\r\n")
    (carried / "logs" / "FV-1" / "1.as_left.csv").write_bytes(b"time_s\n")
    monkeypatch.setattr(demo, "__file__", str(tmp_path / "kit" / "demo.py"))
    lay_down_demo(tmp_path / "unit")
    assert contents(tmp_path / "unit") == contents(carried)


def test_a_package_without_the_unit_says_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(demo, "__file__", str(tmp_path / "kit" / "demo.py"))
    with pytest.raises(DemoFolderError, match=r"lime-works: not found beside the package. Install strokebook again"):
        lay_down_demo(tmp_path / "unit")
    assert not (tmp_path / "unit").exists()


def test_an_empty_folder_is_filled(tmp_path: Path) -> None:
    lay_down_demo(tmp_path)
    assert (tmp_path / "unit.toml").is_file()


def test_a_folder_that_holds_something_is_refused_and_left_alone(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("kept")
    with pytest.raises(DemoFolderError, match=r"is not empty; the demo unit needs a new or an empty folder"):
        lay_down_demo(tmp_path)
    assert contents(tmp_path) == {"mine.txt": b"kept"}


def test_a_file_in_the_folder_s_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "unit").write_text("kept")
    with pytest.raises(DemoFolderError, match=r"is a file"):
        lay_down_demo(tmp_path / "unit")
