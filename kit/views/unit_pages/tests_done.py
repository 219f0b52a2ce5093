"""Which test of which tag is done, and how it ended."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.views.pieces.parts import attribute
from kit.views.pieces.text_tables import TABLE_WORDS
from kit.views.unit_pages.panels import NONE_CODE, Panel, Rows, choice, codes, split

_WORDS: Final = {
    "fail": "fail",
    "conditional_fail": "cond. fail",
    "not_tested": "gap",
    "not_assessable": "not assess.",
    "stale": "stale",
    "conditional_pass": "cond. pass",
    "pass": "pass",
    "information": "info",
    "": "–",
}
_ENDS: Final = [(name, words) for name, words in _WORDS.items() if name]


@dataclass(frozen=True, slots=True)
class DoneRow:
    """A tag with a cell for each test, its class and its word; ``states`` is what it is chosen by, a sign a test."""

    tag: str
    report: str
    cells: tuple[tuple[str, str], ...]
    states: str


@dataclass(frozen=True, slots=True)
class DoneTable:
    """Tag by test."""

    titles: tuple[str, ...]
    panel: Panel
    rows: Rows[DoneRow]


def tests_table(results: UnitResults) -> DoneTable:
    """Every tag with the state of each of its tests."""
    kind = choice("test", "Test", "tests", "place", TABLE_WORDS.items())
    ended = choice(
        "ended", "Ended as", "tests", "state", [(name, words) for name, words in _WORDS.items() if name], words=True
    )
    panel = Panel("tests", "Tests done", "tags", len(results.tags), "tests.", (kind, ended), within="th")
    rows = [_row(line, codes(ended)) for line in results.tags]
    return DoneTable(tuple(TABLE_WORDS.values()), panel, split(rows))


def _row(line: TagLine, ends: Mapping[str, str]) -> DoneRow:
    tests: Mapping[str, str] = line.result.get("tests", {})
    states = [str(tests.get(kind, "")) for kind in TABLE_WORDS]
    return DoneRow(
        tag=line.tag,
        report=attribute(line.report),
        cells=tuple((state.replace("_", "-") or "none", _WORDS[state]) for state in states),
        states="".join(ends.get(state, NONE_CODE) for state in states),
    )
