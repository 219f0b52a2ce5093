"""Cost of the static checks of a unit: ``python -m tests.benchmarks.static_checks``.

Reduces 33 readings a tag (two cycles up and down over nine commands) to every position and every
feedback check, weights included, for 10,000 invented tags, and prints the time and the machine.
"""

from __future__ import annotations

import argparse
import os
import platform
import statistics
import time
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from kit.calculations.both_ways import hysteretic_error
from kit.calculations.linearity import independent_linearity, terminal_linearity, zero_based_linearity
from kit.calculations.position import (
    inaccuracy,
    reduce_runs,
    repeatability,
    span_error,
    zero_error,
)

POSITION_CHECKS = (
    zero_error,
    span_error,
    inaccuracy,
    independent_linearity,
    terminal_linearity,
    zero_based_linearity,
    hysteretic_error,
    repeatability,
)
FEEDBACK_CHECKS = (zero_error, span_error, inaccuracy, independent_linearity, hysteretic_error)


@dataclass(frozen=True)
class Readings:
    """One invented tag's readings, shape (n,)."""

    command_pct: NDArray[np.float64]
    position_error_pct: NDArray[np.float64]
    feedback_error_pct: NDArray[np.float64]
    rising: NDArray[np.bool_]
    cycle: NDArray[np.float64]


def invented_tag(generator: np.random.Generator) -> Readings:
    """33 readings: 0 to 100 % and back twice in steps of 12.5 %, the turning points once."""
    step = np.concatenate((np.arange(9), np.arange(7, -1, -1)))
    steps = np.concatenate((step, step[1:]))
    rising = np.concatenate((np.arange(17) < 9, np.arange(1, 17) < 9))
    cycle = np.concatenate((np.ones(17), np.full(16, 2.0)))
    noise = generator.normal(0.0, 0.05, (3, steps.size))
    return Readings(12.5 * steps + noise[0], np.where(rising, -0.2, 0.2) + noise[1], noise[2], rising, cycle)


def static_checks(tag: Readings) -> int:
    """Every position and feedback check of one tag; the number that came to a value."""
    runs = reduce_runs(tag.command_pct, tag.position_error_pct, tag.rising, tag.cycle)
    position_pct = tag.command_pct + tag.position_error_pct
    feedback = reduce_runs(tag.command_pct, tag.feedback_error_pct, tag.rising, tag.cycle, input_pct=position_pct)
    found = [check(runs) for check in POSITION_CHECKS] + [check(feedback) for check in FEEDBACK_CHECKS]
    return sum(figure.value is not None for figure in found)


def main() -> None:
    """Time the checks and print the figure with the machine."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--tags", type=int, default=10_000, help="tags to reduce (default 10,000)")
    parser.add_argument("--repeats", type=int, default=3, help="passes; the median counts (default 3)")
    chosen = parser.parse_args()
    generator = np.random.default_rng(1)
    tags = [invented_tag(generator) for _ in range(chosen.tags)]
    seconds, processor = [], []
    for _ in range(chosen.repeats):
        start, used = time.perf_counter(), time.process_time()
        values = sum(map(static_checks, tags))
        seconds.append(time.perf_counter() - start)
        processor.append(time.process_time() - used)
    median, cpu = statistics.median(seconds), statistics.median(processor)
    print(f"{chosen.tags} tags, {tags[0].command_pct.size} readings each, {values // chosen.tags} checks a tag")
    print(f"{median:.2f} s in all, {1e3 * median / chosen.tags:.3f} ms a tag (median of {chosen.repeats}, one core)")
    print(f"{cpu:.2f} s of processor time, {1e3 * cpu / chosen.tags:.3f} ms a tag")
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, numpy {np.__version__}")


if __name__ == "__main__":
    main()
