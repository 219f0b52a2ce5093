"""manifest.json: each tag's own versions, earlier forms, other units."""

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
from kit.runs.notebook.source import packaged_source
from kit.runs.batch import run_batch, run_report
from kit.runs.errors import RunError
from kit.runs.outputs.store import files_below
from kit.runs.outputs.verify import Difference, verify_outputs
from kit.runs.done import TagDone
from kit.runs.notebook.execute import TagRun
from kit.runs.outputs import dossier, standing
from tests.runs.stand_in import ALL, Runner, StopError, change_a_stroke, edit, rows_of, snapshot, touch_everything


def entries(outputs: Path) -> dict[str, dict[str, str]]:
    """The versions that each tag's entry of the manifest names."""
    content = manifest(outputs)
    return {tag: content["version_sets"].get(entry.get("versions"), {}) for tag, entry in content["tags"].items()}


def manifest(outputs: Path) -> dict[str, Any]:
    content: dict[str, Any] = json.loads((outputs / "manifest.json").read_bytes())
    return content


@pytest.mark.usefixtures("as_it_is")
@pytest.mark.parametrize("library", ["python", "numpy", "mistune"])
def test_a_library_that_can_move_a_page_reruns_every_tag(
    small_unit: Path, outputs: Path, runner: Runner, monkeypatch, library: str
):
    run_batch(small_unit, outputs)
    known = made_by.present_versions()
    monkeypatch.setattr(made_by, "_versions", lambda: {**known, library: "0.0.1"})
    made_by.made_by.cache_clear()
    assert run_batch(small_unit, outputs).ran == ALL
    assert run_batch(small_unit, outputs).nothing_to_do
    assert {versions[library] for versions in entries(outputs).values()} == {"0.0.1"}


@pytest.mark.usefixtures("as_it_is")
def test_each_tag_keeps_the_versions_that_it_was_made_with(
    small_unit: Path, outputs: Path, runner: Runner, monkeypatch
):
    """One tag is made again with another library: the manifest says so of that one only."""
    run_batch(small_unit, outputs)
    known = made_by.present_versions()
    monkeypatch.setattr(made_by, "_versions", lambda: {**known, "scipy": "0.0.1"})
    run_report(small_unit, outputs, "HV-3")
    assert {tag: each["scipy"] for tag, each in entries(outputs).items()} == {
        "HV-1": known["scipy"],
        "HV/2": known["scipy"],
        "HV-3": "0.0.1",
    }
    assert manifest(outputs)["versions"] == known  # the unit's page and tables are those of the batch


@pytest.mark.usefixtures("as_it_is")
def test_an_interrupted_batch_remembers_the_versions(small_unit: Path, outputs: Path, runner: Runner, monkeypatch):
    def stop(_: object) -> None:
        raise StopError

    with pytest.raises(StopError):
        run_batch(small_unit, outputs, progress=stop)
    run_batch(small_unit, outputs)
    assert set(map(str, entries(outputs).values())) == {str(dict(sorted({**made_by.present_versions(), **packaged_source().on_record}.items())))}


def test_a_manifest_of_the_old_form_is_read_and_every_tag_is_made_again(
    small_unit: Path, outputs: Path, runner: Runner
):
    """It gave one list of versions for all tags, sources counted byte by byte, and the journal had no versions."""
    run_batch(small_unit, outputs)
    content = manifest(outputs)
    for entry in content["tags"].values():
        del entry["versions"]
        entry["fingerprint"] = "0" * 64
    del content["version_sets"]
    content["made_by"] = "0" * 64
    (outputs / "manifest.json").write_text(json.dumps(content), encoding="utf-8")
    run_report(small_unit, outputs, "HV-3")
    assert [tag for tag, versions in entries(outputs).items() if versions] == ["HV-3"]
    assert run_batch(small_unit, outputs).ran == ("HV-1", "HV/2")


def test_outputs_of_another_unit_are_not_overwritten(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    other = small_unit.rename(small_unit.with_name("other"))
    with pytest.raises(RunError, match="holds the outputs of unit 'small', not of 'other'"):
        run_batch(other, outputs)


def test_a_manifest_that_cannot_be_read_stops_the_batch_before_anything_is_written(
    small_unit: Path, outputs: Path, runner: Runner
):
    outputs.mkdir(parents=True)
    (outputs / "manifest.json").write_bytes(b"[]")
    with pytest.raises(RunError, match="not a manifest that this version can read"):
        run_batch(small_unit, outputs)
    assert list(files_below(outputs)) == ["manifest.json"]
