"""What is to be made again in a unit: tags by the day that their own drift proposes, checks that went stale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from kit.assessment.shown.unit_results import TagLine
from kit.basis.checks import CheckName

BY_INTERVAL: Final = "retest_days of unit.toml"


@dataclass(frozen=True, slots=True)
class TagDue:
    """One tag with the day when it is due again, which is a proposal, or why none is proposed."""

    tag: str
    due_proposed_on: str  # ISO 8601; "": no day is proposed
    due_proposed_by: str  # the check whose drift it is, or the unit's own interval
    no_day_because: str


@dataclass(frozen=True, slots=True)
class Month:
    """A month in which tags are due: how many by their own drift, and how many by the unit's interval."""

    month: str  # year and month, ISO 8601
    by_drift: int
    by_interval: int

    @property
    def tags(self) -> int:
        return self.by_drift + self.by_interval


@dataclass(frozen=True, slots=True)
class StaleCheck:
    """One check of the stage that decides which something changed after: it has to be made again."""

    tag: str
    visit: str
    date: str  # ISO 8601
    check: CheckName
    detail: str
    value: float | None
    measure: str
    reason: str


def due_of(result: Mapping[str, Any]) -> dict[str, str]:
    """What a result proposes, by column; blank where there is no result.

    Examples
    --------
    >>> due_of({"due": {"on": "2027-03-01", "by": "", "why_not": ""}})["due_proposed_by"]
    'retest_days of unit.toml'
    """
    due = result.get("due") or {"on": "", "by": "", "why_not": ""}
    by = (due["by"] or BY_INTERVAL) if due["on"] else ""
    return {
        "due_proposed_on": due["on"],
        "due_proposed_by": by,
        "no_day_because": "" if due["on"] else due["why_not"],
    }


def tags_due(tags: Iterable[TagLine]) -> list[TagDue]:
    """Every tag that has a result, the soonest first, then those without a day; else in the register's order."""
    found = [TagDue(line.tag, **due_of(line.result)) for line in tags if line.result]
    return sorted(found, key=lambda each: (not each.due_proposed_on, each.due_proposed_on))


def due_by_month(due: Iterable[TagDue]) -> list[Month]:
    """The months in which tags are due, the soonest first."""
    by = [(month_of(each.due_proposed_on), each.due_proposed_by == BY_INTERVAL) for each in due if each.due_proposed_on]
    counts = Counter(by)
    return [Month(month, counts[month, False], counts[month, True]) for month in sorted({month for month, _ in by})]


def month_of(day: str) -> str:
    """Year and month of a date.

    Examples
    --------
    >>> month_of("2027-03-09")
    '2027-03'
    """
    return day[:7]


def stale_checks(tags: Iterable[TagLine]) -> list[StaleCheck]:
    """Every stale check of every tag, in the register's order."""
    return [StaleCheck(tag=line.tag, **each) for line in tags for each in line.result.get("stale", ())]


def stale_words(result: Mapping[str, Any]) -> str:
    """The stale checks of a tag by name; ``result``: as much of it as the page uses."""
    return "; ".join(f"{each['check']} {each['detail']}".strip() for each in result.get("stale", ()))


def stale_by_tag(checks: Sequence[StaleCheck]) -> dict[str, list[StaleCheck]]:
    """The same, tag by tag."""
    found: dict[str, list[StaleCheck]] = {}
    for each in checks:
        found.setdefault(each.tag, []).append(each)
    return found
