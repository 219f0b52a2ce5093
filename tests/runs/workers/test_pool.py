"""Many notebooks at once, and lost workers."""

from __future__ import annotations

import os
import subprocess
import sys
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
    jobs = [Job(tag, b"{}", "inputs/u", 60, source) for tag in ("T0", "BAD", "T1")]
    errors = {job.tag: run.error for job, run in run_jobs(jobs, 2)}
    assert "ended" in errors.pop("BAD")
    assert errors == dict.fromkeys(("T0", "T1"), "")


UNGUARDED = """\
import sys
from pathlib import Path
from kit.runs.batch import run_batch

run_batch(Path(sys.argv[1]), Path(sys.argv[2]), workers=1, engine="plain")
"""


def test_workers_that_end_before_their_first_job_end_the_batch_and_say_why(small_unit: Path, tmp_path: Path):
    """A script without a guard is imported by each worker, which starts the batch again."""
    script = tmp_path / "unguarded.py"
    script.write_text(UNGUARDED, encoding="utf-8")
    command = [sys.executable, str(script), str(small_unit), str(tmp_path / "outputs")]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[3])}
    done = subprocess.run(command, capture_output=True, encoding="utf-8", timeout=120, check=False, env=environment)
    assert done.returncode != 0
    last = done.stderr.splitlines()[-1]
    assert "RunError: Worker processes end before they begin their first job" in last
    assert 'if __name__ == "__main__":' in last
    assert not (tmp_path / "outputs").exists()


def test_no_job_is_no_work():
    assert list(run_jobs([], 1)) == []


def test_there_is_at_least_one_worker():
    assert available_workers() >= 1
