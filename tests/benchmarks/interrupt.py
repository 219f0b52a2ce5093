"""Kill a batch at random moments, in every way, and hold what is left and what follows to what was promised.

    python -m tests.benchmarks.interrupt --moments 100

Each round starts a batch on a small unit, waits for a random moment and kills something: the driver, the driver
as Ctrl-C does, a worker, a kernel or the preloaded parent. After it: no process is left, no file is half written, a
tag's files are of one run; a killed kernel is one page's failure, and said. The next batch must end with the bytes of
one that nothing disturbed, and no temporary file be left.
"""

from __future__ import annotations

import argparse
import contextlib
import itertools
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import psutil

from tests.benchmarks.make_unit import make_unit

WAYS = ("driver", "interrupt", "worker", "kernel", "parent")
TOO_LATE = "ended already"
TAGS = 12
_GONE_WITHIN_S = 8.0
_REPORT_FILES = ("report.html", "report.ipynb", "result.json", "figures.js")


class BrokenPromiseError(AssertionError):
    """What a round found wrong."""


@dataclass(frozen=True)
class Ground:
    """A unit in two states, and what an undisturbed batch makes of the second after the first."""

    folder: Path
    before: dict[str, bytes]
    after: dict[str, bytes]
    seconds: float

    @property
    def unit(self) -> Path:
        return self.folder / "unit"


def prepare(folder: Path) -> Ground:
    """Two states of a small unit, and the outputs of a batch on each in turn."""
    unit = folder / "unit"
    make_unit(unit, TAGS, 0)
    _temporary(unit).mkdir()
    _batch(unit, folder / "outputs")
    shutil.copytree(folder / "outputs", folder / "start")
    before = contents(folder / "start")
    toml = unit / "unit.toml"
    toml.write_text(toml.read_text().replace("plus_minus = 1.5", "plus_minus = 1.4"))
    started_s = time.perf_counter()
    _batch(unit, folder / "outputs")
    return Ground(folder, before, contents(folder / "outputs"), time.perf_counter() - started_s)


def one_round(ground: Ground, way: str, chance: random.Random) -> str:
    """One interruption; what was found when it came.

    Raises
    ------
    BrokenPromiseError
        If anything is not as promised.
    """
    outputs = ground.folder / "outputs"
    shutil.rmtree(outputs)
    shutil.copytree(ground.folder / "start", outputs)
    driver = subprocess.Popen(
        _command(ground.unit, outputs),
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
        env=_environment(ground.unit),
    )
    time.sleep(chance.uniform(0.1, 0.9 * ground.seconds))
    hit = _strike(way, driver, chance)
    if way in ("driver", "interrupt"):
        family = _family(driver.pid) + hit.family
        driver.wait()
        _expect_gone(family)
    driver.wait()
    failed = _failed_pages(outputs)
    if failed and way != "kernel":
        raise BrokenPromiseError(f"{failed}: failed after a blow at the {way}, not at a kernel")
    if not failed:
        _expect_whole(outputs, ground)
    _batch(ground.unit, outputs)
    _expect_same(contents(outputs), ground.after)
    left = sorted(path.name for path in _temporary(ground.unit).iterdir())
    if left:
        raise BrokenPromiseError(f"left among the temporary files after a blow at the {hit.what}: {left}")
    return hit.what


def contents(folder: Path) -> dict[str, bytes]:
    """Every file, with what a run works with."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def _command(unit: Path, outputs: Path) -> list[str]:
    return [sys.executable, "-m", "kit.cli", "batch", str(unit), "--out", str(outputs), "--workers", "2"]


def _temporary(unit: Path) -> Path:
    """Where a batch on this unit puts its temporary files."""
    return unit.with_name("t")


def _environment(unit: Path) -> dict[str, str]:
    return {**os.environ, "TMPDIR": str(_temporary(unit))}


def _batch(unit: Path, outputs: Path) -> None:
    done = subprocess.run(_command(unit, outputs), capture_output=True, text=True, check=False, env=_environment(unit))
    if done.returncode:
        raise BrokenPromiseError(f"a batch ended with {done.returncode}: {done.stderr[-2000:]}")


def _family(pid: int) -> list[psutil.Process]:
    try:
        return psutil.Process(pid).children(recursive=True)
    except psutil.NoSuchProcess:
        return []


@dataclass(frozen=True)
class Hit:
    """What was hit, and the driver's processes at that moment."""

    what: str
    family: list[psutil.Process]


def _strike(way: str, driver: subprocess.Popen[bytes], chance: random.Random) -> Hit:
    """Kill what the round is about; where there is none yet, soon after there is one."""
    while driver.poll() is None:
        family = _family(driver.pid)
        if way in ("driver", "interrupt"):
            driver.send_signal(signal.SIGINT if way == "interrupt" else signal.SIGKILL)
            return Hit(way, family)
        chosen = [process for process in family if _kind(process) == way]
        if chosen:
            time.sleep(chance.uniform(0, 0.1))
            with contextlib.suppress(psutil.Error):
                chance.choice(chosen).kill()
                return Hit(way, family)
        time.sleep(0.005)
    return Hit(TOO_LATE, [])


def _kind(process: psutil.Process) -> str:
    try:
        words, above = " ".join(process.cmdline()), process.parent()
        if "spawn_main" in words:
            return "worker"
        if "forked.parent" in words:
            return "kernel" if above is not None and "forked.parent" in " ".join(above.cmdline()) else "parent"
    except psutil.Error:
        pass
    return "other"


def _expect_gone(family: list[psutil.Process]) -> None:
    _, alive = psutil.wait_procs(family, timeout=_GONE_WITHIN_S)
    left = [process for process in alive if process.is_running() and process.status() != psutil.STATUS_ZOMBIE]
    if left:
        raise BrokenPromiseError(f"still there: {[' '.join(process.cmdline()) for process in left]}")


def _failed_pages(outputs: Path) -> list[str]:
    """Pages that say that their notebook failed, which a killed kernel makes of one, and rightly."""
    pages = [*sorted(outputs.glob("tags/*/report.html")), outputs / "index.html"]
    found = {page: re.search(r"This report is incomplete.*?<p>(.*?)</p>", page.read_text("utf-8")) for page in pages}
    return [f"{page.relative_to(outputs)}: {alert.group(1)}" for page, alert in found.items() if alert]


def _expect_whole(outputs: Path, ground: Ground) -> None:
    """Every visible file is whole, of before or of after, and a tag's files are of one run."""
    found = {name: data for name, data in contents(outputs).items() if not name.startswith(".running/")}
    known = (ground.before, ground.after)
    for name, data in found.items():
        if data not in [state.get(name) for state in known]:
            raise BrokenPromiseError(f"{name}: neither as before nor as after")
    for folder in {name.rsplit("/", 1)[0] for name in found if name.startswith("tags/")}:
        files = {f"{folder}/{name}": found.get(f"{folder}/{name}") for name in _REPORT_FILES}
        if not any(all(state.get(name) == data for name, data in files.items()) for state in known):
            raise BrokenPromiseError(f"{folder}: files of two runs side by side")


def _expect_same(found: dict[str, bytes], wanted: dict[str, bytes]) -> None:
    """The same files."""
    differing = [name for name in sorted(found.keys() | wanted.keys()) if found.get(name) != wanted.get(name)]
    if differing:
        raise BrokenPromiseError(f"not as undisturbed: {differing[:10]}")


def main() -> None:
    """Run the rounds and print what they hit."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--moments", type=int, default=100, help="blows that hit something (default 100)")
    parser.add_argument("--start_number", type=int, default=1, help="of the random moments (default 1)")
    chosen = parser.parse_args()
    chance = random.Random(chosen.start_number)
    hits: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        ground = prepare(Path(folder))
        for way in itertools.cycle(WAYS):
            hits[one_round(ground, way, chance)] += 1
            struck = hits.total() - hits[TOO_LATE]
            print(f"{struck} of {chosen.moments}: {dict(hits)}", file=sys.stderr, flush=True)
            if struck >= chosen.moments:
                break
    print(f"{struck} moments within {ground.seconds:.1f} s of work: all promises kept. Hit: {dict(hits)}")


if __name__ == "__main__":
    main()
