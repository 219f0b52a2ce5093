"""As left worse than as found: an adjustment gone wrong, or two stages typed in each other's place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from kit.assessment.flagged import places_of
from kit.assessment.results import CheckResult, StageResult
from kit.basis.answers import record_key
from kit.basis.checks import CheckName
from kit.basis.records import Problem, TagRecords
from kit.basis.verdicts import FAILING, Stage

_TELLS: Final[CheckName] = "inaccuracy"  # of every reading: an adjustment is made to lessen it
_PASSING: Final = frozenset({"pass", "conditional_pass"})
_TABLE: Final = "readings"
_TEXT: Final = (
    "As left the greatest error is {left:.3g} % and outside its limit, as found {found:.3g} % and inside. It happens "
    "where an adjustment went wrong. Were as found and as left exchanged? Nothing was changed."
)


def tell_exchanged_stages(
    records: TagRecords, stages: Sequence[StageResult]
) -> tuple[tuple[StageResult, ...], tuple[Problem, ...]]:
    """The stages, those of a visit that got worse marked, and a flag for each such visit.

    Notes
    -----
    House definition: the greatest error as left is larger and fails its limit, and the one as found passes it. No
    verdict moves.
    """
    problems = []
    told = list(stages)
    for visit in dict.fromkeys(each.visit for each in stages):
        left, found = (_inaccuracy(stages, visit, stage) for stage in ("as_left", "as_found"))
        if left is None or found is None or not _got_worse(left, found):
            continue
        problem = _problem(records, visit, left, found)
        if problem is not None:
            problems.append(problem)
            told = [_marked(each, problem) if each.visit == visit else each for each in told]
    return tuple(told), tuple(problems)


def _inaccuracy(stages: Sequence[StageResult], visit: str, stage: Stage) -> CheckResult | None:
    checks = (check for each in stages if (each.visit, each.stage) == (visit, stage) for check in each.checks)
    return next((each for each in checks if each.check == _TELLS and each.visit == visit), None)


def _got_worse(left: CheckResult, found: CheckResult) -> bool:
    if left.value is None or found.value is None:
        return False
    return left.verdict in FAILING and found.verdict in _PASSING and abs(left.value) > abs(found.value)


def _problem(records: TagRecords, visit: str, left: CheckResult, found: CheckResult) -> Problem | None:
    """At the first reading as left; None where neither stage was typed."""
    rows = records.tables[_TABLE].only("visit", visit).only("stage", "as_left")
    if not len(rows) or left.value is None or found.value is None:
        return None
    tag, file, row = records.tag.tag, str(rows["file"][0]), int(rows["row"][0])
    text = _TEXT.format(left=left.value, found=found.value)
    key = record_key("stages", tag, visit, repr(left.value), repr(found.value))
    return Problem(file, row, "stage", "as_left", text, tag, table=_TABLE, record=key)


def _marked(stage: StageResult, problem: Problem) -> StageResult:
    place = places_of([problem])
    checks = tuple(
        replace(each, flagged=tuple(dict.fromkeys((*each.flagged, *place))))
        if each.check == _TELLS and each.visit == stage.visit
        else each
        for each in stage.checks
    )
    return replace(stage, checks=checks)
