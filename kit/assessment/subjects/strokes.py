"""Stroke times, by stopwatch or from a recording."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, Literal

import numpy as np

from kit.assessment.bounded import bounds_among, range_text
from kit.assessment.budgets import Repeats, Source, budget_of
from kit.assessment.finding import Finding
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.checks import CheckName
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.terms import mean_of
from kit.calculations.repeats import finite_end
from kit.calculations.strokes import stroke_time

Direction = Literal["open", "close"]

_CHECKS: Final[dict[Direction, CheckName]] = {"open": "stroke_time_open", "close": "stroke_time_close"}
_SAME_TIME: Final = 1.05  # House definition: strokes that differ by less than this ratio are of one kind
_FULL_SPEED_PCT: Final = 100.0  # House definition: what a blank speed setting counts as


def nominal_time_s(tag: Tag, direction: Direction) -> float | None:
    """The register's stroke time for a direction [s]."""
    return tag.stroke_time_open_s if direction == "open" else tag.stroke_time_close_s


def _typed(records: StageRecords) -> list[Finding]:
    """Stroke time each way; a direction timed at several speed settings has one row for each of them.

    House definition: the row without detail is that of the highest setting, and it alone is held against the
    limits; the others say their setting.
    """
    rows = records.tables["strokes"]
    return [
        finding
        for direction in _CHECKS
        for finding in _of_direction(rows.only("direction", direction), direction, records)
    ]


def _of_direction(rows: Rows, direction: Direction, records: StageRecords) -> list[Finding]:
    if not len(rows):
        return []
    settings = np.nan_to_num(rows["speed_setting_pct"].astype(float), nan=_FULL_SPEED_PCT)
    highest = settings.max()
    return [
        _at_setting(rows.where(settings == setting), direction, records, None if setting == highest else setting)
        for setting in sorted(set(settings.tolist()), reverse=True)
    ]


def _at_setting(rows: Rows, direction: Direction, records: StageRecords, setting_pct: float | None) -> Finding:
    detail = "" if setting_pct is None else f"speed setting {setting_pct:g} %"
    never, count = int(rows.bounded("time_s", "never").sum()), len(rows)
    if never:
        what = f"the valve did not arrive in {never} of {count} runs" if count > 1 else "the valve did not arrive"
        return Finding(_CHECKS[direction], Quantity(None, never=what), detail, judged=setting_pct is None)
    low_s, high_s = rows.interval("time_s")
    time_s = finite_end(low_s, high_s)
    quantity = stroke_time(low_s, high_s)
    weights = quantity.weights if quantity.weights is not None else np.zeros_like(time_s)
    point = np.zeros(len(time_s), dtype=np.intp)
    repeats = Repeats(time_s, np.ones(len(time_s), dtype=bool), weights)
    return Finding(
        _CHECKS[direction],
        quantity,
        detail,
        at=f"{count} runs, {range_text(low_s, high_s)} s" if count > 1 else "1 run",
        target=nominal_time_s(records.day.tag, direction),
        uncertainty=budget_of(records.day, [Source("time", time_s, weights)], point, "s", repeats),
        bounds=bounds_among(low_s, high_s),
        judged=setting_pct is None,
    )


def _recorded(records: StageRecords) -> list[Finding]:
    found = []
    for direction in _CHECKS:
        own = [stroke for stroke in records.recordings.strokes if stroke.opens == (direction == "open")]
        continuous, pulsed = _apart(own)
        for group in (continuous, pulsed):
            if group:
                apart = bool(continuous and pulsed and group is pulsed)
                found.append(_recorded_group(group, direction, apart, records))
    return found


def _apart(strokes: list[Stroke]) -> tuple[list[Stroke], list[Stroke]]:
    """Continuous and pulsed strokes; those that take the same time are of one kind, whichever shows its pulses."""
    continuous, pulsed = [s for s in strokes if not s.is_pulsed], [s for s in strokes if s.is_pulsed]
    full, slow = (mean_of([s.time for s in group], "s").value for group in (continuous, pulsed))
    if full is not None and slow is not None and slow < _SAME_TIME * full:
        return [], strokes
    return continuous, pulsed


def _recorded_group(strokes: list[Stroke], direction: Direction, apart: bool, records: StageRecords) -> Finding:
    time = mean_of([stroke.time for stroke in strokes], "s")
    known = [stroke.time.value for stroke in strokes if stroke.time.value is not None]
    beside: dict[str, float] = {}
    at = f"{len(known)} runs, {min(known):.4g} to {max(known):.4g} s" if len(known) > 1 else f"{len(known)} run"
    duty = mean_of([stroke.duty for stroke in strokes], "%")
    if duty.value is not None:
        beside = {"duty_pct": duty.value, "times_full_speed": 100.0 / duty.value}
        at = f"{at}, pulsed, in motion {duty.value:.0f} % of the time"
    detail = f"speed setting {duty.value:.0f} %" if apart and duty.value is not None else ""
    finding = finding_of(
        _CHECKS[direction],
        replace(time, beside=beside),
        records,
        detail=detail,
        at=at,
        target=nominal_time_s(records.day.tag, direction),
    )
    return replace(finding, judged=not detail)


def _recorded_tests(records: StageRecords) -> set[str]:
    ways = {f"strokes:{'open' if stroke.opens else 'close'}" for stroke in records.recordings.strokes}
    return {*ways, "strokes"} if len(ways) == len(_CHECKS) else ways


def _feed(check: CheckName, part: Direction, way: str) -> Feed:
    columns = ("direction", "time_s", "speed_setting_pct")
    return Feed(check, columns, ("time",), f"one full stroke {way}", part=part)


STROKES: Final = Subject(
    name="strokes",
    table="strokes",
    feeds=(_feed("stroke_time_open", "open", "opening"), _feed("stroke_time_close", "close", "closing")),
    action=(
        "Check the speed setting and the running supply voltage; set the speed, then repeat strokes, "
        "readings and fail action."
    ),
    missing={
        "strokes": (("stroke_time_open", ""), ("stroke_time_close", "")),
        "strokes:open": (("stroke_time_open", ""),),
        "strokes:close": (("stroke_time_close", ""),),
    },
    also=("settings",),
    asks=("time",),
    typed=_typed,
    recorded=_recorded,
    recorded_tests=_recorded_tests,
)
