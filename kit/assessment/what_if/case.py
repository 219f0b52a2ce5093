"""A tag as it is on record and as one supposes it: the same judgement of both, check beside check."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import isclose
from typing import Final, Literal

from kit.assessment.results import CheckResult, TagAssessment
from kit.assessment.tag import assess_tag
from kit.assessment.timeline import timeline_of
from kit.basis.checks import CHECKS, CheckName
from kit.basis.records import TagRecords, UnitRecords
from kit.basis.verdicts import TagVerdict, worst_verdict

Change = Literal["value", "U", "limit", "verdict"]
_SAME: Final = 1e-9  # relative; what binary rounding may move
_PASSING: Final = frozenset({"pass", "conditional_pass"})
_TO_REPEAT: Final = "to be made again after the adjustment"


class WhatIfError(ValueError):
    """Something cannot be supposed of a tag: what it names is not there."""


@dataclass(frozen=True, slots=True)
class Case:
    """A tag's records as they are supposed to be, beside what is on record. Nothing of it is ever written."""

    unit: UnitRecords  # its limit sets and its instruments
    records: TagRecords
    on_record: TagAssessment
    supposed: tuple[str, ...] = ()  # what is supposed, and what that takes for granted, in sentences
    to_repeat: frozenset[CheckName] = frozenset()  # checks that would have to be made again
    only_uncertainty: bool = False  # the readings stand for what nobody has read: their values say nothing

    def with_records(self, records: TagRecords, *supposed: str) -> Case:
        """The case with other records, and what that supposes."""
        return replace(self, records=records, supposed=(*self.supposed, *supposed))

    @property
    def visits(self) -> tuple[str, ...]:
        """The visits that the verdict rests on, the newest first."""
        timeline = timeline_of(self.records)
        return () if timeline is None else timeline.chain


@dataclass(frozen=True, slots=True)
class CheckChange:
    """One check on record and as supposed; None where there is none."""

    before: CheckResult | None
    after: CheckResult | None
    changed: tuple[Change, ...]

    @property
    def shown(self) -> CheckResult:
        """The one that names the check."""
        found = self.before or self.after
        assert found is not None
        return found


@dataclass(frozen=True, slots=True)
class Comparison:
    """Before and after, of the stage that decides."""

    tag: str
    supposed: tuple[str, ...]
    verdict_before: TagVerdict
    verdict_after: TagVerdict | None  # None: it is not known
    checks: tuple[CheckChange, ...]  # in the contract's order; those that are or would be judged
    only_uncertainty: bool = False

    @property
    def changed(self) -> tuple[CheckChange, ...]:
        return tuple(each for each in self.checks if each.changed)

    @property
    def unchanged(self) -> tuple[CheckChange, ...]:
        return tuple(each for each in self.checks if not each.changed)


def on_record(unit: UnitRecords, records: TagRecords) -> Case:
    """A tag as it is: what everything supposed begins with."""
    return Case(unit, records, assess_tag(records))


def compared(case: Case) -> Comparison:
    """What the records say, beside what they would say as supposed.

    Notes
    -----
    House definition: a check that an adjustment touches and that is not made of the readings would have to be repeated,
    so that it does not pass. Where readings stand for some that nobody took, uncertainties of means alone are compared.
    """
    before = case.on_record.deciding
    known = () if before is None else before.checks
    judged = assess_tag(case.records).deciding
    after = [_repeated(each, case) for each in (() if judged is None else judged.checks)]
    if case.only_uncertainty:
        after = _uncertainty_alone(known, after)
    unknown = case.only_uncertainty or case.on_record.verdict == "not_tested"
    return Comparison(
        tag=case.records.tag.tag,
        supposed=case.supposed,
        verdict_before=case.on_record.verdict,
        verdict_after=None if unknown else worst_verdict(each.verdict for each in after),
        checks=changes_between(known, after),
        only_uncertainty=case.only_uncertainty,
    )


def changes_between(before: Iterable[CheckResult], after: Iterable[CheckResult]) -> tuple[CheckChange, ...]:
    """Check beside check of one stage, in the contract's order; those that are or would be judged."""
    pairs = _paired(before, after)
    return tuple(CheckChange(one, other, _changes(one, other)) for one, other in pairs)


def _repeated(result: CheckResult, case: Case) -> CheckResult:
    if result.check not in case.to_repeat or result.verdict not in _PASSING:
        return result
    return replace(result, verdict="stale", reason=_TO_REPEAT)


def _uncertainty_alone(known: Iterable[CheckResult], after: Iterable[CheckResult]) -> list[CheckResult]:
    """The checks on record, those of means of readings with the uncertainty that they would have."""
    budgets = {(each.check, each.detail): each.finding.uncertainty for each in after if each.finding.quantity.averaged}
    return [
        replace(each, finding=replace(each.finding, uncertainty=budgets.get((each.check, each.detail), own)))
        for each in known
        for own in [each.finding.uncertainty]
    ]


def _paired(
    before: Iterable[CheckResult], after: Iterable[CheckResult]
) -> list[tuple[CheckResult | None, CheckResult | None]]:
    ones, others = ({(each.check, each.detail): each for each in side} for side in (before, after))
    order = list(CHECKS)
    keys = sorted({**ones, **others}, key=lambda key: (order.index(key[0]), key[1]))
    pairs = [(ones.get(key), others.get(key)) for key in keys]
    return [pair for pair in pairs if any(each is not None and each.verdict != "information" for each in pair)]


def _changes(one: CheckResult | None, other: CheckResult | None) -> tuple[Change, ...]:
    if one is None or other is None:
        return ("limit", "verdict")
    found: list[Change] = []
    if not _same(one.deciding_value, other.deciding_value) or not _same(one.value, other.value):
        found.append("value")
    if not _same(_expanded(one), _expanded(other)):
        found.append("U")
    sides = (one.lower_limit, other.lower_limit), (one.upper_limit, other.upper_limit)
    if not all(_same(*each) for each in sides):
        found.append("limit")
    return (*found, "verdict") if one.verdict != other.verdict else tuple(found)


def _expanded(result: CheckResult) -> float | None:
    return None if result.budget is None else result.budget.expanded_uncertainty


def _same(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return isclose(one, other, rel_tol=_SAME, abs_tol=_SAME)
