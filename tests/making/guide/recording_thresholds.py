"""What moving each threshold by 20 % does: ``python -m tests.making.guide.recording_thresholds``.

Reduces the same four recorded virtual valves with every named number of kit/calculations/recordings at 1.2 times
its value, and tells which figures moved, by how much of their stated expanded uncertainty, how many came to lie
outside it, and which recordings were cut into other tests. ``--page`` writes notebooks/guide/recording-thresholds.md.
"""

from __future__ import annotations

import argparse
import ast
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from typing import Final

import kit.calculations.recordings
from tests.making.guide import GUIDE
from tests.making.study import recovered
from tests.making.study.altered_constants import Constant, Value, named_constants, scaled
from tests.making.study.moved_figures import Found, Moves, found_of, moves_of
from tests.making.study.recorded_valves import RecordedValve, recorded_valve

PAGE: Final = GUIDE / "recording-thresholds.md"
VALVES: Final = (3, 6, 25, 54)  # start numbers; a test says what is among them
FACTOR: Final = 1.2
_SMALL_STEP_PCT: Final = 0.2  # fewer small steps than usual, so that the whole takes minutes
_SMALL_STEPS_PCT: Final = 2.0
_HEAD: Final = """# Thresholds of the calculations on recordings, moved by 20 %

Every number that a module of `kit/calculations/recordings/` names at its head, with the words that stand behind it, and
what it does to four recorded valves of [the virtual valve](virtual-valve.md) when it is made 20 % greater:
one that hunts, one that overshoots, one that sticks, one pulsed, two of them worn, at 5, 10, 20 and 50 samples a
second. Whole numbers move by one at least. Simulation, no field data. Made by
`python -m tests.making.guide.recording_thresholds --page`.

The four recordings give {figures} numbers and words. A cell tells how many of them changed, value or uncertainty; the
greatest change of a value, in units of its stated expanded uncertainty U by sampling and noise (k = 2); how many of the
{held} figures whose truth is known came to lie outside U or inside; how many recordings were cut into other tests, or
at places more than one sample away, and how many of those cuts the truth contradicts. A recording cut into other tests
has its figures elsewhere, and they are not counted. "Nothing" is as good as its valves: a threshold that none of
them comes near shows nothing here.

"""


def one(place: int) -> tuple[Constant, Moves | None]:
    """What one constant does; None where it cannot be moved."""
    constant = named_constants()[place]
    valves, before = _standing()
    value = scaled(constant.value, FACTOR)
    return constant, None if value is None else moves_of(constant, value, valves, before)


@cache
def _standing() -> tuple[list[RecordedValve], list[Found]]:
    """The valves and what is found of them as the constants stand."""
    valves = [
        recorded_valve(start_number, small_step_pct=_SMALL_STEP_PCT, small_steps_pct=_SMALL_STEPS_PCT)
        for start_number in VALVES
    ]
    before = []
    for valve in valves:
        alone = recovered.Tally()
        case = recovered.reduced(valve)
        recovered.tally(case, alone)
        before.append(found_of(case, alone))
    return valves, before


def page(found: Sequence[tuple[Constant, Moves | None]]) -> str:
    """The whole page as Markdown."""
    _, before = _standing()
    figures, held = sum(len(each.figures) for each in before), sum(len(each.within) for each in before)
    lines = [_HEAD.format(figures=figures, held=held).rstrip()]
    for module in dict.fromkeys(constant.module for constant, _ in found):
        lines += ["", f"## {module}", "", _told(module), ""]
        lines += [
            "| number | value | where it comes from | 20 % greater |",
            "| --- | --- | --- | --- |",
        ]
        lines += [_row(constant, moves) for constant, moves in found if constant.module == module]
    still = sum(not (moves and moves.any) for _, moves in found)
    lines += ["", f"{len(found)} numbers; {still} of them move nothing in these recordings."]
    return "\n".join(lines) + "\n"


def shown(value: Value) -> str:
    """A constant as the page has it."""
    return ", ".join(f"{each:.6g}" for each in (value if isinstance(value, tuple) else (value,)))


def _told(module: str) -> str:
    """The first line of a module's docstring."""
    source = Path(kit.calculations.recordings.__file__).with_name(f"{module}.py").read_text("utf-8")
    return (ast.get_docstring(ast.parse(source)) or "").partition("\n")[0]


def _row(constant: Constant, moves: Moves | None) -> str:
    return f"| `{constant.name}` | {shown(constant.value)} | {constant.words.replace('|', '/')} | {_cell(moves)} |"


def _cell(moves: Moves | None) -> str:
    if moves is None:
        return "cannot be"
    if not moves.any:
        return "nothing"
    parts = []
    if moves.changed:
        parts.append(f"{moves.changed} changed" + (f", up to {moves.worst_u:.2f} U" if moves.worst_u >= 0.005 else ""))
    if moves.left or moves.entered:
        parts.append(f"{moves.left} left U, {moves.entered} came in")
    if moves.cut_otherwise:
        parts.append(f"{moves.cut_otherwise} cut otherwise" + (f", {moves.wrong:+d} wrong" if moves.wrong else ""))
    elif moves.wrong:
        parts.append(f"{moves.wrong:+d} wrong")
    parts += [f"{count} ended in {kind}" for kind, count in sorted(moves.errors.items())]
    return "; ".join(parts)


def main() -> None:
    """Move every constant and print, or write, the page."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--workers", type=int, default=2, help="processes (default 2)")
    parser.add_argument("--page", action="store_true", help="write notebooks/guide/recording-thresholds.md")
    chosen = parser.parse_args()
    with ProcessPoolExecutor(chosen.workers) as pool:
        text = page(list(pool.map(one, range(len(named_constants())))))
    if chosen.page:
        PAGE.write_text(text, encoding="utf-8")
    else:
        print(text, end="")


if __name__ == "__main__":
    main()
