"""When a valve is due again, by its own drift: a proposal, and never a verdict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import floor, inf, isfinite
from typing import Final

from kit.assessment.history.drifts import BOTH_SIDES, Drift, Side
from kit.assessment.results import CheckResult, TagAssessment
from kit.basis.checks import CHECKS, CheckName
from kit.basis.settings import UnitSettings
from kit.basis.verdicts import VERDICT_WORDS
from kit.calculations.drift import FEWEST_INTERVALS, days_to_limit

PASSING: Final = frozenset({"pass", "conditional_pass"})


@dataclass(frozen=True, slots=True)
class CheckDue:
    """When one check could reach a limit by its own drift."""

    check: CheckName
    detail: str
    intervals: int
    days: float  # after ``since``; infinite: every interval rules out a drift towards a limit
    since: str  # date of the visit that left it, ISO 8601


@dataclass(frozen=True, slots=True)
class Due:
    """When a tag is due again, and by what."""

    on: str = ""  # ISO 8601; "": not told, and ``why_not`` says why
    by: CheckDue | None = None  # None: by retest_days of unit.toml
    why_not: str = ""
    checks: tuple[CheckDue, ...] = ()  # those with a day of their own, soonest first
    without: int = 0  # checks with a limit that have too few intervals


def due_again(settings: UnitSettings, assessment: TagAssessment, drifts: Sequence[Drift]) -> Due:
    """When a tag that passes is due again.

    Notes
    -----
    House definition, see ``DUE_RULE``. A tag that does not pass has no such day: what is open comes first.
    """
    deciding = assessment.deciding
    if deciding is None or assessment.verdict not in PASSING:
        verdict = VERDICT_WORDS[assessment.verdict].lower()
        return Due(why_not=f"the verdict is {verdict}, so that what is open comes first")
    judged = [each for each in deciding.checks if each.verdict in PASSING and not CHECKS[each.check].is_count]
    known = [each for each in judged if each.value is not None and (each.date or deciding.date)]
    own = sorted(_own(known, drifts, deciding.date), key=lambda each: _last_day(each.since, each.days))
    without = len(known) - len({(each.check, each.detail) for each in own})
    latest = _latest(settings, known, deciding.date)
    by = own[0] if own and isfinite(own[0].days) else None
    days = [each for each in (None if by is None else _last_day(by.since, by.days), latest) if each is not None]
    if not days:
        return Due(why_not=_why_not(own), checks=tuple(own), without=without)
    on = min(days)
    is_own = by is not None and _last_day(by.since, by.days) == on
    return Due(on.isoformat(), by if is_own else None, "" if own else _why_not(own), tuple(own), without)


def _own(judged: Iterable[CheckResult], drifts: Sequence[Drift], decided: str) -> Iterator[CheckDue]:
    for result in judged:
        own = [each for each in drifts if (each.check, each.detail) == (result.check, result.detail)]
        usable = [each for each in own if each.is_usable]
        ways = [_days(usable, side, room, sign) for side, room, sign in _rooms(result)]
        known = [each for each in ways if each is not None]
        if ways and len(known) == len(ways):  # a limit whose side nobody knows the drift of may come first
            intervals = len({(each.from_visit, each.to_visit) for each in usable})
            yield CheckDue(result.check, result.detail, intervals, min(known), (result.date or decided)[:10])


def _rooms(result: CheckResult) -> Iterator[tuple[Side, float, float]]:
    """Each limit: whose drift leads there, how far it is, and which way."""
    value, two = result.deciding_value, result.check in BOTH_SIDES
    high = result.beside.get("greatest_positive") if two else value
    low = result.beside.get("greatest_negative") if two else value
    if result.upper_limit is not None and high is not None:
        yield "greatest_positive" if two else "", result.upper_limit - high, 1.0
    if result.lower_limit is not None and low is not None:
        yield "greatest_negative" if two else "", low - result.lower_limit, -1.0


def _days(usable: Iterable[Drift], side: Side, room: float, sign: float) -> float | None:
    own = [each for each in usable if each.side == side]
    towards = [sign * each.change for each in own if each.change is not None]
    uncertainty = [each.expanded_uncertainty for each in own if each.expanded_uncertainty is not None]
    return days_to_limit(room, towards, uncertainty, [each.days for each in own if each.days is not None])


def _last_day(since: str, days: float) -> date:
    start = date.fromisoformat(since)
    if days == inf or days > (date.max - start).days:
        return date.max
    return start + timedelta(days=floor(days))


def _latest(settings: UnitSettings, judged: Iterable[CheckResult], decided: str) -> date | None:
    """By the unit's own interval, counted from the oldest visit that a passing check is made of."""
    if settings.retest_days is None:
        return None
    since = [(each.date or decided)[:10] for each in judged]
    return _last_day(min(since), settings.retest_days) if since else None


def _why_not(own: Sequence[CheckDue]) -> str:
    if own:
        return "no interval allows a drift towards a limit, and unit.toml has no retest_days"
    return (
        f"no check has {FEWEST_INTERVALS} intervals from a visit as left to the next one as found, each with its "
        "uncertainty"
    )
