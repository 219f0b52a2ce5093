"""Reductions handed from one kernel to the next: the page is the same, and nothing else is taken for it."""

from __future__ import annotations

import dataclasses
import sys
from pathlib import Path

import pytest

from kit.assessment import assess_tag
from kit.assessment.recordings import stage_recordings
from kit.assessment.recordings.kept import REDUCTIONS
from kit.basis.records import TagRecords
from kit.records import read_unit, tag_records, to_slice
from kit.runs.engines import prepared
from kit.runs.forked.kept import keep_reductions
from kit.runs.notebook.execute import run_tag

DEMO = Path(__file__).parents[3] / "inputs" / "lime-works"
TAG = "FV-125"


@pytest.fixture(scope="module")
def records() -> TagRecords:
    return tag_records(read_unit(DEMO, recordings_of=TAG), TAG)


@pytest.fixture
def reduced(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is reduced, a name each time."""
    made: list[str] = []
    reduce_recording = stage_recordings.reduce_recording

    def counted(*arguments: object, **further: object) -> object:
        made.append(TAG)
        return reduce_recording(*arguments, **further)  # type: ignore[arg-type]

    monkeypatch.setattr(stage_recordings, "reduce_recording", counted)
    monkeypatch.setattr(REDUCTIONS, "recall", REDUCTIONS.recall)  # as it was, afterwards
    return made


def test_a_recording_is_reduced_once_while_it_and_its_tag_are_the_same(
    records: TagRecords, reduced: list[str], tmp_path: Path
) -> None:
    (recording,) = records.recordings
    keep_reductions(tmp_path)
    first = assess_tag(records)
    assert len(reduced) == 1
    assert [each.value for each in assess_tag(records).deciding.checks] == [
        each.value for each in first.deciding.checks
    ]
    assert len(reduced) == 1
    assert recording.recording is not None
    command = recording.recording.command_pct.copy()
    command[0] += 0.001
    other = dataclasses.replace(recording, recording=dataclasses.replace(recording.recording, command_pct=command))
    assess_tag(dataclasses.replace(records, recordings=(other,)))
    assert len(reduced) == 2
    slower = dataclasses.replace(records.tag, rangeability=31.0, characteristic="equal_percentage")
    assess_tag(dataclasses.replace(records, tag=slower))
    assert len(reduced) == 3


def test_what_is_broken_there_is_made_again_and_no_more_than_eight_are_kept(
    records: TagRecords, reduced: list[str], tmp_path: Path
) -> None:
    keep_reductions(tmp_path)
    assess_tag(records)
    (file,) = tmp_path.iterdir()
    file.write_bytes(b"half")
    assess_tag(records)
    assert len(reduced) == 2
    for name in range(12):
        (tmp_path / str(name)).write_bytes(b"older")
    file.unlink()
    assess_tag(records)
    assert len(list(tmp_path.iterdir())) == 8
    assert file.is_file()


@pytest.mark.skipif(sys.platform != "linux", reason="kernels are forked there alone")
def test_a_page_by_what_another_kernel_left_is_the_page(records: TagRecords, tmp_path: Path) -> None:
    slice_bytes = to_slice(records)
    with prepared("fast"):
        alone = run_tag(TAG, slice_bytes, "inputs/lime-works")
        first = run_tag(TAG, slice_bytes, "inputs/lime-works", kept=tmp_path)
        (file,) = tmp_path.iterdir()
        made_at_ns = file.stat().st_mtime_ns
        second = run_tag(TAG, slice_bytes, "inputs/lime-works", kept=tmp_path)
    assert alone == first == second
    assert alone.result is not None
    assert [(each, each.stat().st_mtime_ns) for each in tmp_path.iterdir()] == [(file, made_at_ns)]
