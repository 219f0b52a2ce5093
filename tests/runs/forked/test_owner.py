"""Whatever is killed, nothing is left running and nothing lies about."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import psutil
import pytest

Write = Callable[..., Path]
_SECONDS = 20
_TELLS = """\
import json, os, pathlib, time
place = pathlib.Path(unit).parent
pathlib.Path({folder!r}, tag + '.part').write_text(json.dumps([os.getpid(), os.getppid(), str(place)]))
os.rename({folder!r} + '/' + tag + '.part', {folder!r} + '/' + tag + '.told')
time.sleep(600)
"""
_DRIVER = """\
import sys
from pathlib import Path
from kit.runs.forked.owner import shared_parent
from kit.runs.workers.jobs import Job
from kit.runs.workers.pool import run_jobs

if __name__ == "__main__":
    jobs = [Job(tag, b"{}", "inputs/u", 600, Path(sys.argv[1])) for tag in ("A", "B")]
    with shared_parent():
        for job, run in run_jobs(jobs, 2):
            print(job.tag, run.error, flush=True)
"""


def wait_until(holds: Callable[[], bool]) -> bool:
    end = time.monotonic() + _SECONDS
    while not holds() and time.monotonic() < end:
        time.sleep(0.05)
    return holds()


def living(pids: set[int]) -> set[int]:
    return {pid for pid in pids if psutil.pid_exists(pid) and psutil.Process(pid).status() != psutil.STATUS_ZOMBIE}


@pytest.fixture
def batch(notebook: Write, tmp_path: Path) -> Iterator[subprocess.Popen[bytes]]:
    """A driver with two workers, the parent and two kernels that sleep."""
    told = tmp_path / "told"
    told.mkdir()
    driver = tmp_path / "driver.py"
    driver.write_text(_DRIVER, encoding="utf-8")
    source = notebook(_TELLS.format(folder=str(told)))
    environment = {**os.environ, "TMPDIR": str(tmp_path)}
    root = str(Path(__file__).parents[3])
    environment["PYTHONPATH"] = os.pathsep.join([root, environment.get("PYTHONPATH", "")]).strip(os.pathsep)
    process = subprocess.Popen([sys.executable, driver, source], env=environment, stdout=subprocess.PIPE)
    try:
        assert wait_until(lambda: len(list(told.glob("*.told"))) == 2)
        yield process
    finally:
        process.kill()
        process.communicate()


def processes(tmp_path: Path, driver: subprocess.Popen[bytes]) -> tuple[set[int], set[int], int]:
    """Kernels, everything below the driver, the parent."""
    told = [json.loads(path.read_text()) for path in (tmp_path / "told").glob("*.told")]
    below = {child.pid for child in psutil.Process(driver.pid).children(recursive=True)}
    return {each[0] for each in told}, below, told[0][1]


def test_a_killed_driver_leaves_nothing(batch: subprocess.Popen[bytes], tmp_path: Path) -> None:
    kernels, below, parent = processes(tmp_path, batch)
    assert {*kernels, parent} <= below
    batch.kill()
    assert wait_until(lambda: not living(below))
    assert wait_until(lambda: not list(tmp_path.glob("strokebook-*/parent")))


def test_an_interrupted_driver_leaves_nothing(batch: subprocess.Popen[bytes], tmp_path: Path) -> None:
    _, below, _ = processes(tmp_path, batch)
    batch.send_signal(signal.SIGTERM)
    assert wait_until(lambda: not living(below))


def test_a_killed_worker_takes_its_kernel_along(batch: subprocess.Popen[bytes], tmp_path: Path) -> None:
    kernels, below, parent = processes(tmp_path, batch)
    command = {pid: " ".join(psutil.Process(pid).cmdline()) for pid in below - kernels - {parent}}
    workers = {pid for pid, words in command.items() if "spawn_main" in words}
    assert len(workers) == 2
    for pid in workers:
        os.kill(pid, signal.SIGKILL)
    assert wait_until(lambda: not living({*kernels, *workers}))


def test_a_killed_parent_takes_its_kernels_along(batch: subprocess.Popen[bytes], tmp_path: Path) -> None:
    kernels, _, parent = processes(tmp_path, batch)
    os.kill(parent, signal.SIGKILL)
    assert wait_until(lambda: not living({*kernels, parent}))
    batch.kill()
    assert wait_until(lambda: not psutil.Process().children(recursive=True) or batch.poll() is not None)


def test_a_killed_kernel_is_told_of_and_leaves_nothing(batch: subprocess.Popen[bytes], tmp_path: Path) -> None:
    told = tmp_path / "told"
    _, below, _ = processes(tmp_path, batch)
    for _ in ("all cells at once", "cell by cell"):  # the second run is to say in which cell it ends
        assert wait_until(lambda: len(list(told.glob("*.told"))) == 2)
        kernels, _, _ = processes(tmp_path, batch)
        for path in told.glob("*.told"):
            path.unlink()
        for pid in kernels:
            os.kill(pid, signal.SIGKILL)
    said, _ = batch.communicate(timeout=_SECONDS)
    assert said.count(b"Process ended") == 2
    assert wait_until(lambda: not living(below))
    assert list(tmp_path.glob("strokebook-*")) == []
