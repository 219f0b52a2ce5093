"""A unit's outputs: what is run, what is kept, what is issued."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest

from kit.runs.batch import run_batch, run_report
from kit.runs.done import TagDone
from kit.runs.errors import RunError
from kit.runs.notebook.execute import TagRun
from kit.runs.outputs.store import files_below
from kit.runs.outputs.verify import Difference, verify_outputs
from kit.runs.workers.jobs import Job


class Runner:
    """Stands in for the worker processes: the result of a tag is its own slice's length, or a failure."""

    def __init__(self) -> None:
        self.fail: set[str] = set()
        self.flagged: dict[str, int] = {}  # row of strokes.csv that judging a tag flags
        self.ran: list[str] = []
        self.pages = 0

    def jobs(self, jobs: Iterable[Job], workers: int) -> Iterator[tuple[Job, TagRun]]:
        for job in jobs:
            yield job, self.tag(job.tag, job.slice_bytes)

    def tag(self, tag: str, slice_bytes: bytes, *_: object, **__: object) -> TagRun:
        self.ran.append(tag)
        if tag in self.fail:
            return TagRun(b"incomplete", b"{}", None, "ValueError: no")
        rows = [{"tag": tag, "check": "stroke_time_open", "value": len(slice_bytes) / 3, "verdict": "pass"}]
        verdict = "fail" if tag == "HV/2" else "pass"
        result = {"verdict": verdict, "reason": "Slow.", "visit": "1", "stage": "as_left"}
        result |= {"results": rows, "punch_list": [], "found_problems": []}
        if tag in self.flagged:
            result["found_problems"] = [{"file": "records/strokes.csv", "row": self.flagged[tag], "tag": tag}]
        return TagRun(b"<p>" + slice_bytes, slice_bytes, json.dumps(result).encode())

    def unit_page(self, *_: object, **__: object) -> TagRun:
        self.pages += 1
        return TagRun(b"<p>unit</p>", b"{}", None, "")


@pytest.fixture
def runner(monkeypatch: pytest.MonkeyPatch) -> Runner:
    made = Runner()
    monkeypatch.setattr("kit.runs.batch.run_jobs", made.jobs)
    monkeypatch.setattr("kit.runs.batch.run_tag", made.tag)
    monkeypatch.setattr("kit.runs.outputs.dossier.run_unit_page", made.unit_page)
    monkeypatch.setattr("kit.runs.outputs.dossier.plotly_script", lambda: b"script")
    return made


@pytest.fixture
def outputs(tmp_path: Path) -> Path:
    return tmp_path / "outputs" / "small"


def snapshot(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in files_below(folder)}


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def change_a_stroke(unit: Path) -> None:
    path = unit / "records" / "strokes.csv"
    path.write_text(path.read_text(encoding="utf-8").replace("20.1", "20.2"), encoding="utf-8", newline="\n")


def test_the_outputs_are_those_of_the_contract(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    files = ("report.html", "report.ipynb", "result.json")
    tags = [f"tags/{name}/{file}" for name in ("HV%2F2", "HV-1", "HV-3") for file in files]
    tables = ["problems.csv", "punch_list.csv", "results.csv", "tags.csv"]
    others = ["assets/plotly.min.js", "index.html", "manifest.json"]
    assert sorted(files_below(outputs)) == sorted([*others, *tables, *tags])


def test_a_second_batch_runs_nothing_and_changes_nothing(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    before = snapshot(outputs)
    runner.ran.clear()
    report = run_batch(small_unit, outputs)
    assert (runner.ran, runner.pages, report.ran, report.unchanged) == ([], 1, (), 3)
    assert snapshot(outputs) == before


def test_every_tag_can_be_asked_for_and_gives_the_same_bytes(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    before = snapshot(outputs)
    assert run_batch(small_unit, outputs, every_tag=True).ran == ("HV-1", "HV/2", "HV-3")
    assert snapshot(outputs) == before


def test_a_changed_row_reruns_its_tag_and_keeps_what_it_replaces(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    before = snapshot(outputs)
    change_a_stroke(small_unit)
    assert "HV-1" in run_batch(small_unit, outputs).ran
    kept = [name for name in files_below(outputs / "superseded") if name.endswith("tags/HV-1/report.html")]
    assert len(kept) == 1
    assert (outputs / "superseded" / kept[0]).read_bytes() == before["tags/HV-1/report.html"]
    manifest = outputs / "superseded" / kept[0].split("/")[0] / "manifest.json"
    assert manifest.read_bytes() == before["manifest.json"]
    assert verify_outputs(small_unit, outputs) == ()


def test_a_deleted_report_is_made_again(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    before = snapshot(outputs)
    (outputs / "tags/HV-1/report.html").unlink()
    assert run_batch(small_unit, outputs).ran == ("HV-1",)
    assert snapshot(outputs) == before


def test_a_failed_tag_stops_no_other_and_has_a_page_and_no_verdict(small_unit: Path, outputs: Path, runner: Runner):
    runner.fail = {"HV-1"}
    report = run_batch(small_unit, outputs)
    assert (dict(report.failed), report.complete) == ({"HV-1": "ValueError: no"}, False)
    tags = {row["tag"]: (row["verdict"], row["report"]) for row in rows_of(outputs / "tags.csv")}
    assert tags == {
        "HV-1": ("", "tags/HV-1/report.html"),
        "HV/2": ("fail", "tags/HV%2F2/report.html"),
        "HV-3": ("pass", "tags/HV-3/report.html"),
    }
    assert (outputs / "tags/HV-1/report.html").read_bytes() == b"incomplete"
    assert not (outputs / "tags/HV-1/result.json").exists()


def test_a_failed_tag_is_run_again_by_the_next_batch(small_unit: Path, outputs: Path, runner: Runner):
    runner.fail = {"HV-1"}
    run_batch(small_unit, outputs)
    runner.fail.clear()
    report = run_batch(small_unit, outputs)
    assert (report.ran, report.complete) == (("HV-1",), True)
    assert verify_outputs(small_unit, outputs) == ()


def test_a_tag_that_left_the_register_leaves_the_outputs_and_is_kept(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    register = small_unit / "tags.csv"
    lines = register.read_text(encoding="utf-8").splitlines(keepends=True)
    register.write_text("".join(lines[:-1]), encoding="utf-8", newline="\n")
    run_batch(small_unit, outputs)
    assert not (outputs / "tags/HV-3").exists()
    assert any(name.endswith("tags/HV-3/report.html") for name in files_below(outputs / "superseded"))
    assert [row["tag"] for row in rows_of(outputs / "tags.csv")] == ["HV-1", "HV/2"]
    assert verify_outputs(small_unit, outputs) == ()


def test_numbers_in_results_are_those_that_the_notebook_left(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    result = json.loads((outputs / "tags/HV-1/result.json").read_bytes())
    assert float(rows_of(outputs / "results.csv")[0]["value"]) == result["results"][0]["value"]


def test_every_row_set_aside_is_in_problems(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    aside = [row for row in rows_of(outputs / "problems.csv") if row["set_aside"] == "yes"]
    assert [(row["file"], row["row"], row["column"], row["value"]) for row in aside] == [
        ("records/strokes.csv", "6", "time_s", "quick")
    ]


def test_one_report_comes_into_its_place_and_the_next_batch_does_not_repeat_it(
    small_unit: Path, outputs: Path, runner: Runner
):
    report = run_report(small_unit, outputs, "HV/2")
    assert report.page == outputs / "tags/HV%2F2/report.html"
    assert (report.verdict, report.reason, report.failed) == ("fail", "Slow.", False)
    assert run_batch(small_unit, outputs).ran == ("HV-1", "HV-3")
    assert verify_outputs(small_unit, outputs) == ()


def test_one_report_after_a_batch_lets_the_next_batch_renew_the_units_page(
    small_unit: Path, outputs: Path, runner: Runner
):
    run_batch(small_unit, outputs)
    change_a_stroke(small_unit)
    run_report(small_unit, outputs, "HV-1")
    assert Difference("input_changed", "records/strokes.csv") in verify_outputs(small_unit, outputs)
    assert "HV-1" not in run_batch(small_unit, outputs).ran
    assert runner.pages == 2
    assert verify_outputs(small_unit, outputs) == ()


def test_progress_is_told_tag_by_tag(small_unit: Path, outputs: Path, runner: Runner):
    runner.fail = {"HV/2"}
    told: list[TagDone] = []
    run_batch(small_unit, outputs, progress=told.append)
    assert [(each.done, each.of, each.tag, each.error, each.verdict) for each in told] == [
        (1, 3, "HV-1", "", "pass"),
        (2, 3, "HV/2", "ValueError: no", ""),
        (3, 3, "HV-3", "", "pass"),
    ]


@pytest.mark.parametrize(
    ("damage", "expected"),
    [
        (lambda folder: (folder / "tags.csv").write_bytes(b"x"), Difference("changed", "tags.csv")),
        (lambda folder: (folder / "index.html").unlink(), Difference("missing", "index.html")),
        (lambda folder: (folder / "note.txt").write_bytes(b"x"), Difference("unknown", "note.txt")),
    ],
)
def test_verify_tells_what_is_not_as_issued(small_unit: Path, outputs: Path, runner: Runner, damage, expected):
    run_batch(small_unit, outputs)
    damage(outputs)
    assert verify_outputs(small_unit, outputs) == (expected,)


def test_verify_tells_inputs_that_changed_came_or_went(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    change_a_stroke(small_unit)
    (small_unit / "records" / "visits.csv").rename(small_unit / "records" / "visits-2.csv")
    assert set(verify_outputs(small_unit, outputs)) == {
        Difference("input_changed", "records/strokes.csv"),
        Difference("input_missing", "records/visits.csv"),
        Difference("input_new", "records/visits-2.csv"),
    }


def test_verify_tells_a_superseded_file_that_was_altered(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    change_a_stroke(small_unit)
    run_batch(small_unit, outputs)
    name = next(name for name in files_below(outputs / "superseded") if name.endswith("HV-1/report.html"))
    (outputs / "superseded" / name).write_bytes(b"other")
    assert verify_outputs(small_unit, outputs) == (Difference("superseded_changed", f"superseded/{name}"),)


def test_verify_before_any_batch_says_what_to_do(small_unit: Path, outputs: Path):
    with pytest.raises(RunError, match=r"nothing was issued yet. Run `strokebook batch` first"):
        verify_outputs(small_unit, outputs)


def test_outputs_of_another_unit_are_not_overwritten(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    other = small_unit.rename(small_unit.with_name("other"))
    with pytest.raises(RunError, match="holds the outputs of unit 'small', not of 'other'"):
        run_batch(other, outputs)


def test_outputs_inside_the_units_folder_are_refused(small_unit: Path, runner: Runner):
    with pytest.raises(RunError, match="inside the unit's folder"):
        run_batch(small_unit, small_unit / "out")


def test_a_manifest_that_cannot_be_read_stops_the_batch_before_anything_is_written(
    small_unit: Path, outputs: Path, runner: Runner
):
    outputs.mkdir(parents=True)
    (outputs / "manifest.json").write_bytes(b"[]")
    with pytest.raises(RunError, match="not a manifest that this version can read"):
        run_batch(small_unit, outputs)
    assert list(files_below(outputs)) == ["manifest.json"]
