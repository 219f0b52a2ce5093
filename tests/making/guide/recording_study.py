"""Random virtual valves against their truth: ``python -m tests.making.guide.recording_study``.

Walks each valve through the commissioning routine, records it at 5, 10, 20 or 50 Hz, reduces the recording
and prints bias, spread and coverage of the stated expanded uncertainty (k = 2) of every figure, and the wrong
segmentations. ``--page`` writes the table to notebooks/guide/recording-study.md.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor

import numpy as np

from tests.making.guide import GUIDE
from tests.making.study.recorded_valves import recorded_valve
from tests.making.study.recovered import Tally, reduced, tally

PAGE = GUIDE / "recording-study.md"
INTRODUCTION = """# Recordings held against the virtual valve

{valves} random valves of [the virtual valve](virtual-valve.md), each walked through the commissioning routine and
recorded at 5, 10, 20 or 50 Hz with noise of 0.02 to 0.03 % and the steps of a converter, then cut and reduced as any
recording is. Simulation, no field data: it shows that the calculations give back what was put in, and nothing
about any real valve. Made by `python -m tests.making.guide.recording_study --page`; a small run is among the tests.

Error is found minus true. U is the stated expanded uncertainty by sampling and noise (k = 2, 95 % promised); the
instruments' share comes on top in a report.

"""
NOTES = """
Dead band and resolution are held against the model's formulas, taken into the bracket that its noise-free
positions show: the formula is for one reversal, and small steps add up. Step responses, dead band and supply
dip of valves that hunt are left out, since nothing of them is ever at rest. Starts are not in the table: a motor that
starts within its play moves nothing that a recording could show. Pulses shorter than about six sampling
intervals are not seen as pulses. About one in seven of the valves that do not hunt overshoots; of the others, and where
backlash swallows it, none must be found.
"""


def one(start_number: int) -> Tally:
    """The tally of one valve."""
    found = Tally()
    tally(reduced(recorded_valve(start_number)), found)
    found.start_numbers = [start_number] if +found.wrong else []
    return found


def merged(parts: list[Tally]) -> Tally:
    """All valves together."""
    total = Tally()
    for part in parts:
        total.valves += part.valves
        total.tests += part.tests
        total.wrong += part.wrong
        total.start_numbers += part.start_numbers
        for name, pairs in part.errors.items():
            total.errors.setdefault(name, []).extend(pairs)
    return total


def table(found: Tally) -> str:
    """The figures as a Markdown table."""
    lines = [
        "| figure | n | bias | spread (1 s) | U, median | within U |",
        "| --- | ---: | ---: | ---: | ---: | ---: |",
    ]
    for name, pairs in sorted(found.errors.items()):
        errors, stated, _ = np.array(pairs).T
        lines.append(
            f"| {name} | {errors.size} | {errors.mean():+.4f} | {errors.std():.4f} | {np.median(stated):.4f} "
            f"| {found.covered(name):.1f} % |"
        )
    wrong = ", ".join(f"{name} {count}" for name, count in sorted((+found.wrong).items())) or "none"
    lines += ["", f"Wrong segmentations: {wrong}, in {found.tests} tests of {found.valves} recordings."]
    return "\n".join(lines) + "\n"


def main() -> None:
    """Run the study and print, or write, its table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--valves", type=int, default=2000, help="valves (default 2000)")
    parser.add_argument("--first", type=int, default=0, help="start number of the first valve (default 0)")
    parser.add_argument("--workers", type=int, default=2, help="processes (default 2)")
    parser.add_argument("--page", action="store_true", help="write notebooks/guide/recording-study.md")
    chosen = parser.parse_args()
    with ProcessPoolExecutor(chosen.workers) as pool:
        found = merged(list(pool.map(one, range(chosen.first, chosen.first + chosen.valves), chunksize=10)))
    text = table(found)
    print(text, end="")
    if found.start_numbers:
        print("Start numbers of the valves with a wrong segmentation:", *found.start_numbers)
    if chosen.page:
        PAGE.write_text(INTRODUCTION.format(valves=found.valves) + text + NOTES, encoding="utf-8")


if __name__ == "__main__":
    main()
