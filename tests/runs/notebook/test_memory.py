"""The peak memory of a kernel, also of one that is gone."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

from kit.runs.notebook.memory import last_peak_mb, note_peak

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the peak is told on Linux only")


def test_a_running_process_has_a_peak():
    note_peak(os.getpid())
    peak = last_peak_mb()
    assert peak is not None
    assert 10 < peak < 10_000


def test_a_process_that_has_ended_and_was_not_waited_for_has_none():
    with subprocess.Popen([sys.executable, "-c", ""], stdout=subprocess.PIPE) as ended:
        assert ended.stdout is not None
        ended.stdout.read()  # its end: the pipe is closed
        os.waitid(os.P_PID, ended.pid, os.WEXITED | os.WNOWAIT)
        note_peak(ended.pid)
        assert last_peak_mb() is None


def test_no_kernel_has_no_peak():
    note_peak(None)
    assert last_peak_mb() is None
