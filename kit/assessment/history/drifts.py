"""What became of each check between a visit as left and the next one as found."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Literal

from kit.assessment.history.compared_settings import values_of
from kit.assessment.judge import is_held_by_placeholder
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.assessment.stale import Change, changes_of
from kit.assessment.timeline import Timeline, timeline_of
from kit.basis.checks import CHECKS, CheckName
from kit.basis.records import TagRecords
from kit.basis.retest import change_of_setting, touched_by
from kit.basis.verdicts import Stage
from kit.calculations.drift import drift_budget

Side = Literal["", "greatest_positive", "greatest_negative"]
BOTH_SIDES: Final = frozenset[CheckName]({"inaccuracy", "feedback_inaccuracy"})
"""The error of greatest magnitude may be another one next time, so that each extreme has a drift of its own."""
_SIDES: Final[tuple[Side, ...]] = ("greatest_positive", "greatest_negative")
_NOT_LEFT: Final = "no visit before it left this check"
_NO_VALUE: Final = frozenset({"not_assessable", "not_tested"})


@dataclass(frozen=True, slots=True)
class Drift:
    """One check from a visit as left to the next one that recorded it as found."""

    check: CheckName
    detail: str
    side: Side  # of a check with two extremes
    from_visit: str  # "": none before it left this check
    to_visit: str
    days: int | None = None
    before: float | None = None
    after: float | None = None
    expanded_uncertainty: float | None = None  # of the change
    why_not: str = ""  # why there is no drift, or no uncertainty of it

    @property
    def change(self) -> float | None:
        """After minus before, in the check's unit; None where the two cannot be compared."""
        comparable = self.before is not None and self.after is not None and self.days is not None
        return self.after - self.before if comparable else None  # type: ignore[operator]

    @property
    def is_usable(self) -> bool:
        """Whether it says how fast the check moved: a change with its uncertainty over some days."""
        return self.change is not None and self.expanded_uncertainty is not None


def drifts(records: TagRecords, assessment: TagAssessment) -> tuple[Drift, ...]:
    """Every check that a visit recorded as found, against the newest visit before it that left it, oldest first.

    Notes
    -----
    House definition: a drift is the value as found minus the value that the newest earlier visit left. Only readings
    as found count: what was recorded as left may have been adjusted, said or unsaid. There is none where a change
    on record, or a setting found other than it was left, touches the check in between; where what was left had been
    overtaken by a change of its own visit; and where either value was not assessable.
    """
    timeline = timeline_of(records)
    if timeline is None:
        return ()
    between = _Between(records, timeline)
    left = [each for each in assessment.stages if each.stage == "as_left"]
    found = [
        each
        for each in reversed(assessment.stages)
        if each.stage == "as_found" and any(timeline.is_earlier(one.visit, each.visit) for one in left)
    ]
    return tuple(
        drift
        for later in found
        for result in later.checks
        if result.finding.quantity.answers and not CHECKS[result.check].is_count and result.finding.judged
        for drift in _drifts_of(result, later, left, between)
    )


@dataclass(frozen=True)
class _Between:
    """What happened to a tag between two of its visits."""

    records: TagRecords
    timeline: Timeline

    def days(self, earlier: str, later: str) -> int:
        dates = self.timeline.dates
        return (date.fromisoformat(dates[later][:10]) - date.fromisoformat(dates[earlier][:10])).days

    def why_changed(self, check: CheckName, earlier: str, later: str) -> str:
        """What may have moved the check in between, other than time; "": nothing on record."""
        for each in (*self._changes(earlier, later), *self._settings(earlier, later)):
            if check in each.touches:
                return f"{each.words} lies between"
        return ""

    def _changes(self, earlier: str, later: str) -> Iterator[Change]:
        """Changes that are not known to be of one of the two visits, before the first or after the second."""
        is_earlier = self.timeline.is_earlier
        for each in changes_of(self.records):
            outside = is_earlier(each.visit, earlier) or is_earlier(later, each.visit)
            if not outside and each.visit not in (earlier, later):
                yield each

    def _settings(self, earlier: str, later: str) -> Iterator[Change]:
        rows = self.records.tables["settings"]
        left = values_of(rows.only("visit", earlier), "as_left")
        found = values_of(rows.only("visit", later), "as_found")
        for key in left.keys() & found.keys():
            if left[key].keys() != found[key].keys() or len(left[key]) > 1:
                was, now = (" and ".join(values[key].values()) for values in (left, found))
                touches = touched_by(change_of_setting(key))
                yield Change(later, "", f"a setting, {key} left at {was} and found at {now},", touches)


def _drifts_of(
    result: CheckResult, later: StageResult, left: Sequence[StageResult], between: _Between
) -> Iterator[Drift]:
    earlier, before = _left_before(result, later, left, between.timeline)
    for side in _sides(result, before):
        if before is None:
            yield Drift(result.check, result.detail, side, "", later.visit, why_not=_NOT_LEFT)
            continue
        where = result.check, result.detail, side, earlier, later.visit
        days = between.days(earlier, later.visit)
        why_not = _why_not_compared(before, result) or between.why_changed(result.check, earlier, later.visit)
        if not why_not and days <= 0:
            why_not = "both visits are of one day"
        values = _value(before, side), _value(result, side)
        if why_not or None in values:
            yield Drift(*where, why_not=why_not or "one of the two visits had no error on that side")
        else:
            yield Drift(*where, days, *values, *_uncertainty(before, result))


def _sides(result: CheckResult, before: CheckResult | None) -> Sequence[Side]:
    """The extremes that one of the two visits has; of any other check the value itself."""
    if result.check not in BOTH_SIDES or before is None:
        return ("",)
    return [side for side in _SIDES if side in result.beside or side in before.beside]


def _left_before(
    result: CheckResult, later: StageResult, left: Iterable[StageResult], timeline: Timeline
) -> tuple[str, CheckResult | None]:
    """The newest earlier visit that left the check, and what it left; those come newest first."""
    for stage in left:
        if not timeline.is_earlier(stage.visit, later.visit):
            continue
        for each in stage.checks:
            own = each.visit in ("", stage.visit) and each.finding.judged
            if own and (each.check, each.detail) == (result.check, result.detail) and each.finding.quantity.answers:
                return stage.visit, each
    return "", None


def _why_not_compared(before: CheckResult, after: CheckResult) -> str:
    stages: tuple[tuple[CheckResult, Stage], ...] = ((before, "as_left"), (after, "as_found"))
    for each, stage in stages:
        words = stage.replace("_", " ")
        if each.value is None:
            return f"{words} there is no value: {each.finding.quantity.never or each.reason}"
        if each.finding.quantity.within is not None:
            return f"{words} it was read as a bound"
        if each.changed_since:
            return f"{words}: {each.changed_since}"
        if each.verdict in _NO_VALUE and not is_held_by_placeholder(each):
            return f"{words} it is not assessable: {each.reason}"
    return ""


def _value(result: CheckResult, side: Side) -> float | None:
    return result.beside.get(side) if side else result.value


def _uncertainty(before: CheckResult, after: CheckResult) -> tuple[float | None, str]:
    """U of the change, and why there is none: an instrument that cannot vouch for a value, a scatter not known."""
    budgets = before.budget, after.budget
    for each, of in ((before, "left"), (after, "found")):
        if each.budget is None or each.finding.uncertainty.lacks_scatter:
            return None, f"as {of}: {each.finding.uncertainty.why_not or 'no uncertainty'}"
    first, second = (budget for budget in budgets if budget is not None)
    made = drift_budget(first.components, second.components, coverage_probability=first.coverage_probability)
    return made.expanded_uncertainty, ""
