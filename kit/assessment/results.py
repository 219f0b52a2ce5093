"""What an assessment hands to the reports: checks with their verdicts, stages, a tag."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf
from typing import Literal

from kit.assessment.conformity import NO_LIMITS, Rule, Tolerance
from kit.assessment.finding import WORST_RUN, Finding
from kit.assessment.instruments import InstrumentUse
from kit.basis.arrays import FloatArray
from kit.basis.checks import CheckName
from kit.basis.recording_maps import RecordingMap
from kit.basis.records import Problem
from kit.basis.verdicts import CheckVerdict, Stage, TagVerdict
from kit.calculations.adjustment import Trim
from kit.calculations.position import Runs
from kit.calculations.potentiometer import Sweep
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.uncertainty import Budget


@dataclass(frozen=True, slots=True)
class CheckResult:
    """One row of results.csv: a finding, and how it was judged."""

    finding: Finding
    verdict: CheckVerdict
    tolerance: Tolerance = NO_LIMITS
    limit_source: str = ""
    p_conformity: float | None = None
    tur: float | None = None
    rule: Rule | Literal[""] = ""
    reason: str = ""  # why there is no value, no uncertainty or no verdict; "" when nothing is to be said
    suggested_action: str = ""  # what would settle it; "": what is usual for the check and its verdict
    changed_since: str = ""  # what was changed after it was made, or may have been; "": nothing that touches it
    visit: str = ""  # whose records it is made of
    date: str = ""  # of that visit, ISO 8601; "" where it is not known
    flagged: tuple[str, ...] = ()  # where the flagged readings stand that its value rests on: "readings.csv row 12"
    by_placeholder: bool = False  # whether its limit waits for an engineer to confirm it, so that nothing passes by it

    @property
    def check(self) -> CheckName:
        return self.finding.check

    @property
    def detail(self) -> str:
        return self.finding.detail

    @property
    def value(self) -> float | None:
        return self.finding.value

    @property
    def deciding_value(self) -> float | None:
        """What the verdict is of: the worst of several runs, else the value."""
        return self.beside.get(WORST_RUN, self.value)

    @property
    def at(self) -> str:
        """Where the deciding reading stands, in words."""
        return self.finding.at

    @property
    def beside(self) -> Mapping[str, float]:
        return self.finding.beside

    @property
    def target(self) -> float | None:
        """What a plus-minus limit is measured from."""
        return self.finding.target

    @property
    def bound(self) -> str:
        """What stands before a value that is a bound: "> " or "< "; "" for a value."""
        within = self.finding.quantity.within
        return "" if within is None else "> " if within[1] == inf else "< "

    @property
    def budget(self) -> Budget | None:
        return self.finding.uncertainty.budget

    @property
    def lower_limit(self) -> float | None:
        return self.tolerance.lower

    @property
    def upper_limit(self) -> float | None:
        return self.tolerance.upper


@dataclass(frozen=True, slots=True)
class ProbableCause:
    """What the readings resemble: probable, to be confirmed on site."""

    pattern: str
    evidence: str  # the numbers that matched
    runner_up: str  # "" when nothing else comes near
    decide: str  # the one look or measurement that would decide
    adjust: str = ""  # what usually mends it
    explains: tuple[tuple[CheckName, str], ...] = ()  # check and detail of what would be in order without it


@dataclass(frozen=True, slots=True, eq=False)
class RecordingResult:
    """One recording of a stage, cut and reduced; ``reduction`` is None where nothing of it can be used."""

    file: str
    name: str  # what its file's name says after the stage
    start: str  # the first time stamp with its zone; "" where it has times in s only
    reduction: Reduction | None
    segments_set: bool = False  # by a person, in the table segments
    why_not: str = ""
    note: str = ""  # what it shares with another file
    read_by: RecordingMap | None = None  # the table of unit.toml that tells its columns


@dataclass(frozen=True, slots=True, eq=False)
class LoopReadings:
    """What was read at n station outputs, each shape (n,); a blank is nan."""

    output_pct: FloatArray  # set at the station
    card_pct: FloatArray  # current at the output card [% of command range]
    valve_pct: FloatArray  # current at the valve [% of command range]
    ideal_pct: FloatArray  # position that the output asks for [% of travel]
    position_pct: FloatArray  # [% of travel]
    shown_pct: FloatArray  # feedback that the station displays


@dataclass(frozen=True, slots=True)
class StageResult:
    """One visit's as-found or as-left stage."""

    visit: str
    stage: Stage
    date: str  # ISO 8601; "" when the visit has no row of its own
    verdict: TagVerdict
    checks: tuple[CheckResult, ...]  # in the contract's order
    causes: tuple[ProbableCause, ...] = ()  # of what exceeds its limit
    position_runs: Runs | None = None
    feedback_runs: Runs | None = None
    sweep: Sweep | None = None
    recordings: tuple[RecordingResult, ...] = ()  # the stage's recordings
    command_set_pct: FloatArray | None = None  # (n,) set beside each command measured, before any was left out
    goes_on_from: tuple[str, ...] = ()  # earlier visits that its checks are made of too, newest first
    why_held: str = ""  # why it is not known which visit decides, so that nothing passes
    loop: LoopReadings | None = None  # None: no loop check was recorded

    def cause_of(self, check: CheckResult) -> ProbableCause | None:
        """What explains an exception, where something does."""
        own = (check.check, check.detail)
        return next((each for each in self.causes if own in each.explains), None)

    @property
    def visits(self) -> tuple[str, ...]:
        """The visits that its checks are made of, its own first."""
        return (self.visit, *self.goes_on_from)

    def visits_of(self, checks: Iterable[CheckName]) -> tuple[str, ...]:
        """The visits that these checks are made of; its own where there is none of them."""
        wanted = frozenset(checks)
        found = {each.visit for each in self.checks if each.check in wanted and each.visit}
        return tuple(each for each in self.visits if each in found) or (self.visit,)


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """What the trim of least greatest error would leave, judged as the inaccuracy is."""

    trim: Trim | None
    why_not: str = ""  # why there is none
    expected: CheckResult | None = None  # the inaccuracy expected; None where no limit holds for it
    remains: tuple[tuple[CheckResult, float], ...] = ()  # what else would be outside its limit, and its value then
    left_out: tuple[str, ...] = ()  # readings on a stop, in words
    apart_pct: float | None = None  # hysteretic error that no trim takes away [% of travel span]
    bent_pct: float | None = None  # independent linearity, likewise

    @property
    def passes(self) -> bool:
        """Whether a pass or a conditional pass of all position checks is expected of it."""
        inside = self.expected is not None and self.expected.verdict in ("pass", "conditional_pass")
        return inside and not self.remains


@dataclass(frozen=True, slots=True)
class PunchItem:
    """One row of punch_list.csv."""

    tag: str
    check: str
    what: str
    evidence: str
    suggested_action: str
    category: Literal["A", "B", "C"]


@dataclass(frozen=True, slots=True)
class TagAssessment:
    """A tag, judged: the as-left stage of its newest visit decides, the rest is history."""

    tag: str
    verdict: TagVerdict
    reason: str  # the verdict in a sentence
    visit: str
    worst_check: str
    stages: tuple[StageResult, ...]  # newest visit first, as left before as found
    instruments: tuple[InstrumentUse, ...]
    remarks: tuple[str, ...]  # what a reviewer should know and no check says
    punch_list: tuple[PunchItem, ...]
    as_typed: tuple[str, ...] = ()  # what answers gave another value, and what the verdict would be as it was typed
    reach: Reach | None = None  # what zero and span can do about position checks that are outside
    problems: tuple[Problem, ...] = ()  # found while judging: typed against recorded, segments that do not fit

    @property
    def deciding(self) -> StageResult | None:
        """The stage that gives the tag its verdict; None for a tag without records."""
        return self.stages[0] if self.stages else None

    @property
    def as_found(self) -> StageResult | None:
        """The as-found stage of the same visit, if it was recorded."""
        newest = (stage for stage in self.stages if stage.visit == self.visit and stage.stage == "as_found")
        return next(newest, None)
