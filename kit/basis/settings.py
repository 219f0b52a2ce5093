"""unit.toml, read and found in order: titles, decision rule, tests and limit sets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, get_args

from kit.basis.checks import TRAVEL, CheckName
from kit.basis.evidence import Need
from kit.basis.recording_maps import RecordingMap

DecisionRule = Literal["simple", "guarded", "by_ratio"]
DECISION_RULES: Final[tuple[DecisionRule, ...]] = get_args(DecisionRule)
SCATTERS: Final[Mapping[str, str]] = {  # what a class scatter may be of, and its unit
    "position": TRAVEL,
    "feedback": TRAVEL,
    "switches": TRAVEL,
    "strokes": "% of the stroke time",
}
PLACES_OF_A_DOCUMENT_NUMBER: Final = r"\{(tag|unit)\}"  # what its pattern may hold, and nothing else in braces


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of a set, as unit.toml states it: exactly one of the three forms is given."""

    check: CheckName
    source: str
    revision: str = ""
    plus_minus: float | None = None  # about the check's target
    of_nominal_pct: float | None = None  # about the tag's own nominal value
    minimum: float | None = None  # minimum, maximum or both
    maximum: float | None = None
    cycles: int | None = None  # of repeatability: the cycles that it is stated for
    placeholder_in: str = ""  # the limit set in which it waits for an engineer to confirm it; "": it is confirmed


@dataclass(frozen=True, slots=True)
class ClassScatter:
    """The scatter of a class of valves, for where a record has no repeats of its own."""

    value: float  # standard deviation of one reading, in the unit of SCATTERS
    degrees_of_freedom: float
    source: str


@dataclass(frozen=True, slots=True)
class LimitSet:
    name: str
    limits: Mapping[CheckName, Limit]
    tests: tuple[str, ...]  # what a tag must have: "readings", "fail_tests:signal_open" ...
    evidence: Mapping[CheckName, Mapping[Need, float]] = field(default_factory=dict)  # where it departs from NEEDS
    evidence_sources: Mapping[CheckName, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class UnitSettings:
    """unit.toml, read and found in order."""

    unit: str  # the name of the unit's folder
    title: str
    site: str = ""
    document: str = "{tag}"  # pattern of the document number; {unit} may stand in it too
    revision: str = ""
    decision_rule: DecisionRule = "by_ratio"
    coverage_probability: float = 0.9545
    tests: tuple[str, ...] = ()
    limit_sets: Mapping[str, LimitSet] = field(default_factory=dict)
    prechecks: tuple[str, ...] = ()  # items that must be answered; (): those that were recorded
    scatter: Mapping[str, ClassScatter] = field(default_factory=dict)  # by what it is the scatter of: SCATTERS
    retest_days: int | None = None  # until a tag is due again, at the longest
    own_columns: tuple[str, ...] = ()  # a plant's own columns in any table: neither read nor taken for a slip
    recordings: tuple[RecordingMap, ...] = ()  # how the files of loggers are read
    notice: str = ""  # a line for the head of every page, such as "Invented example"
