"""unit.toml, read and found in order: titles, decision rule, tests and limit sets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, Literal, get_args

from kit.basis.checks import CheckName

DecisionRule = Literal["simple", "guarded", "by_ratio"]
DECISION_RULES: Final[tuple[DecisionRule, ...]] = get_args(DecisionRule)
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


@dataclass(frozen=True, slots=True)
class LimitSet:
    name: str
    limits: Mapping[CheckName, Limit]
    tests: tuple[str, ...]  # what a tag must have: "readings", "fail_tests:signal_open" ...


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
    notice: str = ""  # a line for the head of every page, such as "Invented example"
