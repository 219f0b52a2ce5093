"""Worker processes on this machine: bounded work in flight, one lost worker harms one tag."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from typing import Final

import psutil

from kit.runs.engines import ends_by_itself
from kit.runs.errors import RunError
from kit.runs.notebook.execute import LOST, TagRun, failed_run
from kit.runs.workers.jobs import Job, outcome_of, run_job, run_until_lost

_NONE_BEGAN: Final = (
    "Worker processes end before they begin their first job; what they said stands above. Each of them imports the "
    'script that started the batch: put its calls under `if __name__ == "__main__":`, so that it can be imported. '
    "If it has that line, or is none of yours, there may be too little memory: give fewer --workers."
)


def available_workers() -> int:
    """Processor cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def run_jobs(jobs: Iterable[Job], workers: int) -> Generator[tuple[Job, TagRun], None, None]:
    """Run every job, as they finish. Never more than two a worker are in flight.

    Where a worker process is lost (killed, out of memory), the jobs that were with it are run again
    one at a time, each in a process of its own, so that only the one to blame is reported. Where this
    process is interrupted or killed, its workers and their notebooks end with it.

    Raises
    ------
    RunError
        If no worker lives long enough to begin a job.
    """
    waiting = iter(jobs)
    while True:
        with _pool(workers) as (pool, _):
            lost = yield from run_until_lost(
                lambda job: pool.submit(run_job, job), waiting, 2 * workers, BrokenProcessPool
            )
        if not lost:
            return
        for job in lost:
            yield job, _run_alone(job)


def _run_alone(job: Job) -> TagRun:
    with _pool(1) as (pool, begun):
        future = pool.submit(run_job, job)
        if isinstance(future.exception(), BrokenProcessPool):
            if not begun.is_set():
                raise RunError(_NONE_BEGAN)
            return failed_run(job.tag, LOST)
        return outcome_of(job, future)


@contextlib.contextmanager
def _pool(workers: int) -> Iterator[tuple[Executor, Event]]:
    """Worker processes that end when this one does, and at once when the block is left by an error.

    With them an event that the first of them sets when it is ready for a job.

    Each watches the far end of a pipe that this process alone holds: the system closes it, whatever
    ends this process.
    """
    context = multiprocessing.get_context("spawn")
    watched, held = context.Pipe(duplex=False)
    begun = context.Event()
    pool = ProcessPoolExecutor(workers, context, initializer=_start_worker, initargs=(watched, begun))
    try:
        yield pool, begun
    except BaseException:
        held.close()
        pool.shutdown(wait=True, cancel_futures=True)
        raise
    finally:
        pool.shutdown(wait=True)
        held.close()
        watched.close()


def _start_worker(watched: Connection, begun: Event) -> None:
    """Ctrl-C is for the driver, which ends its workers by the pipe. Where it is gone already, nothing is begun."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if watched.poll():
        os._exit(1)
    threading.Thread(target=_end_with_driver, args=(watched,), daemon=True).start()
    begun.set()


def _end_with_driver(watched: Connection) -> None:
    with contextlib.suppress(EOFError, OSError):
        watched.recv_bytes()  # nothing is ever sent: this returns when the driver is gone
    for child in psutil.Process().children(recursive=True):
        with contextlib.suppress(psutil.Error):
            if not ends_by_itself(child.cmdline()):
                child.kill()
    os._exit(1)
