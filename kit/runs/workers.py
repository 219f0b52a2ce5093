"""Many notebooks at once: worker processes, bounded work in flight, one lost worker harms one tag."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path

from kit.runs.execute import Engine, TagRun, failed_run, run_tag


@dataclass(frozen=True, slots=True)
class Job:
    """One tag to run."""

    tag: str
    slice_bytes: bytes
    unit: str
    time_limit_s: int
    notebook: Path | None = None  # None: the packaged one
    engine: Engine = "fast"


def available_workers() -> int:
    """Processor cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def run_jobs(jobs: Iterable[Job], workers: int) -> Iterator[tuple[Job, TagRun]]:
    """Run every job, as they finish. Never more than two a worker are in flight.

    Where a worker process is lost (killed, out of memory), the jobs that were with it are run again
    one at a time, each in a process of its own, so that only the one to blame is reported.
    """
    waiting = iter(jobs)
    while True:
        with _pool(workers) as pool:
            lost = yield from _run_until_lost(pool, waiting, 2 * workers)
        if not lost:
            return
        for job in lost:
            yield job, _run_alone(job)


def _pool(workers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(workers, multiprocessing.get_context("spawn"), initializer=_leave_interrupts)


def _run_until_lost(
    pool: Executor, waiting: Iterator[Job], window: int
) -> Generator[tuple[Job, TagRun], None, list[Job]]:
    """Yield what finishes; return the jobs that were in flight when a worker was lost."""
    in_flight: dict[Future[TagRun], Job] = {}
    lost: list[Job] = []
    while not lost:
        lost = _fill(pool, waiting, in_flight, window)
        if not in_flight:
            break
        done, _ = wait(in_flight, return_when=FIRST_COMPLETED)
        for future in done:
            job = in_flight.pop(future)
            if isinstance(future.exception(), BrokenProcessPool):
                lost.append(job)
            else:
                yield job, _outcome(job, future)
    return [*lost, *in_flight.values()] if lost else []


def _fill(pool: Executor, waiting: Iterator[Job], in_flight: dict[Future[TagRun], Job], window: int) -> list[Job]:
    """Submit until the window is full; a job that a broken pool refuses comes back."""
    while len(in_flight) < window:
        job = next(waiting, None)
        if job is None:
            break
        try:
            in_flight[pool.submit(_work, job)] = job
        except BrokenProcessPool:
            return [job]
    return []


def _run_alone(job: Job) -> TagRun:
    with _pool(1) as pool:
        future = pool.submit(_work, job)
        if isinstance(future.exception(), BrokenProcessPool):
            return failed_run(job.tag, "the process that ran this notebook ended: killed, or out of memory")
        return _outcome(job, future)


def _outcome(job: Job, future: Future[TagRun]) -> TagRun:
    error = future.exception()
    if error is not None:
        return failed_run(job.tag, f"{type(error).__name__}: {error}")
    return future.result()


def _work(job: Job) -> TagRun:
    return run_tag(
        job.tag,
        job.slice_bytes,
        job.unit,
        notebook=job.notebook,
        time_limit_s=job.time_limit_s,
        engine=job.engine,
    )


def _leave_interrupts() -> None:
    """Ctrl-C is for the driver: it lets the notebooks in work end and starts no more."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_driver, daemon=True).start()


def _end_with_driver() -> None:
    """A pool's worker would wait for work for ever when its driver was killed."""
    driver = multiprocessing.parent_process()
    if driver is not None:
        driver.join()
        os._exit(1)
