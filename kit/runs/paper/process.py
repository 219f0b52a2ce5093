"""What runs in the process of one PDF."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from multiprocessing.connection import Connection
from pathlib import Path

from kit.views.paper.about import About, Attached


def make(
    page: Path, to: Path, about: About, attached: Sequence[Attached], answers: Connection, time_limit_s: int
) -> None:
    """Write the PDF of a page; answer what failed ("" when nothing did) and the most memory in use [MB].

    Past the limit, of processor time, the operating system ends this process.
    """
    limit_processor_time(time_limit_s)
    try:
        from kit.views.paper.document import pdf_of

        to.parent.mkdir(parents=True, exist_ok=True)
        to.write_bytes(pdf_of(page.read_text(encoding="utf-8"), about, attached))
        error = ""
    except Exception as failure:  # one PDF may not stop the others
        error = say_why(failure)
    answers.send((error, _peak_mb()))


def limit_processor_time(seconds: int) -> None:
    """Have the system end this process when it has worked so long; waiting for others does not count."""
    if sys.platform == "win32":
        return  # it has no such limit: there the time that passes decides alone
    import resource

    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CPU, (max(seconds, 1), resource.RLIM_INFINITY))


def say_why(failure: Exception) -> str:
    """A failure in a line; where a library of the system is missing, what to install."""
    text = " ".join(f"{type(failure).__name__}: {failure}".split())
    if isinstance(failure, OSError) and "cannot load library" in text:
        return "PDF needs the system's library Pango (Debian: libpango-1.0-0, libpangoft2-1.0-0, libharfbuzz-subset0)"
    return text


def _peak_mb() -> float | None:
    if sys.platform == "win32":
        return None
    import resource

    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak * 1024 / 1e6  # there in bytes, elsewhere in kB
