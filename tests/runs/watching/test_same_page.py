"""The page after a save is byte for byte the one that a fresh report makes, whatever was remembered for it."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from kit.demo import lay_down_demo
from kit.records import read_unit, tag_records, to_slice
from kit.runs.engines import prepared
from kit.runs.notebook.execute import run_tag
from kit.runs.notebook.source import packaged_source
from kit.runs.watching.bench import Bench
from tests.benchmarks.watch import SAVED, changed


@pytest.mark.parametrize("tag", SAVED)
def test_a_watched_page_is_that_of_a_fresh_report(tmp_path: Path, tag: str) -> None:
    """Saves of two tables in turn, one of them of another tag, with answers and flags in the unit."""
    unit, outputs, kept = tmp_path / "lime-works", tmp_path / "outputs", tmp_path / "kept"
    lay_down_demo(unit)
    kept.mkdir()
    with prepared("fast"):
        bench = Bench(unit, outputs, tag, packaged_source(), 300, "fast", lambda _: None, threading.Event(), kept)
        bench.begin()
        for count, saved in enumerate([tag, *SAVED, tag]):
            path, column = unit / SAVED[saved][0], SAVED[saved][1]
            path.write_text(changed(path, column, saved, count), encoding="utf-8", newline="")
            assert bench.look() is False
        fresh = tag_records(read_unit(unit, recordings_of=tag), tag)
        wanted = run_tag(tag, to_slice(fresh), "inputs/lime-works")
    folder = outputs / "tags" / tag
    assert (folder / "report.html").read_bytes() == wanted.html
    assert (folder / "report.ipynb").read_bytes() == wanted.ipynb
    assert (folder / "result.json").read_bytes() == wanted.result
