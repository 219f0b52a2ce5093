"""The limit switches: where each makes, and how far before its travel stop."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.assessment.budgets import Repeats, Source, budget_of
from kit.assessment.finding import Finding, fixed_target
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import FloatArray, single
from kit.basis.checks import TRAVEL, CheckName
from kit.basis.registers import Role
from kit.basis.rows import Rows
from kit.calculations.digits import last_digit
from kit.calculations.recordings import switches as recorded_switches
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.switches import End
from kit.calculations.switches import switch_lead, switch_position

_POSITION: Final[dict[End, CheckName]] = {"closed": "closed_switch_position", "open": "open_switch_position"}
_LEAD: Final[dict[End, CheckName]] = {"closed": "closed_switch_lead", "open": "open_switch_lead"}
_SLOPES: Final[dict[Role, float]] = {"position": 1.0}


def _typed(records: StageRecords) -> list[Finding]:
    rows = records.tables["switches"]
    ends = [end for end in _POSITION if (rows["switch"] == end).any()]
    return [finding for end in ends for finding in (_position(rows, end, records), _lead(rows, end, records))]


def _makes(rows: Rows, end: End) -> FloatArray:
    """Where one switch made, shape of all rows; nan in those of the other."""
    return np.where(rows["switch"] == end, rows["makes_at_pct"].astype(float), np.nan)


def _position(rows: Rows, end: End, records: StageRecords) -> Finding:
    makes, check = _makes(rows, end), _POSITION[end]
    quantity = switch_position(makes)
    if quantity.value is None or quantity.weights is None:
        return Finding(check, quantity)
    return Finding(
        check,
        quantity,
        at=_reset(rows.only("switch", end)),
        target=fixed_target(check),
        uncertainty=budget_of(
            records.day,
            quantity,
            [Source("position", makes, quantity.weights, last_digit(rows["makes_at_pct"]))],
            np.zeros(len(makes), dtype=np.intp),
            TRAVEL,
            _repeats(rows, quantity.weights),
        ),
    )


def _lead(rows: Rows, end: End, records: StageRecords) -> Finding:
    makes, stops = _makes(rows, end), rows["stop_at_pct"].astype(float)
    quantity = switch_lead(makes, stops, end=end)
    if quantity.value is None or quantity.reading is None or quantity.weights is None:
        return Finding(_LEAD[end], quantity)
    at = quantity.reading
    digit = max(last_digit(rows["makes_at_pct"]), last_digit(stops))
    source = Source("position", np.array([makes[at], stops[at]]), np.array([1.0, -1.0]), digit)
    return Finding(
        _LEAD[end],
        quantity,
        at=f"makes at {makes[at]:.1f} %, stop at {stops[at]:.1f} %",
        uncertainty=budget_of(records.day, quantity, [source], np.arange(2), TRAVEL, _repeats(rows, quantity.weights)),
    )


def _repeats(rows: Rows, weights: FloatArray) -> Repeats:
    """What was repeated of both switches; ``weights`` are those of the rows in the figure."""
    makes = rows["makes_at_pct"].astype(float)
    known = np.isfinite(makes)
    opens = (rows["switch"] == "open").astype(np.intp)
    return Repeats(makes[known], opens[known], weights[known], _SLOPES, "switches")


def _reset(rows: Rows) -> str:
    breaks = rows["breaks_at_pct"].astype(float)
    known = breaks[~np.isnan(breaks)]
    return f"resets at {known.mean():.1f} %" if known.size else ""


def _recorded(records: StageRecords) -> list[Finding]:
    found = []
    for end in _POSITION:
        wired = [each for each in records.recordings.reductions if _has_switch(each, end)]
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
    return finding_of(_POSITION[end], makes, records, at=at, repeats=_recorded_repeats(records, end, mean=True))


def _recorded_repeats(records: StageRecords, end: End, *, mean: bool) -> Repeats:
    """What was recorded of both switches; a figure of ``end`` is their mean, or one of them."""
    events = [event for each in records.recordings.reductions for event in each.switch_events if event.makes]
    own = np.array([event.end == end for event in events], dtype=bool)
    weights = own / max(np.count_nonzero(own), 1) if mean else single(int(own.argmax()), own.size)
    error = np.array([event.travel_pct for event in events], dtype=float)
    return Repeats(error, own.astype(np.intp), weights, _SLOPES, "switches")


def _recorded_lead(wired: list[Reduction], end: End, records: StageRecords) -> Finding:
    leads = [
        recorded_switches.switch_lead(each.recording, each.switch_events, each.motion, each.channels, end)
        for each in wired
    ]
    known = [each for each in leads if each.value is not None]
    lead = min(known, key=lambda each: each.value or 0.0) if known else leads[0]
    at = ""
    if lead.value is not None:
        at = f"makes at {lead.beside['makes_at_pct']:.1f} %, stop at {lead.beside['rests_at_pct']:.1f} %"
    repeats = None if lead.value is None else _recorded_repeats(records, end, mean=False)
    return finding_of(_LEAD[end], lead, records, at=at, repeats=repeats)


def _recorded_tests(records: StageRecords) -> set[str]:
    found: set[str] = set()
    for each in records.recordings.reductions:
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
