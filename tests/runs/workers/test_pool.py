"""Many notebooks at once, and lost workers."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import available_workers, run_jobs
from tests.small_unit import shows_result

Write = Callable[..., Path]
KILLS_ITS_WORKER = (
    "import os, signal, time\nif tag == 'BAD':\n    os.kill(os.getppid(), signal.SIGKILL)\n"
    "    time.sleep(30)  # a signal takes a moment to arrive"
)


def test_every_job_comes_back_once(notebook: Write):
    source = notebook(shows_result("{'tag': tag}"))
    jobs = [Job(f"T{number}", b"{}", "inputs/u", 60, source) for number in range(5)]
    done = list(run_jobs(jobs, 2))
    assert sorted(job.tag for job, _ in done) == ["T0", "T1", "T2", "T3", "T4"]
    assert all(job.tag.encode() in (run.result or b"") for job, run in done)


@pytest.mark.skipif("not hasattr(__import__('signal'), 'SIGKILL')", reason="no such signal here")
def test_a_lost_worker_costs_only_the_tag_that_is_to_blame(notebook: Write):
    source = notebook(KILLS_ITS_WORKER, shows_result("{'tag': tag}"))
    jobs = [Job(tag, b"{}", "inputs/u", 60, source) for tag in ("T0", "BAD", "T1", "T2", "T3", "T4")]
    errors = {job.tag: run.error for job, run in run_jobs(jobs, 2)}
    assert "ended" in errors.pop("BAD")
    assert errors == dict.fromkeys(("T0", "T1", "T2", "T3", "T4"), "")


def test_no_job_is_no_work():
    assert list(run_jobs([], 1)) == []


def test_there_is_at_least_one_worker():
    assert available_workers() >= 1
