"""What is counted over a unit, as plain tables: what the unit's page says, whole and unrounded."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any, Final

from kit.assessment.shown.made_again import StaleCheck, stale_checks
from kit.assessment.shown.unit_exceptions import InCommon, Margins, by_cause, in_common, margins
from kit.assessment.shown.unit_progress import Day, Group, first_passed, groups, progress
from kit.assessment.shown.unit_results import TagLine, UnitResults
from kit.basis.issues import Change
from kit.basis.tables import TESTS

FOLDER: Final = "summary"  # of the outputs, where each is a CSV file
Cell = str | int | float | bool | None
_TESTS_OF_A_TAG: Final = tuple(name for name in TESTS if ":" not in name)


@dataclass(frozen=True, slots=True)
class Summary:
    """One table; each row has a cell for each column."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[Mapping[str, Cell], ...]


@dataclass(frozen=True, slots=True)
class _Kind:
    of: str  # what a row is
    columns: tuple[str, ...]
    rows: Callable[[tuple[TagLine, ...]], Iterable[Mapping[str, Any]]]


def summaries(results: UnitResults) -> tuple[Summary, ...]:
    """Every table of a unit, in the same order; one that has nothing to tell has no rows."""
    return tuple(
        Summary(
            name,
            kind.columns,
            tuple({each: _cell(row[each]) for each in kind.columns} for row in kind.rows(results.tags)),
        )
        for name, kind in _KINDS.items()
    )


def file_of(name: str) -> str:
    """Where a table stands among the outputs.

    Examples
    --------
    >>> file_of("progress")
    'summary/progress.csv'
    """
    return f"{FOLDER}/{name}.csv"


def _cell(value: Any) -> Cell:
    """Several names are one text."""
    return "; ".join(map(str, value)) if isinstance(value, tuple) else value


def _tests(tags: Iterable[TagLine]) -> Iterator[Mapping[str, Any]]:
    for line in tags:
        ended: Mapping[str, str] = line.result.get("tests", {})
        first = first_passed(line)
        told = {"tag": line.tag, "verdict": line.verdict, "visits_as_left": first[0], "passed_first": first[1]}
        yield told | {name: ended.get(name, "") for name in _TESTS_OF_A_TAG}


def _causes(tags: Iterable[TagLine]) -> Iterator[Mapping[str, Any]]:
    return ({"cause": each.cause, "tag": tag} for each in by_cause(tags) for tag in each.tags)


def _changed(tags: Iterable[TagLine]) -> Iterator[Mapping[str, Any]]:
    """What each page has otherwise than its last issue."""
    for line in tags:
        issue = line.result.get("issue") or {}
        if issue.get("standing") == "differs":
            told = {"tag": line.tag, "issued_revision": issue["last"]["revision"], "issued_on": issue["last"]["on"]}
            yield from (told | each for each in issue["changes"])


def _names(of: type[Any]) -> tuple[str, ...]:
    return tuple(each.name for each in fields(of))


def _told(of: type[Any], rows: Iterable[Any]) -> Iterator[Mapping[str, Any]]:
    return ({name: getattr(row, name) for name in _names(of)} for row in rows)


_KINDS: Final[dict[str, _Kind]] = {
    "tests_done": _Kind(
        "a tag, how each of its tests ended, and whether its first visit as left passed",
        ("tag", "verdict", "visits_as_left", "passed_first", *_TESTS_OF_A_TAG),
        _tests,
    ),
    "progress": _Kind(
        "a day of a visit, with the tags tested and passed at its end",
        _names(Day),
        lambda tags: _told(Day, progress(tags)),
    ),
    "register_columns": _Kind(
        "a value of one of the register's own columns, with its tags",
        _names(Group),
        lambda tags: _told(Group, groups(tags)),
    ),
    "limits_that_bite": _Kind(
        "a check, with the share of the tolerance that its tags use",
        _names(Margins),
        lambda tags: _told(Margins, margins(tags)),
    ),
    "in_common": _Kind(
        "an instrument, a person or a day that tags share: where failures are many, a question and no finding",
        _names(InCommon),
        lambda tags: _told(InCommon, in_common(tags)),
    ),
    "causes": _Kind("a tag and a probable cause of it, to be confirmed on site", ("cause", "tag"), _causes),
    "stale": _Kind(
        "a check that something changed after: to be made again",
        _names(StaleCheck),
        lambda tags: _told(StaleCheck, stale_checks(tags)),
    ),
    "changed": _Kind(
        "one thing that a page has otherwise than its last issue",
        ("tag", "issued_revision", "issued_on", *_names(Change)),
        _changed,
    ),
}
SUMMARIES: Final = {name: kind.of for name, kind in _KINDS.items()}  # what a row of each is
