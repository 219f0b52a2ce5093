"""The table of speeds, both sides in one session: ``python -m tests.benchmarks``.

Takes about ten minutes on two cores. Machines differ and cores are shared: read the ratios.
"""

from __future__ import annotations

import argparse
import itertools
import os
import platform
import statistics
import tempfile
from collections.abc import Callable
from importlib.metadata import version
from pathlib import Path

from tests.benchmarks.make_unit import make_unit
from tests.benchmarks.sides import Cost, batch, obvious_loop, plain_python, private_mb, slices


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tags", type=int, default=240, help="tags of the batch (default 240)")
    parser.add_argument("--sample", type=int, default=8, help="tags of the obvious loop (default 8)")
    parser.add_argument("--workers", type=int, default=2, help="worker processes of each side (default 2)")
    parser.add_argument("--repeats", type=int, default=3, help="runs of each side; the median counts (default 3)")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as scratch:
        for line in _table(Path(scratch), chosen.tags, chosen.sample, chosen.workers, chosen.repeats):
            print(line, flush=True)


def _table(scratch: Path, tags: int, sample: int, workers: int, repeats: int) -> list[str]:
    unit, outputs = scratch / "inputs" / "bench", scratch / "outputs" / "bench"
    few, few_outputs = scratch / "inputs" / "few", scratch / "outputs" / "few"
    a_tenth = max(tags // 10, 1)
    make_unit(unit, tags, 0)
    make_unit(few, a_tenth, 0)
    records = slices(unit)
    some = dict(itertools.islice(records.items(), sample))
    sides: dict[str, Callable[[], Cost]] = {
        "batch": lambda: batch(unit, outputs, workers, tags),
        "few": lambda: batch(few, few_outputs, workers, a_tenth),
        "loop": lambda: obvious_loop(scratch / "a", some, workers, with_parsers=True),
        "lean": lambda: obvious_loop(scratch / "b", some, workers, with_parsers=False),
        "plain": lambda: plain_python(records),
    }
    costs: dict[str, list[Cost]] = {name: [] for name in sides}
    for _ in range(repeats):  # side by side: each round measures every side
        for name, side in sides.items():
            costs[name].append(side())
    rate = {name: statistics.median(cost.a_minute for cost in found) for name, found in costs.items()}
    cpu = {name: statistics.median(cost.cpu_a_tag_s for cost in found) for name, found in costs.items()}
    further = statistics.median(
        (whole.cpu_s - part.cpu_s) / (tags - a_tenth) for whole, part in zip(costs["batch"], costs["few"], strict=True)
    )
    tag, data = next(iter(records.items()))
    size_kb = max(path.stat().st_size for path in outputs.glob("tags/*/report.html")) / 1000
    forked, cold = (private_mb(tag, data, scratch, engine) for engine in ("fast", "plain"))
    return [
        _machine(),
        f"{tags} tags of 33 readings, {workers} workers; the loop on {sample} of them; medians of {repeats} runs.",
        "",
        "| | obvious loop | the same without rfc3987_syntax | strokebook batch | ratio |",
        "| --- | --- | --- | --- | --- |",
        f"| tags a minute | {rate['loop']:.1f} | {rate['lean']:.1f} | {rate['batch']:.0f} "
        f"| {rate['batch'] / rate['loop']:.1f} x, {rate['batch'] / rate['lean']:.1f} x |",
        f"| CPU seconds a tag | {cpu['loop']:.2f} | {cpu['lean']:.2f} | {cpu['batch']:.3f} "
        f"| {cpu['loop'] / cpu['batch']:.1f} x, {cpu['lean'] / cpu['batch']:.1f} x |",
        "",
        f"Plain Python and Jinja in one process, start-up left out: {cpu['plain']:.4f} CPU seconds a tag; the batch "
        f"takes {cpu['batch'] / cpu['plain']:.1f} times that, and {further / cpu['plain']:.1f} times ({further:.3f} s) "
        f"for each tag further than {a_tenth}.",
        f"Private memory of a running tag: {forked:.0f} MB forked, {cold:.0f} MB in a kernel of its own.",
        f"Largest report.html: {size_kb:.0f} kB.",
    ]


def _machine() -> str:
    packages = ", ".join(f"{name} {version(name)}" for name in ("papermill", "nbclient", "nbconvert", "ipykernel"))
    python = platform.python_version()
    return f"{platform.machine()}, {os.cpu_count()} cores, {platform.system()}, Python {python}; {packages}"


if __name__ == "__main__":
    main()
