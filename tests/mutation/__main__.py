"""Draw single-line faults by a number, try each, and say which the tests did not notice."""

from __future__ import annotations

import argparse
import multiprocessing
import random
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path

from tests.mutation.faults import Fault, faults_of
from tests.mutation.tests_of import FOLDERS, Tests, tests_of
from tests.mutation.trial import Trial, begin, tried

ROOMS = tuple(FOLDERS)
_ROOT = Path(__file__).resolve().parents[2]


def drawn(room: str, count: int, number: int) -> list[Fault]:
    """``count`` lines of a room, each as likely as any other, and one fault of each."""
    lines: dict[tuple[str, int], list[Fault]] = {}
    for file in sorted((_ROOT / "kit" / room).rglob("*.py")):
        path = file.relative_to(_ROOT).as_posix()
        for fault in faults_of(path, file.read_bytes()):
            lines.setdefault((path, fault.line), []).append(fault)
    generator = random.Random(f"{number} {room}")
    places = sorted(lines)
    return [generator.choice(lines[place]) for place in generator.sample(places, min(count, len(places)))]


def trials(faults: list[Fault], tests: Tests, workers: int) -> Iterator[Trial]:
    """Try the faults, several at a time."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(workers, context, begin, (_ROOT,)) as pool:
        jobs = []
        for room in {fault.path.split("/")[1] for fault in faults}:
            _try_none(pool, tests, room)
        for fault in faults:
            names = tests.noticing(fault)
            jobs.append(pool.submit(tried, fault, names, {each: tests.seconds[each] for each in names}))
        for job in as_completed(jobs):
            yield job.result()


def _try_none(pool: ProcessPoolExecutor, tests: Tests, room: str) -> None:
    """Without a fault the quickest tests of a room must pass where faults are tried; else everything is killed."""
    names = sorted((name for name in tests.names if name.startswith(f"tests/{room}/")), key=tests.seconds.__getitem__)
    none = Fault(f"kit/{room}/__init__.py", 1, 0, 0, "", "")
    seconds = {name: tests.seconds[name] for name in names[:50]}
    if pool.submit(tried, none, list(seconds), seconds).result().outcome != "survived":
        raise SystemExit(f"tests of {room} fail in a copy of the tree that has no fault: nothing can be told.")


def main() -> None:
    """Print a row a room, and every fault that no test noticed."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation", description=__doc__)
    parser.add_argument("--seed", type=int, default=1, help="the number that the faults are drawn by")
    parser.add_argument("--mutants", type=int, default=300, help="faults in all, shared evenly by the rooms")
    parser.add_argument("--room", choices=ROOMS, action="append", help="only this room; all faults are its own")
    parser.add_argument("--workers", type=int, default=2, help="faults tried at a time")
    asked = parser.parse_args()
    rooms = asked.room or list(ROOMS)
    faults = [fault for room in rooms for fault in drawn(room, -(-asked.mutants // len(rooms)), asked.seed)]
    tests = tests_of(_ROOT, rooms)
    began = time.monotonic()
    done = []
    for trial in trials(faults, tests, asked.workers):
        done.append(trial)
        print(f"{len(done):4} of {len(faults)}  {trial.outcome:9}  {_told(trial)}", flush=True)
    print(f"\n{'room':14}{'tried':>8}{'killed':>8}{'of these timed out':>20}{'survived':>10}{'killed %':>10}")
    for room in rooms:
        _print_row(room, [trial for trial in done if trial.fault.path.startswith(f"kit/{room}/")])
    print(f"\nNot noticed ({(time.monotonic() - began) / 60:.0f} minutes):")
    for trial in sorted((each for each in done if each.outcome == "survived"), key=lambda each: each.fault):
        print(_told(trial))


def _print_row(room: str, found: list[Trial]) -> None:
    late = sum(trial.outcome == "timed out" for trial in found)
    survived = sum(trial.outcome == "survived" for trial in found)
    killed = len(found) - survived
    share = 100.0 * killed / max(len(found), 1)
    print(f"{room:14}{len(found):8}{killed:8}{late:20}{survived:10}{share:10.1f}")


def _told(trial: Trial) -> str:
    fault = trial.fault
    tests = f"{trial.tests} tests" if trial.tests else "no test passes here"
    return f"{fault.path}:{fault.line}: {fault.before}  →  {fault.after}  ({tests})"


if __name__ == "__main__":
    main()
