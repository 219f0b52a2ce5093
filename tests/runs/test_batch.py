"""A unit's outputs: what is run, what is kept, what is put in its place."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from kit.assessment.shown.summaries import SUMMARIES, file_of
from kit.runs.batch import run_batch, run_report
from kit.runs.done import TagDone
from kit.runs.errors import RunError
from kit.runs.outputs.csv_tables import TAGS_COLUMNS
from kit.runs.outputs.store import files_below
from kit.runs.outputs.verify import Difference, verify_outputs
from tests.runs.stand_in import Runner, change_a_stroke, edit, rows_of, snapshot


def test_the_outputs_are_those_of_the_contract(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    files = ("figures.js", "report.html", "report.ipynb", "result.json")
    tags = [f"tags/{name}/{file}" for name in ("HV%2F2", "HV-1", "HV-3") for file in files]
    tables = ["open_records.csv", "problems.csv", "punch_list.csv", "results.csv", "tags.csv", "unit.xlsx"]
    tables += map(file_of, SUMMARIES)
    others = ["assets/plotly.min.js", "figures.js", "index.html", "manifest.json"]
    assert sorted(files_below(outputs)) == sorted([*others, *tables, *tags])


def test_what_is_counted_over_the_unit_stands_as_csv_and_in_the_manifest(
    small_unit: Path, outputs: Path, runner: Runner
):
    """HV-3 has no visit; no cell of a register is run by a spreadsheet."""
    (small_unit / "tags.csv").write_text(
        (small_unit / "tags.csv").read_text(encoding="utf-8").replace("HV-3,", "=HV-3,"), encoding="utf-8"
    )
    run_batch(small_unit, outputs)
    tests = rows_of(outputs / "summary/tests_done.csv")
    assert [row["tag"] for row in tests] == ["HV-1", "HV/2", "'=HV-3"]
    listed = json.loads((outputs / "manifest.json").read_bytes())["files"]
    assert {file_of(name) for name in SUMMARIES} <= set(listed)
    (outputs / "summary/tests_done.csv").write_bytes(b"")
    assert verify_outputs(small_unit, outputs) == (Difference("changed", "summary/tests_done.csv"),)


def test_a_table_that_an_earlier_version_left_goes_and_somebody_s_own_file_stays(
    small_unit: Path, outputs: Path, runner: Runner
):
    run_batch(small_unit, outputs)
    content = json.loads((outputs / "manifest.json").read_bytes())
    for name in ("old.csv", "own.csv"):
        (outputs / "summary" / name).write_bytes(b"old")
    content["files"]["summary/old.csv"], content["sizes"]["summary/old.csv"] = "00" * 32, 3
    (outputs / "manifest.json").write_text(json.dumps(content), encoding="utf-8")
    change_a_stroke(small_unit)
    run_batch(small_unit, outputs)
    assert verify_outputs(small_unit, outputs) == (Difference("unknown", "summary/own.csv"),)


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


def test_a_changed_row_reruns_its_tag_in_the_place_of_the_one_before(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    before = snapshot(outputs)
    change_a_stroke(small_unit)
    assert "HV-1" in run_batch(small_unit, outputs).ran
    after = snapshot(outputs)
    assert after.keys() == before.keys()
    assert after["tags/HV-1/report.html"] != before["tags/HV-1/report.html"]
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


def test_a_tag_that_left_the_register_leaves_the_outputs(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    register = small_unit / "tags.csv"
    lines = register.read_text(encoding="utf-8").splitlines(keepends=True)
    register.write_text("".join(lines[:-1]), encoding="utf-8", newline="\n")
    run_batch(small_unit, outputs)
    assert not (outputs / "tags/HV-3").exists()
    assert [row["tag"] for row in rows_of(outputs / "tags.csv")] == ["HV-1", "HV/2"]
    assert verify_outputs(small_unit, outputs) == ()


def test_tags_say_what_the_register_says_and_carry_its_own_columns(small_unit: Path, outputs: Path, runner: Runner):
    register = small_unit / "tags.csv"
    head, *rows = register.read_text(encoding="utf-8").splitlines()
    lines = [f"{head},safety_function,Area,verdict", *(f"{row},yes,Ω 4,own" for row in rows)]
    register.write_text("\n".join(lines), encoding="utf-8")
    runner.fail = {"HV/2"}
    run_batch(small_unit, outputs)
    assert (outputs / "tags.csv").read_bytes().startswith(b"\xef\xbb\xbftag,verdict,visit,")
    for row in rows_of(outputs / "tags.csv"):
        assert list(row)[: len(TAGS_COLUMNS)] == list(TAGS_COLUMNS)
        assert (row["safety_function"], row["Area"], row["verdict (register)"]) == ("yes", "Ω 4", "own")
        assert row["service"]


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


def test_a_new_instrument_makes_again_the_pages_that_may_offer_it_and_no_others(
    small_unit: Path, outputs: Path, runner: Runner
):
    runner.marginal = {"HV/2"}
    run_batch(small_unit, outputs)
    _buy_an_instrument(small_unit)
    assert run_batch(small_unit, outputs).ran == ("HV/2",)
    assert run_batch(small_unit, outputs).ran == ()
    assert b"S-2" in (outputs / "tags/HV%2F2/report.html").read_bytes()
    assert verify_outputs(small_unit, outputs) == ()


def test_a_page_that_offers_no_instrument_any_more_stands_when_the_register_changes(
    small_unit: Path, outputs: Path, runner: Runner
):
    runner.marginal = {"HV/2"}
    run_batch(small_unit, outputs)
    runner.marginal = set()
    edit("records/strokes.csv", "31.0", "25.0")(small_unit)
    assert run_batch(small_unit, outputs).ran == ("HV/2",)
    _buy_an_instrument(small_unit)
    assert run_batch(small_unit, outputs).ran == ()


def _buy_an_instrument(unit: Path) -> None:
    bought = "S-2,Stopwatch,s,0,600,0.01,0.01,C-2,2026-01-05,2027-01-05"
    edit("instruments.csv", "S-1,", f"{bought}\nS-1,")(unit)


def test_progress_is_told_tag_by_tag(small_unit: Path, outputs: Path, runner: Runner):
    runner.fail = {"HV/2"}
    told: list[TagDone] = []
    run_batch(small_unit, outputs, progress=told.append)
    assert [(each.done, each.of, each.tag, each.error, each.verdict) for each in told] == [
        (1, 3, "HV-1", "", "pass"),
        (2, 3, "HV/2", "ValueError: no", ""),
        (3, 3, "HV-3", "", "pass"),
    ]


def test_outputs_inside_the_units_folder_are_refused(small_unit: Path, runner: Runner):
    with pytest.raises(RunError, match="inside the unit's folder"):
        run_batch(small_unit, small_unit / "out")


def test_a_batch_starts_without_what_calculates():
    """Its notebooks judge; scipy would cost the driver half a second and 60 MB."""
    code = "import sys, kit.runs.batch; print('scipy' in sys.modules, 'kit.assessment.tag' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
