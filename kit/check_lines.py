"""What `strokebook check` prints: what is open, one line for one cause, and how much was answered."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from kit.basis.records import Problem, RowCount, UnitRecords

_REGISTERS: Final = frozenset({"tags", "instruments"})
_VARIES: Final = re.compile(r"'[^']*'|\"[^\"]*\"|\d+(?:[.,]\d+)?")  # what tells two records of one cause apart


@dataclass(frozen=True, slots=True)
class Cause:
    """Problems that have one and the same thing wrong with them."""

    problems: tuple[Problem, ...]

    @property
    def records(self) -> int:
        return len({each.record or (each.file, each.row) for each in self.problems})

    @property
    def place(self) -> str:
        """Where the first of them stands."""
        first = self.problems[0]
        where = [first.file]
        if first.row is not None:
            where.append(f"row {first.row}")
        if first.column:
            where.append(first.column)
        return ", ".join(where) + (f" ({first.tag})" if first.tag else "")


def causes_of(problems: Iterable[Problem]) -> list[Cause]:
    """Problems by cause: those of registers first, then those of files, then those of rows, the most frequent first."""
    groups: dict[tuple[str, str, str], list[Problem]] = {}
    for each in problems:
        groups.setdefault((each.table, each.column, _VARIES.sub("#", each.problem)), []).append(each)
    found = [Cause(tuple(sorted(own, key=lambda each: (each.file, each.row or 0)))) for own in groups.values()]
    return sorted(found, key=lambda each: (_rank(each.problems[0]), -each.records, each.place))


def check_lines(unit: UnitRecords, recordings: Sequence[str], *, at_most: int | None) -> list[str]:
    """Everything to be printed of a unit; ``at_most`` so many lines, None: all of them."""
    opens = [each for each in unit.problems if each.status == "open"]
    lines = [cause_line(each) for each in causes_of(opens)]
    records = _records(opens)
    head = [_rows_line(unit.counts)]
    if records:
        head.append(f"{_count(records, 'record')} unanswered; a batch lists them in open_records.csv:")
    foot = [*_foot(unit), *recordings]
    room = None if at_most is None else max(at_most - len(head) - 1, 1)
    if room is not None and len(lines) + len(foot) > room:
        foot, lines = _foot(unit), [*lines, *recordings]
        kept = max(room - len(foot) - 1, 0)
        left = len(lines) - kept
        lines = [*lines[:kept], f"  ... and {left} lines more: --all prints them."] if left > 0 else lines
    tags = f"{_count(len(unit.tags), 'tag')}, {records} unanswered, {_records(_with(unit, 'answered'))} answered."
    return [*head, *lines, *foot, tags]


def cause_line(cause: Cause) -> str:
    """One line: how many records, where the first stands, what is wrong and what to do."""
    first = cause.problems[0]
    found = f" {first.value!r}" if first.value and first.value not in first.problem else ""
    if cause.records == 1:
        return f"  {cause.place}:{found} {first.problem} [{first.record}]"
    return f"  {cause.records} records, first {cause.place}:{found} {first.problem}"


def _foot(unit: UnitRecords) -> list[str]:
    """What needs no answer, in counts."""
    flags, blanks = _with(unit, "flag"), _with(unit, "blank")
    lines = []
    if blanks:
        count = _count(_records(blanks), "used row")
        lines.append(f"{count} without a cell: open where a limited check needs it.")
    if flags:
        what = "it" if len(flags) == 1 else "them"
        kinds = _count(len(causes_of(flags)), "kind")
        lines.append(f"{_count(len(flags), 'flag')} of {kinds}, for problems.csv; nothing is open for {what}.")
    return lines


def _with(unit: UnitRecords, status: str) -> list[Problem]:
    return [each for each in unit.problems if each.status == status]


def _records(problems: Iterable[Problem]) -> int:
    return len({each.record or (each.file, each.row, each.column) for each in problems})


def _rows_line(counts: Iterable[RowCount]) -> str:
    listed = list(counts)
    read, used, aside = (sum(getattr(count, name) for count in listed) for name in ("read", "used", "set_aside"))
    return f"{_count(len({each.file for each in listed}), 'file')}: {read} rows read, {used} used, {aside} set aside."


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _rank(problem: Problem) -> int:
    if problem.table in _REGISTERS:
        return 0
    return 1 if problem.row is None else 2
