"""Whatever a record holds that the readers let through, the assessment judges it and the page shows it."""

from __future__ import annotations

import dataclasses
import inspect
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.assessment import assess_tag
from kit.basis.checks import CHECKS
from kit.basis.registers import Instrument, Tag, Visit
from kit.basis.signals import SignalRange
from kit.basis.tables import MEASUREMENTS, TABLES
from kit.basis.verdicts import GAPS
from kit.views.report import sections
from tests.assessment.builders import limit, records

PAGE = [
    made
    for name, made in inspect.getmembers(sections, inspect.isfunction)
    if made.__module__ == sections.__name__ and not name.startswith("_")
]
LIMITS = [
    limit(name, maximum=1.0) if check.target in (None, "nominal_time") else limit(name, plus_minus=1.0)
    for name, check in CHECKS.items()
]
RANGES = st.sampled_from([None, SignalRange(4, 20, "mA", "4-20 mA"), SignalRange(0, 10, "V", "0-10 V")])


def cell(table: str, column: str) -> st.SearchStrategy[Any]:
    """A cell that the schema allows; an optional one is often blank."""
    kind = TABLES[table].kind(column)
    if column in ("tag", "visit", "stage"):
        return st.sampled_from({"tag": ["T"], "visit": ["1", "2"], "stage": ["as_found", "as_left"]}[column])
    if kind == "number":
        low, high = TABLES[table].bounds(column)
        least, greatest = -50 if low is None else max(low, -200), 150 if high is None else min(high, 2000)
        coarse = st.integers(int(least * 10), int(greatest * 10)).map(lambda tenths: tenths / 10)
        return coarse if TABLES[table].is_bold(column) else st.just(float("nan")) | coarse
    words = [*TABLES[table].words(column)] or ["2026-03-10" if kind in ("date", "time") else "a <b> & c"]
    return st.sampled_from(words if TABLES[table].is_bold(column) else [*words, ""])


def row(table: str) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({column: cell(table, column) for column in TABLES[table].columns})


tables = st.fixed_dictionaries({}, optional={name: st.lists(row(name), max_size=6) for name in MEASUREMENTS})
tags = st.builds(
    Tag,
    tag=st.just("T"),
    travel=st.sampled_from([None, 90.0]),
    travel_unit=st.sampled_from(["", "deg", "mm"]),
    command_range=RANGES,
    feedback_range=RANGES,
    action=st.sampled_from(["direct", "reverse"]),
    characteristic=st.sampled_from(["linear", "equal_percentage"]),
    fail_action=st.sampled_from([None, "open", "closed", "hold"]),
    fail_action_supply=st.sampled_from([None, "open", "hold"]),
    limits=st.sampled_from(["modulating", "", "unheard"]),
    track_ohm=st.sampled_from([None, 1000.0]),
)
NAMED = {f"{role}_instrument": role[0].upper() for role in ("command", "position", "feedback", "time", "resistance")}
INSTRUMENTS = tuple(
    Instrument(name, measures, accuracy_fixed=0.1, resolution=0.01)
    for name, measures in (("C", "mA"), ("P", "deg"), ("P", "pct"), ("F", "mA"), ("T", "s"), ("R", "ohm"))
)


@settings(max_examples=120, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(content=tables, tag=tags, with_visit=st.booleans(), with_instruments=st.booleans())
def test_every_part_of_the_page_is_made_of_any_record(content, tag, with_visit, with_instruments):
    visits = (Visit("1", "2026-03-10", **NAMED),) if with_visit else ()
    tests = ("readings:down", "strokes", "fail_tests:supply_off", "switches:open", "prechecks")
    made = records(
        content,
        *LIMITS,
        tag=tag,
        visits=visits,
        instruments=INSTRUMENTS if with_instruments else (),
        tests=tests,
    )
    assessment = assess_tag(dataclasses.replace(made))
    assert assessment.verdict in ("fail", "conditional_fail", "incomplete", "not_tested")
    for part in PAGE:
        assert part(made, assessment)
    for stage in assessment.stages:
        for check in stage.checks:
            assert check.value is not None or (check.verdict in GAPS and check.reason)
            assert check.verdict != "pass" or check.budget is not None or CHECKS[check.check].is_count
