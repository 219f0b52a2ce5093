"""A job, and many of them under way: what a pool of processes and a cluster have in common."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass, replace

from kit.runs.engines import Engine
from kit.runs.notebook.execute import TagRun, failed_run, run_tag
from kit.runs.notebook.memory import last_peak_mb
from kit.runs.notebook.source import Source


@dataclass(frozen=True, slots=True)
class Job:
    """One tag to run."""

    tag: str
    slice_bytes: bytes
    unit: str
    time_limit_s: int
    notebook: Source | None = None  # None: the packaged one
    engine: Engine = "fast"


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
