"""PDFs made one a process: each forked from one that has imported the library, so that memory stays flat."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Final

from kit.runs.paper.process import make
from kit.views.paper.about import About, Attached

_OUT_OF_TIME: Final = -int(getattr(signal, "SIGXCPU", 1000))  # the exit of one at its limit; no such signal: never
_LONGER: Final = "Give a longer --tag-timeout."
LOST: Final = "the process that made this PDF ended: killed, or out of memory"
_WAITS_PER_S: Final = 20  # a loaded machine gives a process a small share; past that many times its limit it hangs
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


def make_papers(jobs: Iterable[PaperJob], *, workers: int, time_limit_s: int) -> Iterator[PaperDone]:
    """Make every PDF, as they finish, ``workers`` at a time; one that fails is told, and the next one made.

    The limit is of processor time, so that no PDF is lost where the machine has other things to do.
    """
    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")
    if "forkserver" in methods:
        context.set_forkserver_preload(list(_PRELOADED))
    waiting, under_way = iter(jobs), list[_UnderWay]()
    try:
        while True:
            while len(under_way) < workers and (job := next(waiting, None)) is not None:
                under_way.append(_begun(context, job, time_limit_s))
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


def _begun(context: multiprocessing.context.BaseContext, job: PaperJob, time_limit_s: int) -> _UnderWay:
    answers, asked = context.Pipe(duplex=False)
    told = (job.page, job.to, job.about, job.attached, asked, time_limit_s)
    process = context.Process(target=make, args=told, daemon=True)  # type: ignore[attr-defined]
    began_s = time.monotonic()
    process.start()
    asked.close()  # so that the end of the process is the end of the pipe
    return _UnderWay(job, process, answers, began_s)


def _is_over(each: _UnderWay, time_limit_s: int) -> bool:
    return each.answers.poll() or time.monotonic() - each.began_s > _WAITS_PER_S * time_limit_s


def _ended(each: _UnderWay, time_limit_s: int) -> PaperDone:
    error, peak_mb = "", None
    answered = False
    if each.answers.poll():
        with contextlib.suppress(EOFError):
            error, peak_mb = each.answers.recv()
            answered = True
    else:
        each.process.kill()
        error, answered = f"the PDF was not done after {_WAITS_PER_S * time_limit_s} s. {_LONGER}", True
    each.process.join()
    each.answers.close()
    if not answered:
        out_of_time = each.process.exitcode == _OUT_OF_TIME
        error = f"the PDF took more than {time_limit_s} s of processor time. {_LONGER}" if out_of_time else LOST
    return PaperDone(each.job, error, time.monotonic() - each.began_s, peak_mb)
