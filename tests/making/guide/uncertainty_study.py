"""Coverage of U, and what the rules let through: ``python -m tests.making.guide.uncertainty_study``.

Measures invented valves of known errors with instruments of known errors, and judges them against limits that they just
miss and just keep. ``--page`` writes the table to notebooks/guide/uncertainty-study.md.
"""

from __future__ import annotations

import argparse
from concurrent.futures import ProcessPoolExecutor
from typing import Final

from kit.basis.checks import CHECKS, CheckName
from tests.making.guide import GUIDE
from tests.making.study.judged_valves import OF_MANY, Cell, Counts, Study, study_of

PAGE: Final = GUIDE / "uncertainty-study.md"
INTRODUCTION: Final = """# What a stated uncertainty is worth

{valves} invented valves of known errors, measured with instruments of known errors, then judged as any record is.
Simulation, no field data. Made by `python -m tests.making.guide.uncertainty_study --page`; a small run is among the
tests.

*Within U*: of all valves, those whose true value lies within the stated U of the value (95.45 % promised). For the
greatest of many (marked *) it says how many do not exceed value + U: such a value leans outward, by what stands under
*leans*.
*Passed beyond*: of the valves 0 to 5 % beyond their limit, those that pass under `guarded`, `by_ratio` and `simple`.
*Failed inside*: of the valves 0 to 5 % inside it, those that fail. One cycle is shown without a scatter of the valve
(U then says so, and nothing passes) and with a class scatter from unit.toml.

| check | cycles | within U | U, mean | leans | passed beyond: guarded, by_ratio, simple | failed inside: the same |
| --- | --- | ---: | ---: | ---: | --- | --- |
"""
NOTES: Final = """
inaccuracy, repeatability and the margins of the potentiometer are of the readings made, all else is of the valve.
Half of the visits have one accuracy error throughout, the other half one at each test point. With two strokes each
way, or two makings, the scatter has two degrees of freedom, so that U is wide; a third repeat, or a class scatter,
narrows it more than a better instrument does. Simple acceptance shares the risk at the limit evenly: that is the
rule, not a fault. What recordings add is in [recording-study.md](recording-study.md).

## What U holds

- Accuracy of each instrument, a rectangle, in every check but counts. It is one error within a test point, so that it
  cancels in a difference there (hysteretic error, repeatability, a position held); independent between points in a
  difference, which is cautious for span error and linearity; common for a mean over points.
- Resolution of each instrument, twice in a difference. Blank in the register: the last digit typed.
- The command instrument through the slope of the characteristic: position checks, position after restoration.
- Resolution of the station's display: loop feedback error.
- Scatter of one reading, over the root of the readings averaged: zero and span error, linearities, hysteretic error,
  those of feedback, stroke times, switch positions; whole for switch leads; potentiometer linearity where passes
  repeat.
- Sampling and noise of what was recorded.

Scatter is pooled over all that the stage repeated: points and directions, both switches, strokes of either way and
speed (in % of their time). A point that Cochran's test (ISO 5725-2, 1 %) rejects keeps its own. It is never below
resolution / sqrt(12). Where nothing was repeated, or it scatters less, the `[scatter]` of unit.toml stands in;
without one U says "valve scatter not included", and the check gives a conditional pass at most. A scatter with fewer
than 4 degrees of freedom takes k from the distribution itself (JCGM 101), else from t (Welch and Satterthwaite).
`p_conformity` is always of the distribution itself. TUR and guard bands rest on 95.45 % whatever
`coverage_probability` is. Under `by_ratio` a check is guarded unless its ratio is 4 or more and its scatter has 9
degrees of freedom or more.
"""


def table(study: Study) -> str:
    """The study as rows of a Markdown table, in the contract's order of checks."""
    order = list(CHECKS)
    cells = sorted(study, key=lambda cell: (order.index(cell.check), cell.cycles, cell.with_class))
    return "".join(f"{_row(cell, study[cell])}\n" for cell in cells)


def _row(cell: Cell, counts: Counts) -> str:
    mark = " *" if cell.check in OF_MANY else ""
    if counts.lacking:
        cycles = f"{cell.cycles}, no scatter"
    else:
        cycles = f"{cell.cycles}, class scatter" if cell.with_class else f"{cell.cycles}"
    passed = ", ".join(_share(counts.passes[rule], counts.beyond) for rule in ("guarded", "by_ratio", "simple"))
    failed = ", ".join(_share(counts.fails[rule], counts.inside) for rule in ("guarded", "by_ratio", "simple"))
    return (
        f"| {cell.check}{mark} | {cycles} | {_share(counts.covered, counts.valves)} "
        f"| {counts.expanded / counts.valves:.2f} | {counts.lean / counts.valves:+.2f} | {passed} | {failed} |"
    )


def _share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else "-"


def shown(study: Study) -> Study:
    """Cells worth a row: of a check that neither repeats nor a class scatter touch there is one."""
    return {
        cell: counts
        for cell, counts in study.items()
        if (_is_repeated(study, cell.check) and (not cell.with_class or study[cell._replace(with_class=False)].lacking))
        or cell == Cell(cell.check, 1, False)
    }


def _is_repeated(study: Study, check: CheckName) -> bool:
    single = study.get(Cell(check, 1, False))
    return single is None or single.lacking > 0 or check == "potentiometer_linearity"


def studied(valves: int, first: int, workers: int) -> Study:
    """The study of so many valves, over processes."""
    whole: Study = {}
    with ProcessPoolExecutor(workers) as pool:
        for part in pool.map(_one, range(first, first + valves), chunksize=5):
            for cell, counts in part.items():
                whole.setdefault(cell, Counts()).add(counts)
    return whole


def _one(number: int) -> Study:
    return study_of([number])


def main() -> None:
    """Run the study and print, or write, its table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--valves", type=int, default=800, help="valves (default 800)")
    parser.add_argument("--first", type=int, default=0, help="number of the first valve (default 0)")
    parser.add_argument("--workers", type=int, default=2, help="processes (default 2)")
    parser.add_argument("--page", action="store_true", help="write notebooks/guide/uncertainty-study.md")
    chosen = parser.parse_args()
    text = table(shown(studied(chosen.valves, chosen.first, chosen.workers)))
    print(text, end="")
    if chosen.page:
        PAGE.write_text(INTRODUCTION.format(valves=chosen.valves) + text + NOTES, encoding="utf-8")


if __name__ == "__main__":
    main()
