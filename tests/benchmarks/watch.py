"""From a save to the page, by the command itself: ``python -m tests.benchmarks.watch``.

Watches FV-102 and FV-125 in a copy of the demo unit. A reading is saved with another last digit, by a file written
apart and renamed; the time runs until another page stands in its place. Prints median and slowest, and the processor
time that a save costs in all processes of the watch, which other work on the machine moves less.
"""

from __future__ import annotations

import argparse
import csv
import io
import os
import platform
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import psutil

from kit.demo import lay_down_demo

SAVED: Final = {  # by tag: the file that is saved, and the column whose first cell of the tag changes
    "FV-102": ("records/kiln/readings-kiln.csv", "position_deg"),
    "FV-125": ("records/hydrator/electrical-hydrator.csv", "insulation_mohm"),
}
_POLL_S: Final = 0.002
_LONGEST_S: Final = 300.0
_BETWEEN_S: Final = 0.3  # so that a save meets an idle watch


def saves(unit: Path, outputs: Path, tag: str, number: int) -> Iterator[tuple[float, float]]:
    """Seconds to the page and seconds of processor time of ``number`` saves, the page of the tag watched meanwhile."""
    command = [sys.executable, "-m", "kit.cli", "watch", str(unit), tag, "--out", str(outputs)]
    page = outputs / "tags" / tag / "report.html"
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as watching:
        try:
            assert watching.stdout is not None
            while not watching.stdout.readline().startswith("Watching"):
                assert watching.poll() is None, "the watching ended by itself"
            time.sleep(_BETWEEN_S)
            for count in range(number):
                used_s = _used_s(watching.pid)
                seconds = _one_save(unit / SAVED[tag][0], SAVED[tag][1], tag, page, count)
                time.sleep(_BETWEEN_S)
                yield seconds, _used_s(watching.pid) - used_s
        finally:
            watching.send_signal(signal.SIGINT)


def _used_s(process_id: int) -> float:
    """Processor time of a process and of all that it began, those that ended and were waited for included."""
    watching = psutil.Process(process_id)
    return sum(sum(each.cpu_times()[:4]) for each in (watching, *watching.children(recursive=True)))


def _one_save(path: Path, column: str, tag: str, page: Path, count: int) -> float:
    before, saved, apart = page.stat().st_ino, changed(path, column, tag, count), path.with_name(".saving")
    apart.write_text(saved, encoding="utf-8", newline="")
    started_s = time.perf_counter()
    apart.replace(path)
    while not page.exists() or page.stat().st_ino == before:
        time.sleep(_POLL_S)
        assert time.perf_counter() - started_s < _LONGEST_S, "no page came of it"
    return time.perf_counter() - started_s


def changed(path: Path, column: str, tag: str, count: int) -> str:
    """The file with the tag's first cell of the column a hundredth more or less."""
    rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8-sig"))))
    row = next(each for each in rows if each[0] == tag)
    place = rows[0].index(column)
    row[place] = f"{float(row[place]) + (0.01 if count % 2 else -0.01):.2f}"
    written = io.StringIO()
    csv.writer(written, lineterminator="\n").writerows(rows)
    return written.getvalue()


def main() -> None:
    """Watch, save, and print the figures with the machine."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--saves", type=int, default=9, help="saves of each tag (default 9)")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        unit = Path(folder, "inputs", "lime-works")
        lay_down_demo(unit)
        for tag in SAVED:
            seconds, used = zip(*saves(unit, Path(folder, "outputs"), tag, chosen.saves), strict=True)
            median, slowest = statistics.median(seconds), max(seconds)
            print(
                f"{tag}: {1e3 * median:.0f} ms from the save to the page, slowest {1e3 * slowest:.0f} ms, "
                f"{1e3 * statistics.median(used):.0f} ms of processor time",
                flush=True,
            )
    load = f"{os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "unknown"
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}, load {load}")


if __name__ == "__main__":
    main()
