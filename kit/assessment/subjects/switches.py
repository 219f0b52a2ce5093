"""The limit switches: where each makes, and how far before its travel stop."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.bounded import bounds_among
from kit.assessment.budgets import Repeats, Source, budget_of
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.recordings.stage_recordings import NO_POSITION
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import FloatArray, single
from kit.basis.checks import TRAVEL, CheckName
from kit.basis.quantity import Quantity
from kit.basis.registers import Role
from kit.basis.rows import Rows
from kit.calculations.digits import last_digit
from kit.calculations.recordings import switches as recorded_switches
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.switch_leads import switch_lead as recorded_lead
from kit.calculations.recordings.switches import End
from kit.calculations.repeats import finite_end, within
from kit.calculations.switches import lead_between, switch_lead, switch_position

_POSITION: Final[dict[End, CheckName]] = {"closed": "closed_switch_position", "open": "open_switch_position"}
_LEAD: Final[dict[End, CheckName]] = {"closed": "closed_switch_lead", "open": "open_switch_lead"}
_SLOPES: Final[dict[Role, float]] = {"position": 1.0}


def _typed(records: StageRecords) -> list[Finding]:
    findings = []
    for end in _POSITION:
        tried = records.tables["switches"].only("switch", end)
        if len(tried):
            findings += [_position(tried, end, records), _lead(tried, end, records)]
    return findings


def _repeats(records: StageRecords, end: End, weights: FloatArray) -> Repeats:
    """What was repeated of both switches, bounds repeating nothing; ``weights`` are those of the rows of ``end``."""
    rows = records.tables["switches"]
    low, high = rows.interval("makes_at_pct")
    every, makes = np.zeros(len(rows)), finite_end(low, high)
    every[rows["switch"] == end] = weights
    group = np.where(low == high, rows["switch"] == "open", np.arange(2, len(rows) + 2)).astype(np.intp)
    known = np.isfinite(makes)
    return Repeats(makes[known], group[known], every[known], _SLOPES, "switches")


def _position(rows: Rows, end: End, records: StageRecords) -> Finding:
    check = _POSITION[end]
    if rows.bounded("makes_at_pct", "never").any():
        return Finding(check, _never(end))
    low, high = rows.interval("makes_at_pct")
    makes, quantity = finite_end(low, high), switch_position(low, high)
    if quantity.value is None or quantity.weights is None:
        return Finding(check, quantity)
    point = np.zeros(len(makes), dtype=np.intp)
    sources = [Source("position", makes, quantity.weights, last_digit(rows["makes_at_pct"]))]
    repeats = _repeats(records, end, quantity.weights)
    return Finding(
        check,
        quantity,
        at=_reset(rows),
        target=fixed_target(check),
        uncertainty=budget_of(records.day, quantity, sources, point, TRAVEL, repeats),
        singly=tuple(makes[np.isfinite(makes)].tolist()),
        bounds=bounds_among(low, high),
    )


def _lead(rows: Rows, end: End, records: StageRecords) -> Finding:
    if rows.bounded("makes_at_pct", "never").any():
        return Finding(_LEAD[end], _never(end))
    makes, stops = rows.interval("makes_at_pct"), rows.interval("stop_at_pct")
    low, high = lead_between(makes, stops, end=end)
    quantity = switch_lead(finite_end(*makes), finite_end(*stops), end=end)
    if np.any(low < high):
        reading = int(np.nanargmin(low))
        quantity = within(Quantity(None, reading=reading), float(low[reading]), float(high[reading]))
    if quantity.value is None or quantity.reading is None:
        return Finding(_LEAD[end], quantity)
    readings = np.array([finite_end(*makes)[quantity.reading], finite_end(*stops)[quantity.reading]])
    digit = max(last_digit(rows["makes_at_pct"]), last_digit(rows["stop_at_pct"]))
    sources = [Source("position", readings, np.array([1.0, -1.0]), digit)]
    repeats = _repeats(records, end, single(quantity.reading, len(rows)))
    return Finding(
        _LEAD[end],
        quantity,
        at=f"makes at {readings[0]:.1f} %, stop at {readings[1]:.1f} %",
        uncertainty=budget_of(records.day, quantity, sources, np.arange(2), TRAVEL, repeats),
        bounds=bounds_among(low, high),
    )


def _never(end: End) -> Quantity:
    return Quantity(None, never=f"the {end} switch did not make")


def _reset(rows: Rows) -> str:
    low, high = rows.interval("breaks_at_pct")
    known = low[low == high]
    return f"resets at {known.mean():.1f} %" if known.size else ""


def _recorded(records: StageRecords) -> list[Finding]:
    found = []
    for end in _POSITION:
        wired = [each for each in records.recordings.measured if _has_switch(each, end)]
        if not wired and any(_has_switch(each, end) for each in records.recordings.unmeasured):
            found += [Finding(check, Quantity(None, NO_POSITION)) for check in (_POSITION[end], _LEAD[end])]
        if wired:
            found += [_recorded_position(wired, end, records), _recorded_lead(wired, end, records)]
    return found


def _has_switch(found: Reduction, end: End) -> bool:
    return (found.recording.closed_switch if end == "closed" else found.recording.open_switch) is not None


def _recorded_position(wired: list[Reduction], end: End, records: StageRecords) -> Finding:
    events = [event for each in wired for event in each.switch_events]
    makes = recorded_switches.switch_makes(events, end)
    reset = makes.beside.get("breaks_at_pct")
    at = "" if reset is None else f"resets at {reset:.1f} %"
    repeats = _recorded_repeats(records, end, as_mean=True)
    made = tuple(each.travel_pct for each in events if each.end == end and each.makes)
    return replace(finding_of(_POSITION[end], makes, records, at=at, repeats=repeats), singly=made)


def _recorded_repeats(records: StageRecords, end: End, *, as_mean: bool) -> Repeats:
    """What was recorded of both switches; the figure is the mean of those of ``end``, or rests on one of them."""
    events = [event for each in records.recordings.measured for event in each.switch_events if event.makes]
    own = np.array([event.end == end for event in events], dtype=bool)
    weights = own / max(np.count_nonzero(own), 1) if as_mean else single(int(own.argmax()), own.size)
    error = np.array([event.travel_pct for event in events], dtype=float)
    return Repeats(error, own.astype(np.intp), weights, _SLOPES, "switches")


def _recorded_lead(wired: list[Reduction], end: End, records: StageRecords) -> Finding:
    leads = [recorded_lead(each.recording, each.switch_events, each.motion, each.channels, end) for each in wired]
    known = [each for each in leads if each.value is not None]
    lead = min(known, key=lambda each: each.value or 0.0) if known else leads[0]
    if lead.value is None:
        return finding_of(_LEAD[end], lead, records)
    at = f"makes at {lead.beside['makes_at_pct']:.1f} %, stop at {lead.beside['rests_at_pct']:.1f} %"
    return finding_of(_LEAD[end], lead, records, at=at, repeats=_recorded_repeats(records, end, as_mean=False))


def _recorded_tests(records: StageRecords) -> set[str]:
    found: set[str] = set()
    for each in records.recordings.measured:
        made = {event.end for event in each.switch_events if event.makes}
        found |= {f"switches:{end}" for end in made} | ({"switches"} if len(made) == len(_POSITION) else set())
    return found


def _feeds(end: End) -> tuple[Feed, Feed]:
    return (
        Feed(_POSITION[end], ("switch", "makes_at_pct"), ("position",), f"where the {end} switch makes", part=end),
        Feed(
            _LEAD[end],
            ("switch", "makes_at_pct", "stop_at_pct"),
            ("position",),
            f"where the {end} switch makes and where its travel stop is, in one row",
            part=end,
        ),
    )


SWITCHES: Final = Subject(
    name="switches",
    table="switches",
    feeds=(*_feeds("closed"), *_feeds("open")),
    action="Set the switch to make before its travel stop; then repeat switch and end readings.",
    missing={
        "switches": (("closed_switch_position", ""), ("open_switch_position", "")),
        "switches:closed": (("closed_switch_position", ""),),
        "switches:open": (("open_switch_position", ""),),
    },
    asks=("position",),
    typed=_typed,
    recorded=_recorded,
    recorded_tests=_recorded_tests,
)
