"""Invented records of one tag, small and complete, for the tests of the pages."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from math import inf
from typing import Any

import numpy as np

from kit.assessment.budgets import Uncertainty
from kit.assessment.conformity import Tolerance
from kit.assessment.finding import Finding
from kit.assessment.results import CheckResult, StageResult, TagAssessment
from kit.basis.checks import CheckName
from kit.basis.quantity import Component, Quantity
from kit.basis.records import Problem, TagRecords
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.rows import Rows
from kit.basis.settings import SCATTERS, ClassScatter, Limit, LimitSet, UnitSettings
from kit.basis.signals import SignalRange
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.basis.verdicts import CheckVerdict
from kit.calculations.uncertainty import Budget

TAG, VISIT_NAME = "FV-1", "1"


def rows(name: str, given: Sequence[Mapping[str, Any]] = ()) -> Rows:
    """Rows of a table from dictionaries, with every column of its schema; what is not given is blank."""
    default = {"tag": TAG, "visit": VISIT_NAME, "stage": "as_left"}
    filled = [{**default, **each} for each in given]
    columns: dict[str, Any] = {}
    for column in TABLES[name].columns:
        if TABLES[name].kind(column) == "number":
            columns[column] = np.array([float(each.get(column, np.nan)) for each in filled])
        else:
            columns[column] = np.array([str(each.get(column, "")) for each in filled], dtype=object)
    columns["file"] = np.array([f"records/{name}.csv"] * len(filled), dtype=object)
    columns["row"] = np.arange(2, 2 + len(filled))
    return Rows(columns)


def readings(errors: Mapping[str, Sequence[float]], **more: Any) -> list[dict[str, Any]]:
    """Stroke readings at 0, 25, 50, 75 and 100 % command, from the error of each point and direction."""
    made = []
    for direction, values in errors.items():
        points = zip((0, 25, 50, 75, 100), values, strict=True)
        for command, error in points if direction == "up" else reversed(list(points)):
            position = command + error
            made.append(
                {
                    "cycle": "1",
                    "direction": direction,
                    "command_mA": 4 + 0.16 * command,
                    "position_deg": round(0.9 * position, 3),
                    "feedback_mA": round(4 + 0.16 * (position + 0.2), 4),
                    **more,
                }
            )
    return made


def settings(**changes: Any) -> UnitSettings:
    """Limits and a rule of an invented unit."""
    source = "Invented specification, table 1"
    limits = {
        "inaccuracy": Limit("inaccuracy", source, plus_minus=1.5),
        "hysteretic_error": Limit("hysteretic_error", source, maximum=1.0),
        "stroke_time_open": Limit("stroke_time_open", source, of_nominal_pct=10),
        "fail_position": Limit("fail_position", "Invented cause and effect sheet", plus_minus=2.0),
        "closed_switch_lead": Limit("closed_switch_lead", source, minimum=1.0),
        "potentiometer_low_margin": Limit("potentiometer_low_margin", source, minimum=5.0),
        "potentiometer_high_margin": Limit("potentiometer_high_margin", source, minimum=5.0),
    }
    given = {
        "unit": "made",
        "title": "Invented unit",
        "site": "Invented site",
        "document": "DOC-{tag}",
        "revision": "A",
        "limit_sets": {"modulating": LimitSet("modulating", limits, ("readings", "fail_tests:signal_open"))},
        "notice": "Invented example",
        "scatter": {of: ClassScatter(1.4 if of == "strokes" else 0.1, 40, source) for of in SCATTERS},
        **changes,
    }
    return UnitSettings(**given)


def tag(**changes: Any) -> Tag:
    """A quarter-turn valve with a mA loop."""
    given = {
        "tag": TAG,
        "service": "Wash water",
        "motion": "rotary",
        "travel": 90.0,
        "travel_unit": "deg",
        "duty": "modulating",
        "command_range": SignalRange(4, 20, "mA", "4-20 mA"),
        "feedback_range": SignalRange(4, 20, "mA", "4-20 mA"),
        "fail_action": "closed",
        "stroke_time_open_s": 15.0,
        "stroke_time_close_s": 15.0,
        **changes,
    }
    return Tag(**given)


INSTRUMENTS = (
    Instrument("M-1", "mA", "Loop calibrator", 0, 24, 0.01, None, 0.004, 0.001, "C-1", "2026-01-01", "2027-01-01"),
    Instrument("D-1", "deg", "Inclinometer", 0, 360, None, None, 0.1, 0.1, "C-2", "2026-01-01", "2027-01-01"),
    Instrument("S-1", "s", "Stopwatch", 0, 3600, None, None, 0.2, 0.1, "C-3", "2026-01-01", "2027-01-01"),
)
VISIT = Visit(
    visit=VISIT_NAME,
    date="2026-03-02",
    technician="Technician 1",
    checked_by="Checker A",
    command_instrument="M-1",
    position_instrument="D-1",
    feedback_instrument="M-1",
    time_instrument="S-1",
    as_left_from="2026-03-02T11:00",
)
HEALTHY = {"up": (0.1, 0.2, 0.3, 0.2, 0.1), "down": (0.2, 0.4, 0.6, 0.4, 0.2)}
FOUND = {"up": (0.1, 0.6, 1.2, 1.8, 2.4), "down": (0.3, 0.9, 1.5, 2.1, 2.4)}


def records(tables: Mapping[str, Sequence[Mapping[str, Any]]] | None = None, **changes: Any) -> TagRecords:
    """Records of one tag. ``tables`` replaces the usual rows, table by table."""
    usual: dict[str, Sequence[Mapping[str, Any]]] = {
        "readings": [*readings(FOUND, stage="as_found"), *readings(HEALTHY)],
        "strokes": [{"direction": "open", "time_s": 15.2}, {"direction": "open", "time_s": 15.4}],
        "fail_tests": [
            {
                "cause": "signal_open",
                "position_before_pct": 60.0,
                "position_after_pct": 0.4,
                "time_s": 9.5,
                "alarm": "yes",
                "position_restored_pct": 59.8,
                "command_restored_pct": 60.0,
            }
        ],
        "switches": [
            {"switch": "closed", "makes_at_pct": 1.6, "breaks_at_pct": 2.4, "stop_at_pct": -0.6},
            {"switch": "open", "makes_at_pct": 98.2, "breaks_at_pct": 97.5, "stop_at_pct": 100.7},
        ],
        "potentiometer": [
            {"position_pct": at, "wiper_ohm": 100 + 8 * at, "track_ohm": 1000} for at in (0, 25, 50, 75, 100)
        ],
        "electrical": [{"supply_nominal_v": 24, "supply_idle_v": 24.2, "supply_running_v": 23.6}],
        "loop_checks": [{"station_output_pct": 50, "position_pct": 50.3, "station_feedback_pct": 50.1}],
        "prechecks": [{"item": "Handwheel free", "result": "yes"}],
        "settings": [
            {"setting": "dead band", "value": "0.8 %", "stage": "as_found"},
            {"setting": "dead band", "value": "0.5 %"},
        ],
        "adjustments": [{"at": "2026-03-02T10:00", "what": "end_points", "remark": "100 % set"}],
        **(tables or {}),
    }
    given: dict[str, Any] = {
        "settings": settings(),
        "tag": tag(),
        "instruments": INSTRUMENTS,
        "visits": (VISIT,),
        "tables": {name: rows(name, usual.get(name, [])) for name in MEASUREMENTS},
        "problems": (
            Problem("records/readings.csv", 14, "position_deg", "4S.1", "Not a number.", "FV-1", set_aside=True),
        ),
        "input_hashes": {"records/readings.csv": "ab" * 32, "tags.csv": "cd" * 32},
        **changes,
    }
    return TagRecords(**given)


def result(check: CheckName, value: float | None, verdict: CheckVerdict = "pass", **more: Any) -> CheckResult:
    """One judged check; ``lower``, ``upper`` and ``expanded`` stand for its limits and its uncertainty."""
    quantity = Quantity(value, more.pop("why_not", ""), beside=more.pop("beside", {}))
    told = {name: more.pop(name) for name in ("detail", "at", "target") if name in more}
    uncertainty = Uncertainty(budget(more.pop("expanded")) if "expanded" in more else None)
    tolerance = Tolerance(more.pop("lower", None), more.pop("upper", None))
    return CheckResult(Finding(check, quantity, uncertainty=uncertainty, **told), verdict, tolerance, **more)


def budget(expanded: float, coverage_factor: float = 2.0) -> Budget:
    """A budget of one component that comes to this expanded uncertainty."""
    part = Component("accuracy", "D-1", expanded / coverage_factor, "deg", "normal", 1.0, 1.0)
    return Budget((part,), expanded / coverage_factor, inf, 0.9545, coverage_factor, expanded)


def stage(*checks: CheckResult, **changes: Any) -> StageResult:
    """An as-left stage with these checks."""
    given = {"visit": VISIT_NAME, "stage": "as_left", "date": "2026-03-02", "verdict": "pass", **changes}
    return StageResult(checks=checks, **given)


def changed(stage: StageResult, **changes: Any) -> StageResult:
    return dataclasses.replace(stage, **changes)


def assessment(*stages: StageResult, **changes: Any) -> TagAssessment:
    """A tag judged by these stages, the deciding one first."""
    deciding = stages[0] if stages else None
    given: dict[str, Any] = {
        "tag": TAG,
        "verdict": deciding.verdict if deciding else "not_tested",
        "reason": "",
        "visit": deciding.visit if deciding else "",
        "worst_check": "",
        "stages": stages,
        "instruments": (),
        "remarks": (),
        "punch_list": (),
        **changes,
    }
    return TagAssessment(**given)
