"""Hung, stopped and dead kernels: the page says what happened and shows what ran, and others go on."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kit.runs.forked.owner import own_parent
from kit.runs.notebook.client import ReportClient
from kit.runs.notebook.execute import run_tag
from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import run_jobs
from tests.small_unit import shows_result

Write = Callable[..., Path]
KILLED = "import os, signal\nos.kill(os.getpid(), signal.SIGKILL)"
STOPPED = "import os, signal\nos.kill(os.getpid(), signal.SIGSTOP)"
ENDED = "import os\nos._exit(0)"
DEAD = [(KILLED, "Process ended"), (ENDED, "Process ended"), ("import sys\nsys.exit(2)", "SystemExit: 2")]
HUNG = [("while True:\n    pass", "within 3 s"), (STOPPED, "within 3 s"), ("import time\ntime.sleep(60)", "within 3 s")]


@pytest.mark.parametrize("engine", ["fast", "plain"])
@pytest.mark.parametrize(("source", "said"), [*DEAD, *HUNG])
def test_the_page_says_what_happened_and_keeps_what_ran(notebook: Write, engine: Any, source: str, said: str) -> None:
    path = notebook("print('ran')", source, "print('never')")
    limit_s = 3 if (source, said) in HUNG else 60
    done = run_tag("A", b"{}", "inputs/u", notebook=path, time_limit_s=limit_s, engine=engine)
    assert done.result is None
    assert said in done.error
    assert b"This report is incomplete" in done.html
    assert b"ran\n" in done.html
    assert b"never\n" not in done.html


@pytest.mark.parametrize("source", [KILLED, ENDED])
def test_a_dead_kernel_is_noticed_within_5_seconds(notebook: Write, source: str) -> None:
    """With 5 s for the whole notebook, it is its end that is told and not the time limit."""
    assert "Process ended" in run_tag("A", b"{}", "inputs/u", notebook=notebook(source), time_limit_s=5).error


def test_the_time_limit_is_for_the_whole_notebook(notebook: Write) -> None:
    """Eight steps of half a second, none of which alone would break a limit of 2 s."""
    done = run_tag("A", b"{}", "inputs/u", notebook=notebook(*["import time\ntime.sleep(0.5)"] * 8), time_limit_s=2)
    assert "did not end within 2 s" in done.error


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
