"""Many reports as PDF in one command: ``python -m tests.benchmarks.papers --tags 200``.

Lays down an invented unit, runs its batch with every report as PDF and prints, every so many: how many are made,
the time that passed, what this process holds in memory, and the most that the process of one PDF held. Ends with 1
where a PDF failed, or where this process holds more at the end than soon after the start, beyond a margin.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from kit.runs.batch import run_batch
from kit.runs.done import TagDone
from tests.benchmarks.make_unit import make_unit

MOST_GROWTH_MB = 20.0
_SETTLED_AFTER = 10  # PDFs: by then what is imported late has been
_LOGS_A_TAG = 1 / 10


@dataclass
class Watched:
    """What was seen of the PDFs as they were made."""

    every: int
    began_s: float = 0.0
    held_mb: list[float] = field(default_factory=list)
    peak_mb: list[float] = field(default_factory=list)
    taken_s: list[float] = field(default_factory=list)

    def __call__(self, each: TagDone) -> None:
        """Note one tag; print a line every so many."""
        now_s = time.monotonic()
        if each.made == "reports":
            self.began_s = now_s  # the PDFs begin when the last notebook has run
            return
        self.held_mb.append(held_mb())
        self.peak_mb.append(each.peak_memory_mb or 0.0)
        self.taken_s.append(each.seconds)
        if each.done % self.every == 0 or each.done == each.of:
            passed = f"{now_s - self.began_s:6.0f} s"
            print(
                f"{each.done:5} of {each.of} {passed}  {self.held_mb[-1]:6.1f} MB  {max(self.peak_mb):6.1f} MB",
                flush=True,
            )

    @property
    def growth_mb(self) -> float:
        """What this process holds more at the end than when it had settled [MB]."""
        return self.held_mb[-1] - self.held_mb[min(_SETTLED_AFTER, len(self.held_mb)) - 1]


def held_mb() -> float:
    """Resident memory of this process [MB]."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * resource.getpagesize() / 1e6


def main() -> int:
    """Measure, print, and say by the exit whether it went well."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tags", type=int, default=200, help="reports to make (default 200)")
    parser.add_argument("--workers", type=int, help="PDFs at a time (default: one a core)")
    parser.add_argument("--every", type=int, default=20, help="PDFs a line (default 20)")
    chosen = parser.parse_args()
    watched = Watched(chosen.every)
    with tempfile.TemporaryDirectory() as scratch:
        unit, outputs = Path(scratch) / "unit", Path(scratch) / "out"
        make_unit(unit, chosen.tags, round(chosen.tags * _LOGS_A_TAG))
        print(f"{'PDFs':>12} {'passed':>8}  {'held here':>9}  {'most in one':>9}")
        made = run_batch(unit, outputs, workers=chosen.workers, progress=watched, pdf_of=())
        sizes = [path.stat().st_size for path in outputs.glob("tags/*/report.pdf")]
    if not watched.held_mb:
        print("No PDF was asked for.")
        return 1
    print(
        f"{len(made.pdfs)} PDFs, {len(made.no_pdf)} failed; {statistics.median(sizes or [0]) / 1e3:.0f} kB and "
        f"{statistics.median(watched.taken_s):.1f} s each as medians; growth here {watched.growth_mb:.1f} MB"
    )
    return int(bool(made.no_pdf) or watched.growth_mb > MOST_GROWTH_MB)


if __name__ == "__main__":
    sys.exit(main())
