"""Which tags a batch runs again: those whose report would differ, and no others. Content decides."""

from __future__ import annotations

import csv
import dataclasses
import json
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from kit.runs import made_by
from kit.runs.batch import run_batch, run_report
from kit.runs.errors import RunError
from kit.runs.notebook.source import Source, packaged_source
from kit.runs.outputs.store import files_below
from kit.runs.outputs.verify import Difference, verify_outputs
from kit.runs.done import TagDone
from kit.runs.notebook.execute import TagRun
from kit.runs.outputs import dossier, standing
from tests.runs.stand_in import ALL, Runner, StopError, change_a_stroke, edit, rows_of, snapshot, touch_everything


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        pytest.param(edit("records/strokes.csv", "20.1", "20.2"), ("HV-1",), id="own row"),
        pytest.param(edit("records/strokes.csv", "quick", "quicker"), ("HV/2",), id="own row set aside"),
        pytest.param(edit("records/visits.csv", "HV/2,1,2026-03-02", "HV/2,1,2026-03-03"), ("HV/2",), id="own visit"),
        pytest.param(edit("tags.csv", "Invented gas", "Invented steam"), ("HV-3",), id="own register row"),
        pytest.param(edit("instruments.csv", "0.1,0.1,C-1", "0.2,0.1,C-1"), ("HV-1", "HV/2"), id="own instrument"),
        pytest.param(edit("unit.toml", "of_nominal_pct = 10", "of_nominal_pct = 11"), ALL, id="own limits"),
        pytest.param(edit("unit.toml", "Invented test unit", "Invented other unit"), ALL, id="the unit's title"),
        pytest.param(
            lambda unit: (unit / "records/strokes.csv").rename(unit / "records/strokes-1.csv"),
            ("HV-1", "HV/2"),
            id="renamed",
        ),
    ],
)
def test_a_change_reruns_the_tags_that_it_touches(small_unit: Path, outputs: Path, runner: Runner, change, expected):
    run_batch(small_unit, outputs)
    change(small_unit)
    assert run_batch(small_unit, outputs).ran == expected
    assert run_batch(small_unit, outputs).nothing_to_do


@pytest.mark.parametrize(
    "change",
    [
        pytest.param(
            edit(
                "unit.toml",
                "[limits.on_off]",
                '[limits.other]\ninaccuracy = { plus_minus = 1, source = "x" }\n[limits.on_off]',
            ),
            id="limits of others",
        ),
        pytest.param(edit("unit.toml", "title", "# remark\ntitle"), id="a remark in unit.toml"),
        pytest.param(edit("records/strokes.csv", "HV-1,", "\nHV-1,"), id="rows moved within their file"),
        pytest.param(
            edit("instruments.csv", "S-1,", "S-2,Spare,s,0,600,0.1,0.1,C-9,2026-01-05,2027-01-05\nS-1,"),
            id="instrument unused",
        ),
    ],
)
def test_a_change_that_no_report_shows_reruns_no_tag(small_unit: Path, outputs: Path, runner: Runner, change):
    edit("records/strokes.csv", "HV/2,1,as_left,close,quick\n", "")(small_unit)  # a problem shows its row's number
    run_batch(small_unit, outputs)
    change(small_unit)
    report = run_batch(small_unit, outputs)
    assert (report.ran, report.nothing_to_do) == ((), False)
    assert runner.pages == 2


def test_a_row_that_a_report_names_reruns_its_tag_when_it_moves(small_unit: Path, outputs: Path, runner: Runner):
    """Rows of another tag above a flagged one: its number in problems.csv would be the old one."""
    edit("records/strokes.csv", "HV/2,1,as_left,close,quick\n", "")(small_unit)
    runner.flagged = {"HV/2": 4}
    run_batch(small_unit, outputs)
    assert run_batch(small_unit, outputs).nothing_to_do
    edit("tags.csv", "Invented gas", "Invented steam")(small_unit)
    assert run_batch(small_unit, outputs).ran == ("HV-3",)
    edit("records/strokes.csv", "HV-1,", "HV-1,1,as_left,open,20.2\nHV-1,")(small_unit)
    runner.flagged = {"HV/2": 5}
    assert run_batch(small_unit, outputs).ran == ("HV-1", "HV/2")
    assert [each["row"] for each in rows_of(outputs / "problems.csv")] == ["5"]
    assert run_batch(small_unit, outputs).nothing_to_do


@pytest.mark.parametrize(("tag", "ran"), [("HV-l", ("HV-1",)), ("XX-9", ("HV-1", "HV/2"))])
def test_a_row_of_an_unknown_tag_reruns_the_tags_that_it_could_be_of(
    small_unit: Path, outputs: Path, runner: Runner, tag: str, ran: tuple[str, ...]
):
    run_batch(small_unit, outputs)
    with (small_unit / "records" / "strokes.csv").open("a", encoding="utf-8") as file:
        file.write(f"{tag},1,as_left,open,20.3\n")
    assert run_batch(small_unit, outputs).ran == ran
    assert run_batch(small_unit, outputs).nothing_to_do


def test_time_stamps_decide_nothing(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    touch_everything(small_unit)
    touch_everything(outputs)
    assert run_batch(small_unit, outputs).nothing_to_do


def test_with_nothing_to_do_no_record_is_read(small_unit: Path, outputs: Path, runner: Runner, monkeypatch):
    first = run_batch(small_unit, outputs)
    monkeypatch.setattr("kit.runs.batch.read_unit", None)
    again = run_batch(small_unit, outputs)
    assert (again.nothing_to_do, again.unchanged, dict(again.verdicts)) == (True, 3, dict(first.verdicts))


@pytest.mark.usefixtures("as_it_is")
def test_another_package_reruns_every_tag(small_unit: Path, outputs: Path, runner: Runner, monkeypatch):
    run_batch(small_unit, outputs)
    monkeypatch.setattr(made_by, "kit_fingerprint", lambda *_: "0" * 64)
    monkeypatch.setattr(standing, "made_by", lambda _: "0" * 64)
    assert run_batch(small_unit, outputs).ran == ALL


@pytest.mark.parametrize(
    ("name", "old", "new", "ran"),
    [
        pytest.param("tag_report.ipynb", b"sections.history", b"sections.readings", ALL, id="another cell"),
        pytest.param("plant.ipynb", b"", b"", ALL, id="another name, which stands on the page"),
        pytest.param("tag_report.ipynb", b"FV-102", b"FV-125", (), id="the tag that was looked at last"),
        pytest.param("tag_report.ipynb", b'"execution_count": null', b'"execution_count": 7', (), id="a run"),
    ],
)
def test_another_notebook_reruns_every_tag_and_the_same_one_saved_after_a_run_does_not(
    small_unit: Path, outputs: Path, runner: Runner, name: str, old: bytes, new: bytes, ran: tuple[str, ...]
):
    run_batch(small_unit, outputs)
    packaged = packaged_source()
    assert old in packaged.data
    other = Source(name, packaged.data.replace(old, new))
    assert run_batch(small_unit, outputs, notebook=other).ran == ran
    assert run_batch(small_unit, outputs, notebook=other).nothing_to_do
    assert {each["notebook"] for each in versions_of(outputs)} == {name}
    assert {each["notebook_cells_sha256"] for each in versions_of(outputs)} == {other.mark}


def versions_of(outputs: Path) -> list[dict[str, str]]:
    content = json.loads((outputs / "manifest.json").read_bytes())
    return [content["version_sets"][each["versions"]] for each in content["tags"].values()]


def test_a_change_that_has_no_hand_in_a_page_reruns_no_tag(
    small_unit: Path, outputs: Path, runner: Runner, monkeypatch
):
    """Such as a help text: some source is another one, and no page is made by it."""
    run_batch(small_unit, outputs)
    monkeypatch.setattr(standing, "made_by", lambda _: "0" * 64)
    monkeypatch.setattr(dossier, "made_by", lambda _: "0" * 64)
    report = run_batch(small_unit, outputs)
    assert (report.ran, report.unchanged, runner.pages) == ((), 3, 1)
    assert run_batch(small_unit, outputs).nothing_to_do


@pytest.mark.parametrize(
    ("file", "expected"),
    [
        ("tags/HV-1/result.json", ("HV-1",)),
        ("tags/HV-1/figures.js", ("HV-1",)),
        ("results.csv", ()),
        ("index.html", ()),
        ("figures.js", ()),
        ("assets/plotly.min.js", ()),
    ],
)
@pytest.mark.parametrize("harm", [lambda path: path.unlink(), lambda path: path.write_bytes(b"cut")])
def test_an_output_that_is_gone_or_cut_short_is_made_again(
    small_unit: Path, outputs: Path, runner: Runner, harm, file: str, expected
):
    run_batch(small_unit, outputs)
    before = {name: (outputs / name).read_bytes() for name in files_below(outputs)}
    harm(outputs / file)
    assert run_batch(small_unit, outputs).ran == expected
    assert {name: (outputs / name).read_bytes() for name in before} == before


@pytest.mark.parametrize("file", ["tags.csv", "results.csv", "index.html", "unit.xlsx"])
def test_what_the_units_verdicts_are_told_from_is_made_again_where_it_was_changed(
    small_unit: Path, outputs: Path, runner: Runner, file: str
):
    run_batch(small_unit, outputs)
    before = _changed_in_place(outputs / file)
    report = run_batch(small_unit, outputs)
    assert (report.ran, report.nothing_to_do) == ((), False)
    assert (outputs / file).read_bytes() == before


def test_a_result_that_was_changed_reaches_no_table(small_unit: Path, outputs: Path, runner: Runner):
    """Another tag is run again, and the tables are made of every tag's result."""
    run_batch(small_unit, outputs)
    before = _changed_in_place(outputs / "tags" / "HV-3" / "result.json")
    edit("records/strokes.csv", "20.1", "20.2")(small_unit)
    assert run_batch(small_unit, outputs).ran == ("HV-1", "HV-3")
    assert (outputs / "tags" / "HV-3" / "result.json").read_bytes() == before


def _changed_in_place(path: Path) -> bytes:
    """Change one byte of a file and neither its size nor its times; what it held before."""
    before, times = path.read_bytes(), path.stat()
    place = len(before) // 2
    path.write_bytes(before[:place] + bytes([before[place] ^ 1]) + before[place + 1 :])
    os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))
    return before


def test_a_report_made_from_an_edit_that_was_taken_back_is_made_again(small_unit: Path, outputs: Path, runner: Runner):
    """The inputs are those of the last batch again, the report is not."""
    run_batch(small_unit, outputs)
    edit("records/strokes.csv", "20.1", "20.2")(small_unit)
    run_report(small_unit, outputs, "HV-1")
    edit("records/strokes.csv", "20.2", "20.1")(small_unit)
    assert run_batch(small_unit, outputs).ran == ("HV-1",)


def test_a_failed_tag_is_something_to_do(small_unit: Path, outputs: Path, runner: Runner):
    runner.fail = {"HV-3"}
    run_batch(small_unit, outputs)
    assert run_batch(small_unit, outputs).ran == ("HV-3",)


def test_an_incremental_batch_ends_with_the_bytes_of_a_whole_one(
    small_unit: Path, outputs: Path, runner: Runner, tmp_path: Path
):
    run_batch(small_unit, outputs)
    edit("records/strokes.csv", "20.1", "20.2")(small_unit)
    run_batch(small_unit, outputs)
    run_batch(small_unit, tmp_path / "whole")
    ours = {name: (outputs / name).read_bytes() for name in files_below(outputs)}
    assert ours == {name: (tmp_path / "whole" / name).read_bytes() for name in files_below(tmp_path / "whole")}


def test_an_input_that_vanishes_while_it_is_read_stops_the_batch(
    small_unit: Path, outputs: Path, runner: Runner, monkeypatch
):
    from kit.records import UnitError, unit

    run_batch(small_unit, outputs)
    before = {name: (outputs / name).read_bytes() for name in files_below(outputs)}
    listed = unit.list_records(small_unit)
    (small_unit / "records/strokes.csv").unlink()
    monkeypatch.setattr(unit, "list_records", lambda _: listed)
    with pytest.raises(UnitError, match=r"records/strokes\.csv: gone while the unit was being read"):
        run_batch(small_unit, outputs)
    assert {name: (outputs / name).read_bytes() for name in files_below(outputs)} == before


def test_the_units_page_shows_the_records_that_its_reports_were_made_from(small_unit: Path, outputs: Path, monkeypatch):
    """An input that changes while the batch runs waits for the next one."""
    shown: list[str] = []

    def page(unit_folder: Path, collected: Path, *_: object, **__: object) -> TagRun:
        from kit.runs.outputs.collected import read_results

        shown.append(read_results("no such unit", collected).settings.title)
        return TagRun(b"page", b"{}", None)

    monkeypatch.setattr("kit.runs.outputs.dossier.run_unit_page", page)
    monkeypatch.setattr("kit.runs.batch.run_jobs", Runner().jobs)
    run_batch(small_unit, outputs, progress=lambda _: edit("unit.toml", "title =", "# \ntitle =")(small_unit))
    assert shown == ["Invented test unit"]
    assert run_batch(small_unit, outputs).nothing_to_do is False
