"""How far a unit is: by the register's own columns, over the days of the visits, and how often at the first visit."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Final

from kit.assessment.shown.unit_results import TagLine

PASSED: Final = ("pass", "conditional_pass")
MOST_GROUPS: Final = 200  # House definition: more values, or one for every two tags, name tags and no progress


@dataclass(frozen=True, slots=True)
class Group:
    """The tags that share one cell of one of the register's own columns. Counts are of tags."""

    column: str
    value: str  # "": the cell is blank
    tags: int
    tested: int  # with a visit as left
    passed: int  # without a condition
    conditional: int  # a conditional pass
    failed: int  # without a condition
    conditional_failed: int
    incomplete: int  # tested, and neither passed nor failed
    items: int  # of the punch lists


@dataclass(frozen=True, slots=True)
class Day:
    """How many tags had been tested and had passed by the end of a day."""

    date: str  # ISO 8601
    tested: int
    passed: int  # by the newest visit up to then, conditional passes among them


@dataclass(frozen=True, slots=True)
class FirstPass:
    """How often a tag passed on its first visit, as left."""

    tags: int  # with a visit as left
    passed: int  # conditional passes among them
    visits: tuple[tuple[int, int], ...]  # how many visits as left, and of how many tags

    @property
    def share(self) -> float | None:
        """Between 0 and 1; None: no tag has been tested."""
        return self.passed / self.tags if self.tags else None

    @property
    def retests_a_tag(self) -> float | None:
        """Visits as left beyond the first, as a mean over the tags tested."""
        return sum((count - 1) * tags for count, tags in self.visits) / self.tags if self.tags else None


def groups(tags: Sequence[TagLine]) -> list[Group]:
    """Each value of each of the register's own columns that has two values or more, in the register's order."""
    names = dict.fromkeys(name for line in tags for name in line.further)
    found = []
    for name in names:
        own: dict[str, list[TagLine]] = {}
        for line in tags:
            own.setdefault(line.further.get(name, ""), []).append(line)
        if len(own.keys() - {""}) > 1 and len(own) <= min(MOST_GROUPS, len(tags) // 2):
            found += [_group(name, value, own[value]) for value in sorted(own)]
    return found


def _group(column: str, value: str, tags: Sequence[TagLine]) -> Group:
    tested = [line for line in tags if _as_left(line)]
    count = Counter(line.verdict for line in tested)
    return Group(
        column=column,
        value=value,
        tags=len(tags),
        tested=len(tested),
        passed=count["pass"],
        conditional=count["conditional_pass"],
        failed=count["fail"],
        conditional_failed=count["conditional_fail"],
        incomplete=len(tested) - sum(count[verdict] for verdict in (*PASSED, "fail", "conditional_fail")),
        items=sum(len(line.result.get("punch_list", ())) for line in tags),
    )


def progress(tags: Iterable[TagLine]) -> list[Day]:
    """Every day that left a verdict, with what stood at its end; a tag that fails again is no longer counted as passed.

    Notes
    -----
    House definition: an earlier visit counts as it is judged today, by what was recorded on it; the newest one as the
    tag is. Stages without a date are left out, and their tags counted from their next dated one.
    """
    changes: dict[str, list[tuple[int, int]]] = {}
    for line in tags:
        before: bool | None = None
        for date, verdict in _dated(line):
            now = verdict in PASSED
            changes.setdefault(date, []).append((before is None, now - bool(before)))
            before = now
    days, tested, passed = [], 0, 0
    for date in sorted(changes):
        tested += sum(new for new, _ in changes[date])
        passed += sum(more for _, more in changes[date])
        days.append(Day(date, tested, passed))
    return days


def first_pass(tags: Iterable[TagLine]) -> FirstPass:
    """How many tags passed on their oldest visit as left, and how many visits each took.

    Notes
    -----
    House definition: the oldest visit counts as it is judged today, by what was recorded on it; where it is the only
    one it counts as its tag does. Tags without a visit as left are left out.
    """
    found = [first_passed(line) for line in tags]
    tested = [(visits, passed) for visits, passed in found if passed is not None]
    counts = Counter(visits for visits, _ in tested)
    return FirstPass(len(tested), sum(passed for _, passed in tested), tuple(sorted(counts.items())))


def first_passed(line: TagLine) -> tuple[int, bool | None]:
    """How many visits as left a tag has, and whether the oldest passed; None: there is none."""
    stages = _as_left(line)
    if not stages:
        return 0, None
    first = line.verdict if len(stages) == 1 else stages[-1]["verdict"]
    return len({each["visit"] for each in stages}), first in PASSED


def _as_left(line: TagLine) -> list[Any]:
    """The newest first."""
    return [each for each in line.result.get("stages", ()) if each["stage"] == "as_left"]


def _dated(line: TagLine) -> list[tuple[str, str]]:
    """Date and verdict of each visit as left, the oldest first; the newest one has the tag's verdict."""
    stages = _as_left(line)
    verdicts = [line.verdict, *(str(each["verdict"]) for each in stages[1:])]
    return [(each["date"], said) for each, said in zip(stages, verdicts, strict=False) if each["date"]][::-1]
