"""PDFs made one a process: each forked from one that has imported the library, so that memory stays flat."""

from __future__ import annotations

import contextlib
import multiprocessing
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Final

from kit.runs.paper.process import make
from kit.views.paper.about import About, Attached

LOST: Final = "the process that made this PDF ended: killed, or out of memory"
_LOOK_EVERY_S: Final = 1.0  # for one past its time
_PRELOADED: Final = ("__main__", "kit.views.paper.document")


@dataclass(frozen=True, slots=True)
class PaperJob:
    """One PDF to make."""

    tag: str
    page: Path  # the HTML it is made from
    to: Path  # where it is written
    about: About
    attached: tuple[Attached, ...]


@dataclass(frozen=True, slots=True)
class PaperDone:
    """What became of one PDF."""

    job: PaperJob
    error: str  # "" when it was made
    seconds: float
    peak_memory_mb: float | None  # of its process; None: not known here


@dataclass(slots=True)
class _UnderWay:
    job: PaperJob
    process: BaseProcess
    answers: Connection
    began_s: float


def make_papers(jobs: Iterable[PaperJob], *, workers: int, time_limit_s: float) -> Iterator[PaperDone]:
    """Make every PDF, as they finish, ``workers`` at a time; one that fails is told, and the next one made."""
    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")
    if "forkserver" in methods:
        context.set_forkserver_preload(list(_PRELOADED))
    waiting, under_way = iter(jobs), list[_UnderWay]()
    try:
        while True:
            while len(under_way) < workers and (job := next(waiting, None)) is not None:
                under_way.append(_begun(context, job))
            if not under_way:
                return
            wait([each.answers for each in under_way], timeout=_LOOK_EVERY_S)
            for each in [one for one in under_way if _is_over(one, time_limit_s)]:
                under_way.remove(each)
                yield _ended(each, time_limit_s)
    finally:
        for each in under_way:
            each.process.kill()
            each.process.join()


def _begun(context: multiprocessing.context.BaseContext, job: PaperJob) -> _UnderWay:
    answers, asked = context.Pipe(duplex=False)
    process = context.Process(target=make, args=(job.page, job.to, job.about, job.attached, asked), daemon=True)  # type: ignore[attr-defined]
    began_s = time.monotonic()
    process.start()
    asked.close()  # so that the end of the process is the end of the pipe
    return _UnderWay(job, process, answers, began_s)


def _is_over(each: _UnderWay, time_limit_s: float) -> bool:
    return each.answers.poll() or time.monotonic() - each.began_s > time_limit_s


def _ended(each: _UnderWay, time_limit_s: float) -> PaperDone:
    error, peak_mb = LOST, None
    if each.answers.poll():
        with contextlib.suppress(EOFError):
            error, peak_mb = each.answers.recv()
    else:
        error = f"the PDF took longer than {time_limit_s:g} s. Give a longer --tag-timeout."
        each.process.kill()
    each.process.join()
    each.answers.close()
    return PaperDone(each.job, error, time.monotonic() - each.began_s, peak_mb)
