"""Cost of one long recording: ``python -m tests.benchmarks.long_recording``.

Reads, cuts and reduces 30 minutes at 100 Hz with six columns (180,000 rows) from CSV and from Parquet, and prints
the processor time and the peak memory with the machine.
"""

from __future__ import annotations

import argparse
import os
import platform
import resource
import statistics
import time

import numpy as np

from kit.assessment.recordings.stage_recordings import ideal_of
from kit.basis.records import RecordingFile
from kit.basis.registers import Tag
from kit.calculations.recordings.reduce import reduce_recording
from kit.records.recordings.read import read_recording
from tests.making.valves import Logger, VirtualValve, commissioning_routine, csv_text, parquet_bytes, simulate

CHANNELS = ("command", "feedback", "position", "closed_switch", "open_switch")


def main() -> None:
    """Time the reduction and print the figures with the machine."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--repeats", type=int, default=5, help="passes; the median counts (default 5)")
    chosen = parser.parse_args()
    generator = np.random.default_rng(1)
    valve = VirtualValve()
    routine = commissioning_routine(valve, generator)
    routine = routine.rest(max(1.0, 1800.0 - routine.duration_s))
    recorded, _ = simulate(valve, routine, Logger(rate_hz=100.0, channels=CHANNELS), generator=generator)
    tag = Tag(
        "T",
        travel=valve.travel,
        travel_unit="deg",
        command_range=valve.command_range,
        feedback_range=valve.feedback_range,
    )
    for suffix, data in ((".csv", csv_text(recorded).encode()), (".parquet", parquet_bytes(recorded))):
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        log = RecordingFile(f"logs/T/1.as_left{suffix}", "T", "1", "as_left", "", "")
        seconds = []
        for _ in range(chosen.repeats):
            start = time.process_time()
            reading = read_recording(log, data, tag)
            assert reading.recording is not None
            reduce_recording(reading.recording, ideal_of(tag))
            seconds.append(time.process_time() - start)
        more = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
        rows = reading.count.used
        size = len(data) / 2**20
        print(f"{suffix}: {rows} rows, {len(recorded.columns)} columns, {size:.1f} MB: ", end="")
        print(f"{statistics.median(seconds):.2f} s of one core, peak memory {more:.0f} MB above the start")
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, numpy {np.__version__}")


if __name__ == "__main__":
    main()
