"""The order of a tag's visits, which of them decides, and what it goes on from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from kit.basis.records import Problem, TagRecords
from kit.basis.visits import oldest_first

_ORDERING: Final = frozenset({"tag", "visit", "date", "continues"})  # columns of visits that say which one decides


@dataclass(frozen=True, slots=True)
class Timeline:
    """A tag's visits in time."""

    newest_first: tuple[str, ...]  # the one that decides first; those without a date last
    dates: Mapping[str, str]  # ISO 8601, of the visits that have one
    continues: Mapping[str, str]
    chain: tuple[str, ...]  # the visit that decides, then those that it goes on from
    why_not: str = ""  # why it is not known which visit decides, or what it goes on from

    @property
    def deciding(self) -> str:
        return self.chain[0]

    def is_earlier(self, one: str, other: str) -> bool:
        """Whether ``one`` is known to be earlier: by its date, or because ``other`` goes on from it."""
        if one not in self.dates or other not in self.dates or one == other:
            return False
        if self.dates[one] == self.dates[other]:
            return one in _gone_on_from(other, self.continues)
        return self.dates[one] < self.dates[other]


def timeline_of(records: TagRecords) -> Timeline | None:
    """The order of a tag's visits; None for a tag without any record.

    Notes
    -----
    House definition: the visit of the latest date decides. Of several of one date it is the one that goes on from
    the others. A visit without a row in visits, or without a date that can be read, decides only where no visit has
    one, and then nothing passes.
    """
    dates = {each.visit: each.date for each in records.visits if each.date}
    continues = {each.visit: each.continues for each in records.visits if each.continues}
    visits = _visits(records)
    if not visits:
        return None
    order = oldest_first(visits, dates)
    deciding, why_not = _newest(order, dates, continues)
    chain, broken = _chain(deciding, visits, dates, continues)
    reasons = [why_not, broken, _unread(records.problems)]
    newest_first = (deciding, *(each for each in reversed(order) if each != deciding and each in dates))
    undated = tuple(each for each in reversed(order) if each != deciding and each not in dates)
    return Timeline((*newest_first, *undated), dates, continues, chain, "; ".join(each for each in reasons if each))


def _visits(records: TagRecords) -> set[str]:
    """Every visit that left a row in any table, or a recording; "" where open records are all that there is."""
    rows = {visit for table in records.tables.values() for visit in table["visit"].tolist()}
    found = rows | {visit.visit for visit in records.visits} | {log.visit for log in records.recordings}
    return found or {"" for each in records.problems if each.status == "open"}


def _newest(order: list[str], dates: Mapping[str, str], continues: Mapping[str, str]) -> tuple[str, str]:
    """The visit that decides, and why that is not known."""
    if not dates:
        return order[-1], "no visit has a row in visits: write one, with tag, visit and date"
    latest = max(dates.values())
    tied = [each for each in order if dates.get(each) == latest]
    older = {earlier for each in tied for earlier in _gone_on_from(each, continues)}
    left = [each for each in tied if each not in older] or tied
    if len(left) == 1:
        return left[0], ""
    named = f"{', '.join(left[:-1])} and {left[-1]}"
    return left[-1], (
        f"visits {named} have one date, {latest}, so that it is not known which is the newest: write different dates, "
        "or in continues of the later one which visit it goes on from"
    )


def _gone_on_from(visit: str, continues: Mapping[str, str]) -> list[str]:
    """The visits that one goes on from, nearest first; a circle is followed once round."""
    found: list[str] = []
    while (visit := continues.get(visit, "")) and visit not in found:
        found.append(visit)
    return found


def _chain(
    deciding: str, visits: Iterable[str], dates: Mapping[str, str], continues: Mapping[str, str]
) -> tuple[tuple[str, ...], str]:
    """The visits that a verdict rests on, newest first; the newest alone where the chain does not hold."""
    chain = (deciding, *_gone_on_from(deciding, continues))
    correct = "Correct continues in visits"
    for later, earlier in pairwise(chain):
        goes_on = f"visit {later} goes on from visit {earlier}"
        if earlier == deciding:
            return (deciding,), f"{goes_on}, and so in a circle. {correct}"
        if earlier not in visits:
            return (deciding,), f"{goes_on}, which this tag does not have. {correct}"
        if earlier not in dates:
            return (deciding,), f"{goes_on}, which has no row in visits: write one, with its date"
        if dates[earlier] > dates.get(later, ""):
            return (deciding,), f"{goes_on} of the later date {dates[earlier]}. {correct}"
    if continues.get(chain[-1]):
        return (deciding,), f"visits {' and '.join(chain[1:])} go on from each other in a circle. {correct}"
    return chain, ""


def _unread(problems: Iterable[Problem]) -> str:
    """An open row of visits may be that of a newer one, or name what one goes on from."""
    for each in problems:
        if each.status != "open" or each.scope is None or each.scope.table != "visits":
            continue
        if not each.scope.columns or _ORDERING & set(each.scope.columns):
            row = "" if each.row is None else f" row {each.row}"
            return (
                f"a row of visits cannot be used ({each.file}{row}), so that it is not known which visit is the newest"
            )
    return ""
