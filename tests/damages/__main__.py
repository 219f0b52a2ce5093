"""Damage made units one damage at a time, and print what earned a pass or reached a tag that it was not of.

``python -m tests.damages --number 2000 --seed 1 --workers 2``
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from typing import Final

from tests.damages.trial import DAMAGES_A_UNIT, Fault, Trial, all_trials, trials

_TOLD: Final = 3  # of each kind


def main() -> int:
    """Run, print by kind, and end with 1 where anything was found."""
    asked = _arguments()
    units = range(asked.seed * 100_000, asked.seed * 100_000 + -(-asked.number // DAMAGES_A_UNIT))
    done: Counter[str] = Counter()
    held: Counter[str] = Counter()
    passed: Counter[str] = Counter()
    faults: list[Fault] = []
    for trial in _run(units, asked.workers):
        kind = trial.damage.kind
        done[kind] += 1
        held[kind] += trial.held
        passed[kind] += trial.passed
        faults += trial.faults
        for fault in trial.faults:  # as they are found: a long run is worth looking at before it ends
            print(f"{fault.what}, {fault.damage.kind}, unit {fault.unit}", file=sys.stderr, flush=True)
    print(f"{'damage':40} {'done':>6} {'tags that passed':>18} {'of these held':>15}")
    for kind, count in sorted(done.items()):
        print(f"{kind:40} {count:6} {passed[kind]:18} {held[kind]:15}")
    print(f"{done.total()} damages of {len(units)} units.")
    print("\n".join(_told(faults)) or "No damage earned a pass, and none reached a tag that it was not of.")
    return 1 if faults else 0


def _run(units: Iterable[int], workers: int) -> Iterator[Trial]:
    if workers < 2:
        for number in units:
            yield from trials(number)
        return
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        for found in pool.map(all_trials, units):
            yield from found


def _told(faults: Iterable[Fault]) -> Iterator[str]:
    by_kind: defaultdict[tuple[str, str], list[Fault]] = defaultdict(list)
    for fault in faults:
        by_kind[fault.what, fault.damage.kind].append(fault)
    for (what, kind), found in sorted(by_kind.items()):
        yield f"\n{what}, {kind}: {len(found)}"
        for fault in found[:_TOLD]:
            yield f"  unit {fault.unit}: {fault.damage.place}\n    {fault.detail}"


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, prog="python -m tests.damages")
    parser.add_argument("--number", type=int, default=2000, help="damages")
    parser.add_argument("--seed", type=int, default=1, help="the same one draws the same units and damages")
    parser.add_argument("--workers", type=int, default=2, help="processes")
    return parser.parse_args()


if __name__ == "__main__":
    raise SystemExit(main())
