"""Invented valves judged against limits that they just miss and just keep: coverage of U, and risks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np

from kit.assessment.finding import Finding
from kit.assessment.judge import judge
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects import SUBJECTS
from kit.basis.checks import CHECKS, CheckName
from kit.basis.settings import DECISION_RULES, Limit
from tests.making.study.measured_valves import Level, measured_valve

CYCLES: Final = (1, 2, 3)
NEAR: Final = 0.05  # how far beyond, or inside, its limit a valve lies at most
OF_MANY: Final = frozenset(
    {
        *("independent_linearity", "terminal_linearity", "zero_based_linearity", "hysteretic_error", "repeatability"),
        *("feedback_linearity", "feedback_hysteretic_error", "potentiometer_linearity"),
    }
)
_GREATEST: Final = frozenset({"inaccuracy", "feedback_inaccuracy", "loop_command_error", "loop_feedback_error"})
_OF_READINGS: Final = _GREATEST | {"repeatability", "potentiometer_low_margin", "potentiometer_high_margin"}
_LEAST: Final[Mapping[str, float]] = {
    "s": 0.3,
    "V": 0.3,
    "Ω": 0.3,
    "MΩ": 0.05,
}  # least distance of a limit from its target
_LEAST_PCT: Final = 0.3


class Cell(NamedTuple):
    """One row of the study: a check, how often it was repeated, and whether the unit states a class scatter."""

    check: CheckName
    cycles: int
    with_class: bool


@dataclass
class Counts:
    """What became of the valves of one cell."""

    valves: int = 0
    covered: int = 0
    lean: float = 0.0  # sum of value minus truth
    expanded: float = 0.0  # sum of U
    lacking: int = 0  # valves whose U holds no scatter
    beyond: int = 0  # valves beyond the limit
    inside: int = 0
    passes: dict[str, int] = field(default_factory=lambda: dict.fromkeys(DECISION_RULES, 0))
    fails: dict[str, int] = field(default_factory=lambda: dict.fromkeys(DECISION_RULES, 0))

    def add(self, other: Counts) -> None:
        """Take in what became of further valves."""
        for name in ("valves", "covered", "lean", "expanded", "lacking", "beyond", "inside"):
            setattr(self, name, getattr(self, name) + getattr(other, name))
        for rule in DECISION_RULES:
            self.passes[rule] += other.passes[rule]
            self.fails[rule] += other.fails[rule]


Study = dict[Cell, Counts]


def study_of(numbers: Iterable[int], *, cycles: Iterable[int] = CYCLES) -> Study:
    """Every check of the valves that the numbers draw, with so many cycles; one with and without a class scatter."""
    found: Study = {}
    for number in numbers:
        for repeats in cycles:
            for with_class in (False, True) if repeats == 1 else (False,):
                for cell, counts in _one(number, repeats, with_class=with_class).items():
                    found.setdefault(cell, Counts()).add(counts)
    return found


def _one(number: int, repeats: int, *, with_class: bool) -> Study:
    valve = measured_valve(number, repeats)
    share = np.random.default_rng((number, repeats, 1)).uniform(0.0, NEAR)
    found = {level: _findings(valve.records(level, with_class=with_class)) for level in ("typed", "actual", "mean")}
    study: Study = {}
    for key, typed in found["typed"].items():
        level: Level = "actual" if key[0] in _OF_READINGS else "mean"
        true = found[level][key]
        if typed.value is None or typed.uncertainty.budget is None or true.value is None:
            continue
        counts = study.setdefault(Cell(key[0], repeats, with_class), Counts())
        counts.add(_held(typed, true, float(share)))
    return study


def _findings(records: StageRecords) -> dict[tuple[CheckName, str], Finding]:
    findings = [finding for subject in SUBJECTS for finding in subject.typed(records)]
    return {(each.check, each.detail): each for each in findings if not CHECKS[each.check].is_count and each.judged}


def _held(typed: Finding, true: Finding, share: float) -> Counts:
    """One finding against its truth, and against a limit that the truth just misses, and just keeps."""
    assert typed.uncertainty.budget is not None
    expanded = typed.uncertainty.budget.expanded_uncertainty
    error = _from_target(typed) - _from_target(true)
    is_covered = -error <= expanded if typed.check in OF_MANY else abs(error) <= expanded
    counts = Counts(1, int(is_covered), error, expanded, int(typed.uncertainty.lacks_scatter))
    for beyond in (True, False):
        limit = _limit(typed, true, share if beyond else -share)
        if limit is None:
            continue
        if beyond:
            counts.beyond += 1
        else:
            counts.inside += 1
        for rule in DECISION_RULES:
            verdict = judge(typed, limit, rule).verdict
            counts.passes[rule] += int(beyond and verdict == "pass")
            counts.fails[rule] += int(not beyond and verdict == "fail")
    return counts


def _from_target(finding: Finding) -> float:
    """A value from its target, which may be measured too; of the greatest error, whose sign may turn, the size."""
    from_target = (finding.value or 0.0) - (finding.target or 0.0)
    return abs(from_target) if finding.check in _GREATEST else from_target


def _limit(typed: Finding, true: Finding, beyond: float) -> Limit | None:
    """The limit that the truth exceeds by ``beyond`` of it; None where the truth lies at its target."""
    check, away = typed.check, _from_target(true)
    if abs(away) < _LEAST.get(CHECKS[check].measure, _LEAST_PCT):
        return None
    if typed.target is not None:
        return Limit(check, "study", plus_minus=abs(away) / (1.0 + beyond))
    if check in _AT_LEAST:
        return Limit(check, "study", minimum=away / (1.0 - beyond))
    return Limit(check, "study", maximum=away / (1.0 + beyond))


_AT_LEAST: Final = frozenset(
    {
        *("closed_switch_lead", "open_switch_lead", "potentiometer_low_margin", "potentiometer_high_margin"),
        *("loop_margin", "insulation_resistance"),
    }
)
