"""Which cause comes first for which fault: counts over invented valves at several scatters."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Protocol

import numpy as np

from kit.assessment.budgets import Day
from kit.assessment.recordings.stage_recordings import NO_RECORDINGS
from kit.assessment.results import StageResult
from kit.assessment.stage import assess_stage
from kit.assessment.stage_records import StageRecords
from kit.basis.checks import CheckName
from kit.basis.registers import Instrument, Visit
from kit.basis.settings import Limit, LimitSet, UnitSettings
from kit.basis.tables import MEASUREMENTS
from kit.basis.verdicts import FAILING
from tests.making.study.measured_valves import rows_of
from tests.making.study.typed_fault_kinds import KINDS, Kind
from tests.making.study.typed_faults import tables_of
from tests.making.study.usual_limits import usual_limits

SCATTERS_PCT: Final = (0.15, 0.3, 0.6)
NO_CAUSE: Final = "no cause named"
WITHIN: Final = "within every limit"
_SOURCE: Final = "study"
_WIDER: Final[Mapping[CheckName, float]] = {
    "inaccuracy": 1.5,
    "span_error": 1.5,
    "feedback_zero_error": 1.0,
    "feedback_span_error": 1.0,
    "feedback_inaccuracy": 1.5,
    "loop_command_error": 2.5,
    "loop_feedback_error": 2.5,
    "closed_switch_position": 4.0,
    "open_switch_position": 4.0,
}
LIMITS: Final[Mapping[CheckName, Limit]] = {
    **usual_limits(),
    **{name: Limit(name, _SOURCE, plus_minus=width) for name, width in _WIDER.items()},
    "repeatability": Limit("repeatability", _SOURCE, maximum=3.0),
    "potentiometer_low_margin": Limit("potentiometer_low_margin", _SOURCE, minimum=5.0),
    "potentiometer_high_margin": Limit("potentiometer_high_margin", _SOURCE, minimum=5.0),
    "fail_time": Limit("fail_time", _SOURCE, maximum=30.0),
}
INSTRUMENTS: Final = (
    Instrument("C", "pct", accuracy_fixed=0.05, resolution=0.01),
    Instrument("P", "pct", accuracy_fixed=0.1, resolution=0.1),
    Instrument("F", "pct", accuracy_fixed=0.05, resolution=0.01),
    Instrument("S", "s", accuracy_fixed=0.2, resolution=0.1),
    Instrument("R", "ohm", accuracy_pct_reading=0.3, resolution=1.0),
)
VISIT: Final = Visit("1", "2026-03-10", "", "", "", "C", "P", "F", "S", resistance_instrument="R")
SETTINGS: Final = UnitSettings(
    "study", "Study", limit_sets={duty: LimitSet(duty, LIMITS, ()) for duty in ("modulating", "on_off")}
)


class HasRight(Protocol):
    """A kind of fault, typed or recorded."""

    @property
    def right(self) -> str:
        """The pattern that names it; "": no cause is right."""


@dataclass
class Told:
    """What came first, of valves with one fault at one scatter."""

    valves: int = 0
    first: Counter[str] = field(default_factory=Counter)
    named: int = 0  # valves whose right fault came first, or as its runner-up

    def add(self, other: Told) -> None:
        """Take in further valves."""
        self.valves += other.valves
        self.first += other.first
        self.named += other.named

    def right_share(self, kind: HasRight) -> float:
        """Share of the valves whose right fault came first; of sound ones, that had no cause named."""
        return self.right(kind.right) / self.valves if self.valves else 0.0

    def right(self, pattern: str) -> int:
        """Valves with this pattern first; "": with no cause named."""
        return self.first[pattern] if pattern else self.first[NO_CAUSE] + self.first[WITHIN]


def told_of(stage: StageResult, right: str) -> Told:
    """What one valve's causes come to. A fault too small to exceed a limit is told apart, and is not found."""
    found = stage.causes
    is_within = not any(each.verdict in FAILING for each in stage.checks)
    first = found[0].pattern if found else WITHIN if is_within else NO_CAUSE
    runner_up = found[0].runner_up if found else ""
    return Told(1, Counter([first]), int(right in (first, runner_up)))


def typed_once(kind: Kind, scatter_pct: float, cycles: int, number: int) -> Told:
    """One typed valve."""
    place = [each.name for each in KINDS].index(kind.name)
    draw = np.random.default_rng((number, place, round(100 * scatter_pct), cycles))
    valve = kind.make(draw)
    tables = tables_of(valve, draw, scatter_pct, cycles)
    day = Day(SETTINGS, valve.tag, VISIT, INSTRUMENTS)
    rows = {name: rows_of(name, tables.get(name, [])) for name in MEASUREMENTS}
    staged = assess_stage(StageRecords(day, "1", "as_left", rows, NO_RECORDINGS), decides=True)
    return told_of(staged.result, kind.right)


def typed(kind: Kind, scatter_pct: float, cycles: int, valves: int, first: int = 0) -> Told:
    """So many typed valves of one fault."""
    total = Told()
    for number in range(first, first + valves):
        total.add(typed_once(kind, scatter_pct, cycles, number))
    return total
