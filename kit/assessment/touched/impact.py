"""What becomes of a tag's checks when an instrument that it was tested with is found to be wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from math import isfinite

from kit.assessment.ranking import share_pct
from kit.assessment.results import CheckResult, TagAssessment
from kit.assessment.tag import assess_tag
from kit.assessment.what_if.case import Case, CheckChange, WhatIfError, changes_between, on_record
from kit.assessment.what_if.outcomes import OUTCOME_WORDS, Outcome, outcome_of
from kit.assessment.what_if.with_error import with_error
from kit.basis.records import TagRecords, UnitRecords
from kit.basis.verdicts import Stage, TagVerdict
from kit.calculations.instrument_error import InstrumentError


@dataclass(frozen=True, slots=True)
class CheckImpact:
    """One check of one stage, as it is on record and from the corrected readings."""

    tag: str
    visit: str
    stage: Stage
    date: str
    decides: bool  # whether the tag's verdict is made of it
    change: CheckChange
    outcome: Outcome

    @property
    def moved_pct(self) -> float:
        """By how much of its tolerance it moved [%]; 0 where one of the two has no value or no limit."""
        shares = [None if each is None else share_pct(each) for each in (self.change.before, self.change.after)]
        known = [share for share in shares if share is not None and isfinite(share)]
        return abs(known[1] - known[0]) if len(known) == len(shares) else 0.0


@dataclass(frozen=True, slots=True)
class TagImpact:
    """A tag, as it is on record and from the corrected readings."""

    tag: str
    service: str
    verdict_before: TagVerdict
    verdict_after: TagVerdict
    checks: tuple[CheckImpact, ...]  # those that decide first
    supposed: tuple[str, ...]  # what was corrected, and of what the error is not known

    @property
    def outcome(self) -> Outcome:
        return outcome_of(self.verdict_before, self.verdict_after)

    @property
    def changed(self) -> tuple[CheckImpact, ...]:
        """The checks whose verdict does not stand, the gravest change first."""
        order = list(OUTCOME_WORDS)
        found = [each for each in self.checks if each.outcome != "stands"]
        return tuple(sorted(found, key=lambda each: (not each.decides, order.index(each.outcome))))

    @property
    def greatest(self) -> CheckImpact | None:
        """The check that moved by most of its tolerance, of those that decide; None: none moved."""
        moved = [each for each in self.checks if each.decides and each.moved_pct > 0.0]
        return max(moved, key=lambda each: each.moved_pct, default=None)


def impact_on(
    unit: UnitRecords, records: TagRecords, instrument: str, error: InstrumentError, since: str = ""
) -> TagImpact | None:
    """A tag judged from its readings less the error; None: nothing of it was read in the error's unit."""
    case = on_record(unit, records)
    try:
        supposed = with_error(case, instrument, error, since)
    except WhatIfError:
        return None
    after = assess_tag(supposed.records)
    return TagImpact(
        tag=records.tag.tag,
        service=records.tag.service,
        verdict_before=case.on_record.verdict,
        verdict_after=after.verdict,
        checks=tuple(_checks(case, after)),
        supposed=supposed.supposed,
    )


def outcomes(impacts: Iterable[TagImpact]) -> Mapping[Outcome, int]:
    """How many checks that decide have which outcome, the gravest first."""
    count = Counter(each.outcome for impact in impacts for each in impact.checks if each.decides)
    return {name: count[name] for name in OUTCOME_WORDS}


def _checks(case: Case, after: TagAssessment) -> Iterator[CheckImpact]:
    judged = {(each.visit, each.stage): each.checks for each in after.stages}
    for number, stage in enumerate(case.on_record.stages):
        nothing: tuple[CheckResult, ...] = ()
        for change in changes_between(stage.checks, judged.get((stage.visit, stage.stage), nothing)):
            sides = [None if each is None else each.verdict for each in (change.before, change.after)]
            yield CheckImpact(
                case.records.tag.tag,
                change.shown.visit or stage.visit,
                stage.stage,
                change.shown.date or stage.date,
                number == 0,
                change,
                outcome_of(*sides),
            )
