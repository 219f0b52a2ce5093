"""Saves as editors make them, seen by the system's own notices."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from kit.runs.watching.changes import look_at_each_save

_LONGEST_S = 30.0


class Looks:
    """Counts how often the folder is looked at."""

    def __init__(self) -> None:
        self.count = 0
        self.again = False

    def __call__(self) -> bool:
        self.count += 1
        return self.again

    def wait_for(self, count: int) -> bool:
        end_s = time.monotonic() + _LONGEST_S
        while self.count < count and time.monotonic() < end_s:
            time.sleep(0.01)
        return self.count >= count


@pytest.fixture
def watched(tmp_path: Path) -> Iterator[tuple[Path, Looks]]:
    (tmp_path / "records").mkdir()
    (tmp_path / "records" / "strokes.csv").write_text("a", encoding="utf-8")
    stop, looks = threading.Event(), Looks()
    thread = threading.Thread(target=look_at_each_save, args=(tmp_path, looks, stop))
    thread.start()
    assert looks.wait_for(1)  # for what was saved before
    yield tmp_path, looks
    stop.set()
    thread.join(_LONGEST_S)
    assert not thread.is_alive()


def _written_over(path: Path) -> None:
    path.write_text("b", encoding="utf-8")


def _renamed_into_place(path: Path) -> None:
    apart = path.with_name(".strokes.csv.swp")
    apart.write_text("b", encoding="utf-8")
    apart.replace(path)


def _new_file(path: Path) -> None:
    (path.parent / "week12").mkdir()
    (path.parent / "week12" / "readings.csv").write_text("b", encoding="utf-8")


@pytest.mark.parametrize("save", [_written_over, _renamed_into_place, _new_file, Path.unlink])
def test_every_way_to_save_is_seen(watched: tuple[Path, Looks], save: Callable[[Path], object]):
    folder, looks = watched
    save(folder / "records" / "strokes.csv")
    assert looks.wait_for(2)


def test_lock_and_spare_files_are_no_save(watched: tuple[Path, Looks]):
    folder, looks = watched
    for name in ("~$strokes.xlsx", ".~lock.strokes.xlsx#", "strokes.csv~", ".strokes.csv.swp"):
        (folder / "records" / name).write_text("b", encoding="utf-8")
    time.sleep(1.2)  # twice as long as a look that was asked for again takes
    assert looks.count == 1


def test_what_could_not_be_done_is_tried_again_without_a_save(watched: tuple[Path, Looks]):
    folder, looks = watched
    looks.again = True
    _written_over(folder / "records" / "strokes.csv")
    assert looks.wait_for(4)
