"""One run at a time on an outputs folder."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from kit.runs.errors import RunError
from kit.runs.outputs.lock import JOURNAL, locked

HOLDS_THE_LOCK = (
    "import sys, time; from pathlib import Path; from kit.runs.outputs.lock import locked\n"
    "with locked(Path(sys.argv[1])):\n    print('held', flush=True)\n    time.sleep(600)"
)


@pytest.fixture
def holder(tmp_path: Path):
    """Another process that holds the lock of ``tmp_path / "out"``."""
    words = [sys.executable, "-c", HOLDS_THE_LOCK, str(tmp_path / "out")]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        yield process
        process.kill()


def test_where_no_other_folder_would_do_none_is_asked_for(tmp_path: Path, holder: subprocess.Popen[str]):
    with pytest.raises(RunError, match=r"Wait for it to end, or give another --out\.$"), locked(tmp_path / "out"):
        pass
    with (
        pytest.raises(RunError, match=r"Wait for it to end\.$"),
        locked(tmp_path / "out", elsewhere=False),
    ):
        pass


def test_a_second_run_is_refused_and_told_who_is_there(tmp_path: Path, holder: subprocess.Popen[str]):
    with (
        pytest.raises(RunError, match=rf"another run \(process {holder.pid} on .+\) is writing there"),
        locked(tmp_path / "out"),
    ):
        pass


@pytest.mark.skipif("not hasattr(__import__('signal'), 'SIGKILL')", reason="no such signal here")
def test_a_killed_run_leaves_no_lock(tmp_path: Path, holder: subprocess.Popen[str]):
    holder.send_signal(signal.SIGKILL)
    holder.wait()
    with locked(tmp_path / "out"):
        pass
    assert not (tmp_path / "out" / ".running").exists()


def test_nothing_is_left_of_a_run_that_ended(tmp_path: Path):
    with locked(tmp_path / "out") as work:
        (work / "new").mkdir()
        (work / "new" / "a").touch()
    assert not (tmp_path / "out").exists()


def test_the_journal_of_a_run_that_did_not_end_stays(tmp_path: Path):
    with locked(tmp_path / "out") as work:
        (work / JOURNAL).write_text("x")
        (work / "new").mkdir()
    assert sorted(path.name for path in (tmp_path / "out" / ".running").iterdir()) == [JOURNAL, "lock"]


def test_a_folder_in_which_nothing_can_be_written_is_said(tmp_path: Path):
    (tmp_path / "file").touch()
    with (
        pytest.raises(RunError, match=re.escape(f"{tmp_path / 'file' / 'out'}: nothing can be written there")),
        locked(tmp_path / "file" / "out"),
    ):
        pass


@pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="this user may write everywhere")
def test_a_read_only_folder_is_said(tmp_path: Path):
    tmp_path.chmod(0o500)
    with pytest.raises(RunError, match="Permission denied"), locked(tmp_path / "out"):
        pass
