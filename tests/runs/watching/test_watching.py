"""The command at work: a file is saved, the page follows, Ctrl-C ends it and leaves no process."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import psutil
import pytest

from tests.runs.stand_in import edit

_LONGEST_S = 240.0


@pytest.mark.skipif(sys.platform == "win32", reason="no such signal there")
@pytest.mark.parametrize("while_a_page_is_made", [False, True])
def test_a_save_is_on_the_page_and_ctrl_c_leaves_no_process(
    small_unit: Path, outputs: Path, tmp_path: Path, while_a_page_is_made: bool
):
    command = [sys.executable, "-m", "kit.cli", "watch", str(small_unit), "HV-1", "--out", str(outputs)]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[3])}
    log, page = tmp_path / "shell.txt", outputs / "tags" / "HV-1" / "report.html"
    with log.open("wb") as shell:
        watching = subprocess.Popen(command, stdout=shell, stderr=shell, cwd=tmp_path, env=environment)
    try:
        _wait(lambda: "Ctrl-C ends it." in log.read_text(encoding="utf-8"), watching)
        assert "20.1" in page.read_text(encoding="utf-8")
        edit("records/strokes.csv", "20.1", "26.7")(small_unit)
        if while_a_page_is_made:
            _wait((outputs / ".running" / "owner.json").exists, watching)
        else:
            _wait(lambda: page.is_file() and "26.7" in page.read_text(encoding="utf-8"), watching)
        started = psutil.Process(watching.pid).children(recursive=True)
        watching.send_signal(signal.SIGINT)
        assert watching.wait(_LONGEST_S) == 0
    finally:
        watching.kill()
        watching.wait()
    said = [line.split(":")[0] for line in log.read_text(encoding="utf-8").splitlines()]
    assert said == ["HV-1", f"Watching {small_unit}. Open http", "HV-1", "Watching ended."]
    assert "26.7" in page.read_text(encoding="utf-8")
    _, alive = psutil.wait_procs(started, timeout=20)
    assert alive == []
    assert not (outputs / ".running").exists()


def _wait(happened: Callable[[], bool], watching: subprocess.Popen[bytes]) -> None:
    end_s = time.monotonic() + _LONGEST_S
    while not happened():
        assert watching.poll() is None, "the watching ended by itself"
        assert time.monotonic() < end_s, "nothing happened"
        time.sleep(0.05)
