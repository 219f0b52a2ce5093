"""Kernels and parents that are lost: told at once, harming no other, made good where no notebook is to blame."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from kit.runs.forked.owner import own_parent
from kit.runs.notebook.client import ReportClient
from kit.runs.notebook.execute import run_tag
from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import run_jobs
from tests.small_unit import shows_result

Write = Callable[..., Path]
KILLED = "import os, signal\nos.kill(os.getpid(), signal.SIGKILL)"
ENDED = "import os\nos._exit(0)"


@pytest.mark.parametrize("source", [KILLED, ENDED])
def test_a_dead_kernel_is_noticed_within_5_seconds(notebook: Write, source: str) -> None:
    """With 5 s for the whole notebook, it is its end that is told and not the time limit."""
    assert "Process ended" in run_tag("A", b"{}", "inputs/u", notebook=notebook(source), time_limit_s=5).error


def test_a_kernel_that_goes_down_harms_no_other(notebook: Write) -> None:
    source = notebook(f"if tag == 'BAD':\n    {KILLED.replace(chr(10), '; ')}", shows_result("{'tag': tag}"))
    jobs = [Job(tag, b"{}", "inputs/u", 60, source) for tag in ("T0", "BAD", "T1", "T2")]
    errors = {job.tag: run.error for job, run in run_jobs(jobs, 2)}
    assert "Process ended" in errors.pop("BAD")
    assert errors == dict.fromkeys(("T0", "T1", "T2"), "")


def test_a_parent_that_is_lost_in_the_middle_costs_nothing(notebook: Write, tmp_path: Path) -> None:
    """The notebook kills the parent the first time it runs, and is run again with a new one."""
    once = f"import os, pathlib, signal\nmark = pathlib.Path({str(tmp_path / 'mark')!r})"
    kills = "if not mark.exists():\n    mark.touch()\n    os.kill(os.getppid(), signal.SIGKILL)"
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(once, kills, shows_result("{'tag': tag}")))
    assert done.error == ""


def test_a_parent_that_is_lost_after_the_last_cell_costs_nothing(
    notebook: Write, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A signal takes a moment: the cells may all have run by then, and the kernel's last answer never comes."""
    asked = ReportClient.record_language

    def kill_first(client: ReportClient) -> None:
        mark = tmp_path / "mark"
        if not mark.exists():
            mark.touch()
            os.kill(own_parent().process.pid, signal.SIGKILL)
            time.sleep(0.5)
        asked(client)

    monkeypatch.setattr(ReportClient, "record_language", kill_first)
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(shows_result("{'tag': tag}")))
    assert done.error == ""
    assert (tmp_path / "mark").exists()


def test_a_notebook_that_always_kills_the_parent_is_told_of(notebook: Write) -> None:
    kills = "import os, signal, time\nos.kill(os.getppid(), signal.SIGKILL)\ntime.sleep(60)"
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(kills))
    assert "the process that ran this notebook ended" in done.error
    assert b"This report is incomplete" in done.html
