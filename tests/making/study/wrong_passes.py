"""Gross wrong passes: a check passed although the truth lies beyond its limit by more than half of U."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import isnan, nan
from typing import Final, Literal, NamedTuple

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.judge import judge
from kit.assessment.recordings.stage_recordings import stage_recordings
from kit.assessment.results import StageResult
from kit.assessment.stage import assess_stage
from kit.assessment.stage_records import StageRecords
from kit.assessment.unanswered import hold_back, in_stage
from kit.basis.checks import CheckName
from kit.basis.settings import DecisionRule, Limit, LimitSet, UnitSettings
from tests.making.study.field_recordings import VISIT, FieldRecording, records_of
from tests.making.study.true_checks import OF_SIZE, UNKNOWN, Checked, Key, cause_of, checked, is_loss
from tests.making.study.usual_limits import missed_limits, usual_limits

Limits = dict[CheckName, Limit]
RULES: Final[tuple[DecisionRule, ...]] = ("guarded", "simple")
_WITHOUT_VALUE: Final = "without a value"
_OF_LOSSES: Final = frozenset({"fail_position", "fail_time", "restored_position"})


class WrongPass(NamedTuple):
    """A pass that the truth denies."""

    start_number: int
    check: str
    detail: str
    value: float | None
    expanded: float
    true: float
    limits: Literal["usual", "missed"]
    limit: str
    rule: DecisionRule

    def row(self) -> str:
        """One row of the table."""
        value = _WITHOUT_VALUE if self.value is None else f"{self.value:.4g}"
        return (
            f"| {self.start_number} | {self.check} {self.detail} | {value} | {self.expanded:.2g} | {self.true:.4g} "
            f"| {self.limits}, {self.limit} | {self.rule} |"
        )


HEAD: Final = """| number | check | found | U | true | limit | rule |
| ---: | --- | ---: | ---: | ---: | --- | --- |
"""


def stage_records_of(field: FieldRecording) -> StageRecords:
    """The recording as its stage's records, reduced once for every set of limits."""
    records = records_of(field)
    day = Day(records.settings, records.tag, VISIT, records.instruments)
    recordings = stage_recordings(records, "1", "as_left")
    unanswered = in_stage(records.problems, "1", "as_left", decides=True)
    return StageRecords(day, "1", "as_left", records.tables, recordings, unanswered)


def assessed(records: StageRecords) -> StageResult:
    """The stage judged against the usual limits, guarded."""
    limit_set = LimitSet("study", usual_limits(), ())
    settings = UnitSettings("study", "Study", decision_rule="guarded", limit_sets={"study": limit_set})
    return assess_stage(replace(records, day=replace(records.day, settings=settings)), decides=True).result


def judged_again(stage: StageResult, records: StageRecords, limits: Limits, rule: DecisionRule) -> StageResult:
    """The same findings against other limits; what an open record holds back is held back again."""
    checks = [
        judge(each.finding, limits.get(each.check) if each.finding.judged else None, rule)
        for each in stage.checks
        if each.finding.quantity.answers
    ]
    return replace(stage, checks=tuple(hold_back(checks, records.unanswered, limits.keys())[0]))


def wrong_passes(
    field: FieldRecording, records: StageRecords, stage: StageResult, true: dict[Key, float]
) -> Iterator[WrongPass]:
    """Every gross wrong pass of a stage as :func:`assessed` judged it, under guarded and simple acceptance."""
    generator = np.random.default_rng((field.start_number, 3))
    targets = {(each.check, each.detail): each.target for each in stage.checks}
    near = missed_limits(((key[0], value, targets.get(key)) for key, value in true.items()), generator)
    sets: tuple[tuple[Literal["usual", "missed"], Limits], ...] = (("usual", usual_limits()), ("missed", near))
    for name, limits in sets:
        for rule in RULES:
            is_first = (name, rule) == ("usual", "guarded")
            own = stage if is_first else judged_again(stage, records, limits, rule)
            for each in (*checked(field, own, true), *_unfounded(field, own)):
                if each.found.verdict == "pass" and is_gross(each):
                    yield _wrong_pass(field.start_number, each, name, rule)


def _unfounded(field: FieldRecording, stage: StageResult) -> Iterator[Checked]:
    """Checks of a loss by a cause that there was not: no pass of them is right."""
    lost = {cause_of(each) for each in field.routine.pieces if is_loss(each)}
    lost |= {UNKNOWN} if lost else set()
    for each in stage.checks:
        if each.check in _OF_LOSSES and each.detail not in lost and each.value is not None:
            yield Checked(each, nan)


def is_gross(each: Checked) -> bool:
    """Whether the truth lies beyond a limit by more than half of U, or there is none at all."""
    if isnan(each.true):
        return True
    lower, upper = each.found.lower_limit, each.found.upper_limit
    true = abs(each.true) if each.found.check in OF_SIZE else each.true
    margin = 0.5 * (each.expanded or 0.0)
    return (upper is not None and true > upper + margin) or (lower is not None and true < lower - margin)


def _wrong_pass(start_number: int, each: Checked, limits: Literal["usual", "missed"], rule: DecisionRule) -> WrongPass:
    bounds = (each.found.lower_limit, each.found.upper_limit)
    text = " to ".join("" if bound is None else f"{bound:.4g}" for bound in bounds)
    found = each.found
    return WrongPass(
        start_number, found.check, found.detail, found.value, each.expanded or 0.0, each.true, limits, text, rule
    )
