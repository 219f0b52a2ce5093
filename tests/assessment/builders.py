"""Records made in memory, with as little as a test needs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from kit.assessment.results import CheckResult, TagAssessment
from kit.basis.records import TagRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows
from kit.basis.settings import Limit, LimitSet, UnitSettings
from kit.basis.signals import SignalRange
from kit.basis.tables import MEASUREMENTS, TABLES

LOOP_MA = SignalRange(4.0, 20.0, "mA", "4-20 mA")
SOURCE = "made-up limit for a test"


def rows(table: str, given: Iterable[Mapping[str, Any]] = ()) -> Rows:
    """Rows of one table from dicts; what is not given is blank, tag T, visit 1 and stage as_left."""
    filled = [{"tag": "T", "visit": "1", "stage": "as_left", **each} for each in given]
    columns: dict[str, Any] = {}
    for name in TABLES[table].columns:
        if TABLES[table].kind(name) == "number":
            columns[name] = np.array([each.get(name, np.nan) for each in filled], dtype=float)
        else:
            columns[name] = np.array([each.get(name, "") for each in filled], dtype=object)
    columns["file"] = np.array([f"records/{table}.csv"] * len(filled), dtype=object)
    columns["row"] = np.arange(len(filled)) + 2
    return Rows(columns)


def settings(*limits: Limit, tests: tuple[str, ...] = (), rule: Any = "by_ratio") -> UnitSettings:
    """One limit set, ``modulating``, with these limits."""
    limit_set = LimitSet("modulating", {limit.check: limit for limit in limits}, tests)
    return UnitSettings("unit", "Made-up unit", decision_rule=rule, limit_sets={"modulating": limit_set})


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
    """One tag's records; the default visit names instruments C, P, F, S and R."""
    return TagRecords(
        settings=settings(*limits, tests=tests, rule=rule),
        tag=tag or Tag("T", command_range=LOOP_MA, feedback_range=LOOP_MA, limits="modulating", fail_action="closed"),
        instruments=instruments,
        visits=(visit(),) if visits is None else visits,
        tables={name: rows(name, tables.get(name, ())) for name in MEASUREMENTS},
        problems=(),
        input_hashes={},
    )


def visit(name: str = "1", date: str = "2026-03-10") -> Visit:
    return Visit(
        name,
        date,
        command_instrument="C",
        position_instrument="P",
        feedback_instrument="F",
        time_instrument="S",
        resistance_instrument="R",
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


POSITION = Instrument("P", "pct", accuracy_fixed=0.3, resolution=0.1, due_on="2026-12-31", calibrated_on="2026-01-01")
COMMAND = Instrument("C", "pct", accuracy_fixed=0.1, due_on="2026-12-31")
STOPWATCH = Instrument("S", "s", accuracy_fixed=0.2, resolution=0.1)
GOOD = (POSITION, COMMAND, STOPWATCH)
