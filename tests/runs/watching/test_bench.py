"""Which tags' pages a save makes again, and what is told where none can be made."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

from kit.records import UnitError
from kit.runs.batch import run_batch
from kit.runs.notebook.execute import TagRun
from kit.runs.notebook.source import packaged_source
from kit.runs.outputs.lock import locked
from kit.runs.watching.bench import Bench
from kit.runs.watching.news import News
from tests.runs.stand_in import Runner, edit, snapshot

_slower = edit("records/strokes.csv", "20.1", "20.2")


@pytest.fixture
def bench_runner(runner: Runner, monkeypatch: pytest.MonkeyPatch) -> Runner:
    monkeypatch.setattr("kit.runs.watching.bench.run_tag", runner.tag)
    return runner


def _bench(unit: Path, outputs: Path, tag: str | None) -> tuple[Bench, list[News]]:
    told: list[News] = []
    bench = Bench(unit, outputs, tag, packaged_source(), 60, "plain", told.append, threading.Event())
    bench.begin()
    return bench, told


def test_a_save_makes_the_pages_of_its_own_tags_alone(small_unit: Path, outputs: Path, bench_runner: Runner):
    bench, told = _bench(small_unit, outputs, None)
    bench_runner.ran.clear()
    assert bench.look() is False
    assert bench_runner.ran == []
    _slower(small_unit)
    bench.look()
    assert bench_runner.ran == ["HV-1"]
    assert [(news.page, news.line) for news in told] == [("tags/HV-1/report.html", "HV-1: Pass: Slow.")]
    assert (outputs / told[0].page).is_file()


def test_a_row_that_moves_other_tags_rows_makes_no_page_of_theirs(
    small_unit: Path, outputs: Path, bench_runner: Runner
):
    edit("records/strokes.csv", "HV/2,1,as_left,close,quick\n", "")(small_unit)  # told with its row on the page
    bench, _ = _bench(small_unit, outputs, None)
    bench_runner.ran.clear()
    edit("records/strokes.csv", "HV-1,1,as_left,open", "HV-1,1,as_left,open,20.3\nHV-1,1,as_left,open")(small_unit)
    bench.look()
    assert bench_runner.ran == ["HV-1"]


@pytest.mark.parametrize("marginal", [True, False])
def test_a_new_instrument_makes_the_watched_page_where_it_may_offer_one(
    small_unit: Path, outputs: Path, bench_runner: Runner, marginal: bool
):
    bench_runner.marginal = {"HV-1"} if marginal else set()
    bench, _ = _bench(small_unit, outputs, "HV-1")
    bench_runner.ran.clear()
    bought = "S-2,Stopwatch,s,0,600,0.01,0.01,C-2,2026-01-05,2027-01-05"
    edit("instruments.csv", "S-1,", f"{bought}\nS-1,")(small_unit)
    bench.look()
    assert bench_runner.ran == (["HV-1"] if marginal else [])


def test_the_page_of_a_watched_tag_is_made_at_once_and_no_other_later(
    small_unit: Path, outputs: Path, bench_runner: Runner
):
    bench, told = _bench(small_unit, outputs, "HV/2")
    assert [news.page for news in told] == ["tags/HV%2F2/report.html"]
    _slower(small_unit)
    bench.look()
    assert bench_runner.ran == ["HV/2"]
    edit("records/strokes.csv", "31.0", "21.0")(small_unit)
    bench.look()
    assert bench_runner.ran == ["HV/2", "HV/2"]


def test_what_a_watched_page_holds_is_what_a_batch_makes(small_unit: Path, outputs: Path, bench_runner: Runner):
    bench, _ = _bench(small_unit, outputs, None)
    _slower(small_unit)
    bench.look()
    run_batch(small_unit, outputs)
    after = snapshot(outputs)
    run_batch(small_unit, outputs.with_name("apart"))
    apart = snapshot(outputs.with_name("apart"))
    assert {name: data for name, data in after.items() if not name.startswith("superseded/")} == apart


@pytest.mark.parametrize(
    ("file", "half_written", "words"),
    [
        ("unit.toml", b'title = "half', "unit.toml"),
        ("tags.csv", b"", "tags.csv"),
        ("records/strokes.csv", b"", "records/strokes.csv: The file is empty."),
        ("records/strokes.xlsx", b"PK\x03\x04 half", "records/strokes.xlsx"),
    ],
)
def test_what_cannot_be_read_is_told_once_and_the_last_page_stays(
    small_unit: Path, outputs: Path, bench_runner: Runner, file: str, half_written: bytes, words: str
):
    path = small_unit / file
    if path.suffix == ".xlsx":
        _as_workbook(small_unit / "records" / "strokes.csv", path)
    bench, told = _bench(small_unit, outputs, "HV-1")
    before, whole = snapshot(outputs), path.read_bytes()
    told.clear()
    path.write_bytes(half_written)
    bench.look()
    bench.look()
    assert snapshot(outputs) == before
    (news,) = told
    assert (news.page, news.stays, words in news.line, "\n" in news.line) == ("", True, True, False)
    path.write_bytes(whole)
    bench.look()
    assert [(each.line, each.stays) for each in told[1:]] == [
        ("Everything can be read again, and nothing of it changed.", False)
    ]


def test_a_half_typed_cell_is_told_in_one_line_with_the_page_that_says_so(
    small_unit: Path, outputs: Path, bench_runner: Runner
):
    bench, told = _bench(small_unit, outputs, "HV-1")
    told.clear()
    edit("records/strokes.csv", "20.1", "2O.")(small_unit)
    bench.look()
    (news,) = told
    assert news.page
    assert news.opened.startswith("Unanswered: records/strokes.csv row 2, time_s:")
    _edit_back = edit("records/strokes.csv", "2O.", "20.1")
    _edit_back(small_unit)
    bench.look()
    assert told[1].opened == ""


def test_a_notebook_that_fails_leaves_the_last_page_and_is_tried_again(
    small_unit: Path, outputs: Path, bench_runner: Runner
):
    bench, told = _bench(small_unit, outputs, "HV-1")
    before = snapshot(outputs)
    bench_runner.fail = {"HV-1"}
    _slower(small_unit)
    bench.look()
    assert snapshot(outputs) == before
    assert (told[-1].line, told[-1].stays) == ("HV-1: ValueError: no", True)
    bench_runner.fail = set()
    bench.look()
    assert told[-1].page == "tags/HV-1/report.html"


def test_while_another_run_writes_it_is_told_once_and_done_later(small_unit: Path, outputs: Path, bench_runner: Runner):
    bench, told = _bench(small_unit, outputs, "HV-1")
    told.clear()
    _slower(small_unit)
    with locked(outputs):
        assert bench.look() is True
        assert bench.look() is True
    assert ["writing there" in news.line for news in told] == [True]
    assert bench.look() is False
    assert told[-1].page == "tags/HV-1/report.html"


def test_once_it_is_to_end_no_further_page_is_begun_and_what_was_made_is_on_record(
    small_unit: Path, outputs: Path, bench_runner: Runner, monkeypatch: pytest.MonkeyPatch
):
    bench, _ = _bench(small_unit, outputs, None)
    made = bench_runner.tag

    def ended_meanwhile(*arguments: Any, **further: Any) -> TagRun:
        stop.set()
        return made(*arguments, **further)

    assert isinstance(bench.stop, threading.Event)
    stop = bench.stop
    monkeypatch.setattr("kit.runs.watching.bench.run_tag", ended_meanwhile)
    edit("unit.toml", "Invented test unit", "Another title")(small_unit)
    bench_runner.ran.clear()
    bench.look()
    assert len(bench_runner.ran) == 1
    assert not (outputs / ".running").exists()


def test_an_unknown_tag_ends_it_before_anything_is_watched(small_unit: Path, outputs: Path, bench_runner: Runner):
    with pytest.raises(UnitError, match="'HV-9' is not in the register"):
        _bench(small_unit, outputs, "HV-9")


def _as_workbook(csv: Path, xlsx: Path) -> None:
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "strokes"
    for line in csv.read_text(encoding="utf-8").splitlines():
        cells = line.split(",")
        sheet.append([*cells[:4], float(cells[4]) if cells[4][0].isdigit() else cells[4]])
    book.save(xlsx)
    csv.unlink()
