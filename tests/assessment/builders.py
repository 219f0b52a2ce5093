"""Records made in memory, with as little as a test needs."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from kit.assessment.budgets import Day, Uncertainty
from kit.assessment.conformity import Tolerance
from kit.assessment.finding import Finding
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.basis.checks import CheckName
from kit.basis.quantity import Component, Quantity
from kit.basis.records import TagRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows
from kit.basis.settings import SCATTERS, ClassScatter, Limit, LimitSet, UnitSettings
from kit.basis.signals import SignalRange
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.basis.verdicts import CheckVerdict, worst_verdict
from kit.calculations.uncertainty import Budget

LOOP_MA = SignalRange(4.0, 20.0, "mA", "4-20 mA")
SOURCE = "made-up limit for a test"
TAG = Tag("T", command_range=LOOP_MA, feedback_range=LOOP_MA, limits="modulating", fail_action="closed")


def rows(table: str, given: Iterable[Mapping[str, Any]] = ()) -> Rows:
    """Rows of one table from dicts; what is not given is blank, tag T, visit 1 and stage as_left."""
    filled = [{"tag": "T", "visit": "1", "stage": "as_left", **each} for each in given]
    columns: dict[str, Any] = {}
    for name in TABLES[table].columns:
        if TABLES[table].kind(name) == "number":
            columns[name] = np.array([each.get(name, np.nan) for each in filled], dtype=float)
        else:
            columns[name] = np.array([each.get(name, "") for each in filled], dtype=object)
    if any("bounds" in each for each in filled):
        columns["bounds"] = np.array([each.get("bounds", "") for each in filled], dtype=object)
    columns["file"] = np.array([f"records/{table}.csv"] * len(filled), dtype=object)
    columns["row"] = np.arange(len(filled)) + 2
    return Rows(columns)


CALM = {name: ClassScatter(1e-4, 50.0, SOURCE) for name in SCATTERS}  # valves that hardly scatter


def settings(
    *limits: Limit,
    tests: tuple[str, ...] = (),
    rule: Any = "by_ratio",
    scatter: Mapping[str, ClassScatter] | None = None,
) -> UnitSettings:
    """One limit set, ``modulating``, with these limits."""
    limit_set = LimitSet("modulating", {limit.check: limit for limit in limits}, tests)
    sets = {"modulating": limit_set}
    return UnitSettings("unit", "Made-up unit", decision_rule=rule, limit_sets=sets, scatter=scatter or {})


def limit(check: str, **form: float) -> Limit:
    return Limit(check, SOURCE, **form)


def records(
    tables: Mapping[str, Iterable[Mapping[str, Any]]],
    *limits: Limit,
    tag: Tag | None = None,
    visits: tuple[Visit, ...] | None = None,
    instruments: tuple[Instrument, ...] = (),
    tests: tuple[str, ...] = (),
    rule: Any = "by_ratio",
) -> TagRecords:
    """One tag's records of a class of calm valves; the default visit names instruments C, P, F, S, R and V."""
    return TagRecords(
        settings=settings(*limits, tests=tests, rule=rule, scatter=CALM),
        tag=tag or TAG,
        instruments=instruments,
        visits=(visit(),) if visits is None else visits,
        tables={name: rows(name, tables.get(name, ())) for name in MEASUREMENTS},
        problems=(),
        input_hashes={},
    )


def day(*instruments: Instrument, tag: Tag = TAG, seen: Visit | None = None, **of_unit: Any) -> Day:
    """The default visit with these instruments."""
    return Day(dataclasses.replace(settings(), **of_unit), tag, seen or visit(), instruments)


def budget(expanded: float) -> Budget:
    """A budget of one normal component that comes to U = ``expanded`` with k = 2."""
    part = Component("made up", "", expanded / 2, "", "normal", 1.0, 1.0)
    return Budget((part,), expanded / 2, math.inf, 0.9545, 2.0, expanded)


def finding(check: CheckName, value: float | None, expanded: float | None = None, **further: Any) -> Finding:
    """A finding with its U; without one, for the reason "no instrument"."""
    uncertainty = Uncertainty(None, "no instrument") if expanded is None else Uncertainty(budget(expanded))
    return Finding(
        check, Quantity(value, "" if value is not None else "no reading"), uncertainty=uncertainty, **further
    )


def result(
    check: CheckName,
    verdict: CheckVerdict,
    value: float | None = None,
    limits: tuple[float | None, float | None] = (None, None),
    *,
    expanded: float | None = None,
    reason: str = "",
    **further: Any,
) -> CheckResult:
    """A judged check, put together by hand."""
    return CheckResult(finding(check, value, expanded, **further), verdict, Tolerance(*limits), reason=reason)


def stage(*checks: CheckResult, **further: Any) -> StageResult:
    """The as-left stage of visit 1 with these checks."""
    verdict = worst_verdict(each.verdict for each in checks)
    return StageResult("1", "as_left", "2026-03-10", verdict, checks, **further)


def visit(name: str = "1", date: str = "2026-03-10") -> Visit:
    return Visit(
        name,
        date,
        command_instrument="C",
        position_instrument="P",
        feedback_instrument="F",
        time_instrument="S",
        resistance_instrument="R",
        supply_instrument="V",
    )


def stroke(*errors: float, commands: Iterable[float] = (0, 25, 50, 75, 100)) -> list[dict[str, Any]]:
    """Up readings with these errors at these commands, in % typed."""
    return [
        {"direction": "up", "cycle": "1", "command_pct": float(at), "position_pct": at + error}
        for at, error in zip(commands, errors, strict=True)
    ]


def check(assessment: TagAssessment, name: str, detail: str = "") -> CheckResult:
    """The one row of the deciding stage for a check."""
    assert assessment.deciding is not None
    (found,) = [each for each in assessment.deciding.checks if (each.check, each.detail) == (name, detail)]
    return found


FINE = 1e-9  # a resolution that shows nowhere; a blank one would be the last digit typed
POSITION = Instrument("P", "pct", accuracy_fixed=0.3, resolution=0.1, due_on="2026-12-31", calibrated_on="2026-01-01")
COMMAND = Instrument("C", "pct", accuracy_fixed=0.1, resolution=FINE, due_on="2026-12-31")
STOPWATCH = Instrument("S", "s", accuracy_fixed=0.2, resolution=0.1)
OHMMETER = Instrument("R", "ohm", accuracy_pct_reading=0.5, resolution=0.01)
GOOD = (POSITION, COMMAND, STOPWATCH, OHMMETER)
