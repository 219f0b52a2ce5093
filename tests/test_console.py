"""What a batch says while it runs, and what it writes to a log file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kit.console import BatchProgress, progress_words
from kit.runs.done import TagDone
from kit.runs.errors import RunError

DONE = TagDone(1, 2, "FV-1", "", "pass", 0.2512, 61.4, 3)
FAILED = TagDone(2, 2, "FV-2", "ValueError: no", "", 0.1, None, 0)


def test_a_log_file_has_one_object_a_tag(tmp_path: Path):
    log = tmp_path / "logs" / "batch.jsonl"
    with BatchProgress(log) as progress:
        progress(DONE)
        progress(FAILED)
    assert [json.loads(line) for line in log.read_text(encoding="utf-8").splitlines()] == [
        {
            "tag": "FV-1",
            "verdict": "pass",
            "seconds": 0.251,
            "peak_memory_mb": 61.4,
            "problems": 3,
            "error": "",
            "made": "reports",
        },
        {
            "tag": "FV-2",
            "verdict": "",
            "seconds": 0.1,
            "peak_memory_mb": None,
            "problems": 0,
            "error": "ValueError: no",
            "made": "reports",
        },
    ]


def test_a_log_file_is_added_to(tmp_path: Path):
    for _ in range(2):
        with BatchProgress(tmp_path / "log") as progress:
            progress(DONE)
    assert len((tmp_path / "log").read_text(encoding="utf-8").splitlines()) == 2


def test_a_log_file_that_cannot_be_written_is_said_before_anything_runs(tmp_path: Path):
    with pytest.raises(RunError, match="Give another --log-file"), BatchProgress(tmp_path):
        pass


def test_without_a_terminal_a_failure_and_the_end_are_plain_lines(capsys: pytest.CaptureFixture[str]):
    with BatchProgress() as progress:
        progress(DONE)
        progress(FAILED)
    told = capsys.readouterr().err.splitlines()
    assert told[0] == "FV-2: ValueError: no"
    assert told[1].startswith("2 of 2 reports, 1 failed, 0 remaining, ")


@pytest.mark.parametrize(
    ("done", "of", "since_first_s", "expected"),
    [
        (2, 3, 1.0, "0 failed, 1 remaining, 60 a minute, about 1 s to go"),
        (2, 102, 1.0, "0 failed, 100 remaining, 60 a minute, about 2 min to go"),
        (3, 3, 4.0, "0 failed, 0 remaining, 30 a minute"),
        (1, 3, 0.0, "0 failed, 2 remaining"),
    ],
)
def test_progress_is_worked_out_from_what_is_done(done: int, of: int, since_first_s: float, expected: str):
    assert progress_words(done, of, 0, since_first_s) == expected
