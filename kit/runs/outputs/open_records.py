"""open_records.csv: what waits for an answer, to be filled in and put into records/."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from kit.basis.answers import OF_COLUMNS
from kit.basis.records import Problem
from kit.basis.registers import Tag
from kit.basis.tables.measurements import DISPOSITIONS
from kit.runs.outputs.csv_tables import csv_lines

_PLACE: Final = ("file", "row")
_ANSWER: Final = tuple(name for name in DISPOSITIONS.columns if name not in ("record", *OF_COLUMNS))
OPEN_COLUMNS: Final = ("record", *_PLACE, *OF_COLUMNS, "what", *_ANSWER)
_TAGS_NAMED: Final = 5


def as_judged(read: Iterable[Problem], judged: Iterable[Problem]) -> list[Problem]:
    """Every problem of a unit as it turned out; a used row that lacks a cell is open until a report says otherwise.

    ``judged`` are those that the tags' reports found or settled.
    """
    found = list(judged)
    settled = {_identity(each) for each in found}
    kept = [each for each in read if each.status != "blank" or _identity(each) not in settled]
    return [*(replace(each, status="open") if each.status == "blank" else each for each in kept), *found]


def _identity(problem: Problem) -> tuple[str, str, int | None, str]:
    return problem.table, problem.file, problem.row, problem.column


def open_lines(problems: Iterable[Problem], tags: Mapping[str, Tag]) -> Iterator[str]:
    """The table, line by line."""
    return csv_lines(OPEN_COLUMNS, open_rows(problems, tags))


def open_rows(problems: Iterable[Problem], tags: Mapping[str, Tag]) -> list[dict[str, Any]]:
    """One row a record, whatever is wrong with it, by column; its answer is left blank."""
    records: dict[str, list[Problem]] = {}
    for each in problems:
        if each.status == "open":
            records.setdefault(each.record, []).append(each)
    return [_row(own, tags) for own in records.values()]


def _row(problems: list[Problem], tags: Mapping[str, Tag]) -> dict[str, Any]:
    first = problems[0]
    scope = first.scope
    of_tags = () if scope is None else scope.tags
    what = [_what(each) for each in problems]
    if len(of_tags) > 1:
        more = f" and {len(of_tags) - _TAGS_NAMED} more" if len(of_tags) > _TAGS_NAMED else ""
        what.append(f"It may be of {', '.join(of_tags[:_TAGS_NAMED])}{more}.")
    if any(tags[tag].safety_function or "safety_function" in tags[tag].unreadable for tag in of_tags if tag in tags):
        what.append("A safety function is in its scope: enter a second_person too.")
    return {
        "record": first.record,
        "file": first.file,
        "row": first.row,
        "of_tag": of_tags[0] if len(of_tags) == 1 else "",
        "of_visit": "" if scope is None else scope.visit,
        "of_table": "" if scope is None else scope.table,
        "what": " ".join(what),
    }


def _what(problem: Problem) -> str:
    cell = f"{problem.column} {problem.value}".strip()
    return f"{cell}: {problem.problem}" if cell else problem.problem
