"""Cost of the figures of a unit's reports: ``python -m tests.benchmarks.figures [UNIT]``.

Draws all figures of each tag, in a process forked for it as the notebooks' kernels are, and prints processor time
and size beside their limits; ends with 1 where a tag is beyond one.
"""

from __future__ import annotations

import argparse
import gc
import json
import multiprocessing
import re
import statistics
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from kit.assessment import assess_tag
from kit.basis.records import TagRecords
from kit.records import read_unit, tag_records
from kit.runs.notebook.packaged import TAG_REPORT, notebook_path
from kit.views.pieces.parts import PLOTLY_MIME, SVG_MIME, Figure, compile_templates
from kit.views.report import sections

RUNS = 3  # of which the least counts: what else the machine does only adds
MOST_MS = 30.0
MOST_KB = 60.0
MOST_KB_WITH_RECORDING = 80.0
_SHOWN = re.compile(r"show\(sections\.(\w+)\(")


@dataclass(frozen=True)
class Cost:
    """The figures of one tag."""

    tag: str
    figures: int
    cpu_ms: float
    page_kb: float  # drawings and legends
    beside_kb: float  # what they are explored from, in the file beside the page
    most_kb: float

    @property
    def within(self) -> bool:
        return self.cpu_ms <= MOST_MS and self.page_kb <= self.most_kb


def cost_of(records: TagRecords) -> Cost:
    """Draw one tag's figures once, in this process."""
    assessment = assess_tag(records)
    names = _SHOWN.findall(notebook_path(TAG_REPORT).read_text(encoding="utf-8"))
    shown = (part for name in names for part in getattr(sections, name)(records, assessment))
    figures = [part for part in shown if isinstance(part, Figure)]
    started_s = time.process_time()
    leads = [figure.lead() for figure in figures]
    bundles = [figure.bundle() for figure in figures]
    cpu_ms = 1e3 * (time.process_time() - started_s)
    legends = sum(len(lead.html.encode()) for lead in leads)
    page_kb = (legends + sum(len(each[SVG_MIME].encode()) for each in bundles)) / 1e3
    beside_kb = sum(len(json.dumps(each[PLOTLY_MIME], separators=(",", ":"))) for each in bundles) / 1e3
    most_kb = MOST_KB_WITH_RECORDING if records.recordings else MOST_KB
    return Cost(records.tag.tag, len(figures), cpu_ms, page_kb, beside_kb, most_kb)


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("unit", nargs="?", default="inputs/lime-works", type=Path)
    unit = read_unit(parser.parse_args().unit)
    each = [tag_records(unit, tag) for tag in unit.tags]
    compile_templates()
    gc.freeze()  # as the process does that kernels are forked from: else a collection walks the whole unit
    context = multiprocessing.get_context("fork")
    with context.Pool(1, maxtasksperchild=1) as pool:
        runs = [pool.map(cost_of, each, chunksize=1) for _ in range(RUNS)]
    costs = [min(of_tag, key=lambda one: one.cpu_ms) for of_tag in zip(*runs, strict=True)]
    print(f"{'tag':12}{'figures':>8}{'CPU ms':>8}{'page kB':>9}{'limit':>7}{'beside kB':>11}")
    for cost in sorted(costs, key=lambda one: -one.cpu_ms):
        told = "" if cost.within else "  beyond its limit"
        sizes = f"{cost.page_kb:>9.1f}{cost.most_kb:>7.0f}{cost.beside_kb:>11.1f}"
        print(f"{cost.tag:12}{cost.figures:>8}{cost.cpu_ms:>8.1f}{sizes}{told}")
    print(f"median {statistics.median(cost.cpu_ms for cost in costs):.1f} ms of {MOST_MS:.0f} ms")
    return 0 if all(cost.within for cost in costs) else 1


if __name__ == "__main__":
    sys.exit(main())
