"""Stroke times, by stopwatch or from a recording."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

import numpy as np

from kit.assessment.bounded import bounds_among, range_text
from kit.assessment.budgets import Repeats, Source, budget_of
from kit.assessment.finding import Finding
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.checks import CheckName
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.calculations.digits import last_digit
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.terms import mean_of
from kit.calculations.repeats import finite_end
from kit.calculations.strokes import stroke_time

Direction = Literal["open", "close"]

_CHECKS: Final[dict[Direction, CheckName]] = {"open": "stroke_time_open", "close": "stroke_time_close"}
_KIND: Final = ("direction", "speed_setting_pct", "from_pct", "to_pct")  # strokes equal in these repeat each other
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
    settings = np.nan_to_num(rows["speed_setting_pct"].astype(float), nan=_FULL_SPEED_PCT)
    found = []
    for direction in _CHECKS:
        way = np.asarray(rows["direction"] == direction, dtype=bool)
        for setting in sorted(set(settings[way].tolist()), reverse=True):
            apart = None if setting == settings[way].max() else setting
            found.append(_at_setting(way & (settings == setting), direction, records, apart))
    return found


def _at_setting(own: BoolArray, direction: Direction, records: StageRecords, setting_pct: float | None) -> Finding:
    """``own``, shape of all strokes, says which are of one direction at one setting."""
    rows = records.tables["strokes"].where(own)
    detail = "" if setting_pct is None else f"speed setting {setting_pct:g} %"
    never, count = int(rows.bounded("time_s", "never").sum()), len(rows)
    if never:
        what = f"the valve did not arrive in {never} of {count} runs" if count > 1 else "the valve did not arrive"
        return Finding(_CHECKS[direction], Quantity(None, never=what), detail, judged=setting_pct is None)
    low_s, high_s = rows.interval("time_s")
    time_s = finite_end(low_s, high_s)
    quantity = stroke_time(low_s, high_s)
    weights = quantity.weights if quantity.weights is not None else np.zeros_like(time_s)
    sources = [Source("time", time_s, weights, last_digit(rows["time_s"]))]
    repeats = _typed_repeats(records, own, weights, quantity.value or 0.0)
    return Finding(
        _CHECKS[direction],
        quantity,
        detail,
        at=f"{count} runs, {range_text(low_s, high_s)} s" if count > 1 else "1 run",
        target=nominal_time_s(records.day.tag, direction),
        uncertainty=budget_of(records.day, quantity, sources, np.zeros(count, dtype=np.intp), "s", repeats),
        bounds=bounds_among(low_s, high_s),
        judged=setting_pct is None,
    )


def _typed_repeats(records: StageRecords, own: BoolArray, weights: FloatArray, mean_s: float) -> Repeats:
    """Every stroke of the stage that has a time and no bound; those of ``own`` weigh as in their mean."""
    rows = records.tables["strokes"]
    low_s, high_s = rows.interval("time_s")
    every = np.zeros(len(rows))
    every[own] = weights
    kinds = [str(kind) for kind in zip(*(rows[column].tolist() for column in _KIND), strict=True)]
    return _repeats(np.where(low_s == high_s, low_s, np.nan), kinds, every, mean_s)


def _repeats(time_s: FloatArray, kinds: Sequence[str], weights: FloatArray, mean_s: float) -> Repeats:
    """Strokes of a stage in % of the mean of their kind; a nan is left out.

    Notes
    -----
    House definition: strokes of either way and at every speed have one scatter, relative to their time.
    """
    known = np.isfinite(time_s) & (time_s > 0)
    group = np.unique(np.array(kinds)[known], return_inverse=True)[1]
    means = np.bincount(group, weights=time_s[known]) / np.bincount(group)
    return Repeats(100.0 * time_s[known] / means[group], group, weights[known], {"time": 1.0}, "strokes", mean_s / 100)


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
    time = mean_of([stroke.time for stroke in strokes], "s", with_scatter=False)
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
        repeats=_recorded_repeats(strokes, records, time.value or 0.0),
    )
    return replace(finding, judged=not detail)


def _recorded_repeats(strokes: list[Stroke], records: StageRecords, mean_s: float) -> Repeats:
    every = records.recordings.strokes
    time_s = np.array([np.nan if each.time.value is None else each.time.value for each in every], dtype=float)
    own = np.array([each in strokes for each in every]) & np.isfinite(time_s)
    kinds = [f"{each.opens} {each.is_pulsed}" for each in every]
    return _repeats(time_s, kinds, own / max(np.count_nonzero(own), 1), mean_s)


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
