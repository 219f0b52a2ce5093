"""The outputs against their manifest, and the inputs against what they were made from."""

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
from kit.runs.outputs.store import files_below
from kit.runs.outputs.verify import Difference, verify_outputs
from kit.runs.done import TagDone
from kit.runs.notebook.execute import TagRun
from kit.runs.outputs import dossier, standing
from tests.runs.stand_in import ALL, Runner, StopError, change_a_stroke, edit, rows_of, snapshot, touch_everything


@pytest.mark.parametrize(
    ("damage", "expected"),
    [
        (lambda folder: (folder / "tags.csv").write_bytes(b"x"), Difference("changed", "tags.csv")),
        (lambda folder: (folder / "index.html").unlink(), Difference("missing", "index.html")),
        (lambda folder: (folder / "note.txt").write_bytes(b"x"), Difference("unknown", "note.txt")),
    ],
)
def test_verify_tells_what_is_not_as_it_was_made(small_unit: Path, outputs: Path, runner: Runner, damage, expected):
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


def test_what_an_earlier_version_kept_is_left_alone(small_unit: Path, outputs: Path, runner: Runner):
    run_batch(small_unit, outputs)
    old = outputs / "superseded/0123456789ab/tags.csv"
    old.parent.mkdir(parents=True)
    old.write_bytes(b"old")
    change_a_stroke(small_unit)
    run_batch(small_unit, outputs)
    assert old.read_bytes() == b"old"
    assert verify_outputs(small_unit, outputs) == ()


def test_verify_before_any_batch_says_what_to_do(small_unit: Path, outputs: Path):
    with pytest.raises(RunError, match=r"nothing was made yet. Run `strokebook batch` first"):
        verify_outputs(small_unit, outputs)
