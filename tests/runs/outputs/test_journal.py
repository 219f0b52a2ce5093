"""An interrupted batch is gone on with."""

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


@pytest.mark.parametrize("after", [1, 2, 3])
@pytest.mark.parametrize("made_before", [False, True])
def test_an_interrupted_batch_is_gone_on_with(
    small_unit: Path, outputs: Path, runner: Runner, tmp_path: Path, after: int, made_before: bool
):
    for folder in (outputs, tmp_path / "undisturbed") if made_before else ():
        run_batch(small_unit, folder)
    edit("unit.toml", "of_nominal_pct = 10", "of_nominal_pct = 12")(small_unit)

    def stop(each: object) -> None:
        if dataclasses.asdict(each)["done"] == after:  # type: ignore[call-overload]
            raise StopError

    with pytest.raises(StopError):
        run_batch(small_unit, outputs, progress=stop)
    report = run_batch(small_unit, outputs)
    assert report.ran == ALL[after:]
    run_batch(small_unit, tmp_path / "undisturbed")
    ours, theirs = (
        {name: (folder / name).read_bytes() for name in files_below(folder)}
        for folder in (outputs, tmp_path / "undisturbed")
    )
    assert ours == theirs
    assert not (outputs / ".running").exists()


def test_a_journal_that_was_cut_off_costs_one_tag(small_unit: Path, outputs: Path, runner: Runner):
    def stop(each: object) -> None:
        if dataclasses.asdict(each)["done"] == 2:  # type: ignore[call-overload]
            raise StopError

    with pytest.raises(StopError):
        run_batch(small_unit, outputs, progress=stop)
    journal = outputs / ".running" / "journal"
    journal.write_bytes(journal.read_bytes()[:-20])
    assert run_batch(small_unit, outputs).ran == ("HV/2", "HV-3")
