"""Many notebooks at once: worker processes, bounded work in flight, one lost worker harms one tag."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, replace
from multiprocessing.connection import Connection
from pathlib import Path

import psutil

from kit.runs.execute import Engine, TagRun, failed_run, run_tag
from kit.runs.kernels.owner import MODULE
from kit.runs.usage import last_peak_mb

LOST = "the process that ran this notebook ended: killed, or out of memory"


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


def run_job(job: Job) -> TagRun:
    """One job, timed: what a worker does, here or on another machine."""
    started_s = time.perf_counter()
    outcome = run_tag(
        job.tag,
        job.slice_bytes,
        job.unit,
        notebook=job.notebook,
        time_limit_s=job.time_limit_s,
        engine=job.engine,
    )
    return replace(outcome, seconds=time.perf_counter() - started_s, peak_memory_mb=last_peak_mb())


def run_jobs(jobs: Iterable[Job], workers: int) -> Generator[tuple[Job, TagRun], None, None]:
    """Run every job, as they finish. Never more than two a worker are in flight.

    Where a worker process is lost (killed, out of memory), the jobs that were with it are run again
    one at a time, each in a process of its own, so that only the one to blame is reported. Where this
    process is interrupted or killed, its workers and their notebooks end with it.
    """
    waiting = iter(jobs)
    while True:
        with _pool(workers) as pool:
            lost = yield from run_until_lost(
                lambda job: pool.submit(run_job, job), waiting, 2 * workers, BrokenProcessPool
            )
        if not lost:
            return
        for job in lost:
            yield job, _run_alone(job)


def run_until_lost(
    submit: Callable[[Job], Future[TagRun]], waiting: Iterator[Job], window: int, lost_kind: type[BaseException]
) -> Generator[tuple[Job, TagRun], None, list[Job]]:
    """Yield what finishes, ``window`` in flight; return what was in flight when a worker was lost."""
    in_flight: dict[Future[TagRun], Job] = {}
    lost: list[Job] = []
    while not lost:
        lost = _fill(submit, waiting, in_flight, window, lost_kind)
        if not in_flight:
            break
        done, _ = wait(in_flight, return_when=FIRST_COMPLETED)
        for future in done:
            job = in_flight.pop(future)
            if isinstance(future.exception(), lost_kind):
                lost.append(job)
            else:
                yield job, outcome_of(job, future)
    return [*lost, *in_flight.values()] if lost else []


def outcome_of(job: Job, future: Future[TagRun]) -> TagRun:
    """What a job left; an error of the worker is the job's."""
    error = future.exception()
    if error is not None:
        return failed_run(job.tag, f"{type(error).__name__}: {error}")
    return future.result()


def _fill(
    submit: Callable[[Job], Future[TagRun]],
    waiting: Iterator[Job],
    in_flight: dict[Future[TagRun], Job],
    window: int,
    lost_kind: type[BaseException],
) -> list[Job]:
    """Submit until the window is full; a job that a broken pool refuses comes back."""
    while len(in_flight) < window:
        job = next(waiting, None)
        if job is None:
            break
        try:
            in_flight[submit(job)] = job
        except lost_kind:
            return [job]
    return []


def _run_alone(job: Job) -> TagRun:
    with _pool(1) as pool:
        future = pool.submit(run_job, job)
        if isinstance(future.exception(), BrokenProcessPool):
            return failed_run(job.tag, LOST)
        return outcome_of(job, future)


@contextlib.contextmanager
def _pool(workers: int) -> Iterator[Executor]:
    """Worker processes that end when this one does, and at once when the block is left by an error.

    Each watches the far end of a pipe that this process alone holds: the system closes it, whatever
    ends this process.
    """
    context = multiprocessing.get_context("spawn")
    watched, held = context.Pipe(duplex=False)
    pool = ProcessPoolExecutor(workers, context, initializer=_start_worker, initargs=(watched,))
    try:
        yield pool
    except BaseException:
        held.close()
        pool.shutdown(wait=True, cancel_futures=True)
        raise
    finally:
        pool.shutdown(wait=True)
        held.close()
        watched.close()


def _start_worker(watched: Connection) -> None:
    """Ctrl-C is for the driver, which ends its workers by the pipe. Where it is gone already, nothing is begun."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if watched.poll():
        os._exit(1)
    threading.Thread(target=_end_with_driver, args=(watched,), daemon=True).start()


def _end_with_driver(watched: Connection) -> None:
    with contextlib.suppress(EOFError, OSError):
        watched.recv_bytes()  # nothing is ever sent: this returns when the driver is gone
    for child in psutil.Process().children(recursive=True):
        with contextlib.suppress(psutil.Error):
            if MODULE not in child.cmdline():  # a parent of this process's own ends with it, and clears its folder away
                child.kill()
    os._exit(1)
