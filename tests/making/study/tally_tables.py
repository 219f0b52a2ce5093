"""The tables of a study of recordings: every figure over all, and by class."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from tests.making.study.recovered import Held, Tally

LEAST_CASES: Final = 30  # a class with fewer says nothing
LEAST_COVERED_PCT: Final = 93.0


@dataclass(frozen=True)
class Cell:
    """One figure in one class."""

    figure: str
    what: str  # of the classes: "rate"
    name: str  # of the class: "10"
    held: list[Held]

    @property
    def covered_pct(self) -> float:
        """Share of the errors within what is stated [%]."""
        return 100.0 * sum(abs(each.error) <= each.expanded for each in self.held) / len(self.held)

    @property
    def is_weak(self) -> bool:
        return len(self.held) >= LEAST_CASES and self.covered_pct < LEAST_COVERED_PCT


def merged(parts: Sequence[Tally]) -> Tally:
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


def figures_table(found: Tally) -> str:
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


def cells_by(parts: Sequence[Tally], what: str) -> list[Cell]:
    """Every figure in every class of a kind, figures by name and classes in order of their first recording."""
    found: dict[tuple[str, str], list[Held]] = {}
    for part in parts:
        for figure, pairs in part.errors.items():
            found.setdefault((figure, str(getattr(part.classes, what))), []).extend(pairs)
    return [Cell(figure, what, name, held) for (figure, name), held in sorted(found.items(), key=_in_order)]


def classes_table(parts: Sequence[Tally], what: str) -> str:
    """Within U by class: share and number of cases, weak ones with a mark; no row where all have too few cases."""
    cells = cells_by(parts, what)
    names = sorted({cell.name for cell in cells}, key=_number_first)
    lines = [f"| figure, by {what} | {' | '.join(names)} |", f"| --- |{' ---: |' * len(names)}"]
    for figure in sorted({cell.figure for cell in cells if len(cell.held) >= LEAST_CASES}):
        own = {cell.name: cell for cell in cells if cell.figure == figure}
        lines.append(f"| {figure} | {' | '.join(_shown(own.get(name)) for name in names)} |")
    return "\n".join(lines) + "\n"


def weak_table(parts: Sequence[Tally], kinds: Sequence[str]) -> str:
    """Every weak class of every figure, the weakest first."""
    cells = sorted((cell for what in kinds for cell in _weak(parts, what)), key=lambda cell: cell.covered_pct)
    lines = ["| figure | class | n | within U |", "| --- | --- | ---: | ---: |"]
    for cell in cells:
        lines.append(f"| {cell.figure} | {cell.what} {cell.name} | {len(cell.held)} | {cell.covered_pct:.0f} % |")
    none = "None: at least 93 % in every class with 30 cases.\n"
    return "\n".join(lines) + "\n" if cells else none


def _weak(parts: Sequence[Tally], what: str) -> Iterator[Cell]:
    return (cell for cell in cells_by(parts, what) if cell.is_weak)


def _shown(cell: Cell | None) -> str:
    if cell is None:
        return ""
    return f"{cell.covered_pct:.0f} % of {len(cell.held)}{' **weak**' if cell.is_weak else ''}"


def _in_order(item: tuple[tuple[str, str], list[Held]]) -> tuple[str, tuple[float, str]]:
    (figure, name), _ = item
    return figure, _number_first(name)


def _number_first(name: str) -> tuple[float, str]:
    return (float(name) if name.replace(".", "", 1).isdigit() else float("inf"), name)
