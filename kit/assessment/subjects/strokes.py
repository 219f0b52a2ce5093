"""Stroke times, by stopwatch or from a recording."""

from __future__ import annotations

from dataclasses import replace
from math import inf
from typing import Final

import numpy as np

from kit.assessment.bounded import bounds_among, range_text
from kit.assessment.budgets import Source, budget_of
from kit.assessment.enough import needs_for
from kit.assessment.finding import Finding
from kit.assessment.recordings.recording_budgets import finding_of
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.speeds import Direction, chosen_speed, speed_as_left
from kit.assessment.subjects.stroke_scatter import END_PCT, over_whole_travel, recorded_repeats, typed_repeats
from kit.assessment.subjects.subject import Feed, Subject
from kit.basis.checks import CheckName
from kit.basis.evidence import stated
from kit.basis.quantity import Quantity
from kit.basis.registers import Tag
from kit.basis.rows import Rows
from kit.calculations.digits import last_digit
from kit.calculations.recordings.response_times import UNFINISHED
from kit.calculations.recordings.runs import NO_COMMAND, WHOLE_RUN_PCT
from kit.calculations.recordings.strokes import Stroke
from kit.calculations.recordings.terms import mean_of
from kit.calculations.repeats import finite_end
from kit.calculations.strokes import stroke_time

_CHECKS: Final[dict[Direction, CheckName]] = {"open": "stroke_time_open", "close": "stroke_time_close"}
_SAME_TIME: Final = 1.05  # House definition: strokes that differ by less than this ratio are of one kind
_FULL_SPEED_PCT: Final = 100.0  # House definition: what a recorded stroke without pulses is made at
_DUTY_STEP_PCT: Final = 1.5  # House definition: how far a recorded duty may lie from the setting beyond its uncertainty
_UNTOLD: Final = "some strokes have no speed_setting_pct and others have one: write it for each (strokes)"
_UNASKED: Final = (
    "no command was recorded: what was asked for, and the dead time, are unknown; record the command, or time strokes"
)
_UNTOLD_DUTY: Final = (
    "recorded strokes at full speed and pulsed, with pulses too short to tell the setting: record one kind"
)


def nominal_time_s(tag: Tag, direction: Direction) -> float | None:
    """The register's stroke time for a direction [s]."""
    return tag.stroke_time_open_s if direction == "open" else tag.stroke_time_close_s


def _typed(records: StageRecords) -> list[Finding]:
    """Stroke time each way at the speed as left; a direction timed at other speeds too has a row for each of them.

    House definition: the row without detail is that of the speed as left, and it alone is held against the limits.
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
    setting = rows["speed_setting_pct"].astype(float)
    speeds: list[float | None] = [*_stated(rows), *([None] if np.isnan(setting).any() else [])]
    left = speed_as_left(records.tables["settings"], direction)
    chosen, why_not = chosen_speed(speeds, left, direction, unknown=_UNTOLD)
    unknown = _not_arrived(rows, direction, "") or [_unknown(direction, why_not, records)]
    found = unknown if chosen is None else []
    for place, speed in enumerate(speeds):
        own = rows.where(np.isnan(setting) if speed is None else setting == speed)
        detail = "" if place == chosen else _detail(speed)
        found.append(_at_speed(own, direction, records, detail))
    return sorted(found, key=lambda each: not each.judged)


def _stated(rows: Rows) -> list[float]:
    """The speed settings that strokes say, the highest first [%]."""
    setting = rows["speed_setting_pct"].astype(float)
    return sorted(set(setting[np.isfinite(setting)].tolist()), reverse=True)


def _detail(speed_pct: float | None) -> str:
    return "speed setting not written" if speed_pct is None else f"speed setting {speed_pct:.3g} %"


def _unknown(direction: Direction, why_not: str, records: StageRecords) -> Finding:
    """No stroke that can be judged."""
    target = nominal_time_s(records.day.tag, direction)
    return Finding(_CHECKS[direction], Quantity(None, why_not), target=target, shortfall=why_not)


def _not_arrived(rows: Rows, direction: Direction, detail: str) -> list[Finding]:
    """A stroke that never came to its end, at whichever speed."""
    never, count = int(rows.bounded("time_s", "never").sum()), len(rows)
    if not never:
        return []
    what = f"the valve did not arrive in {never} of {count} runs" if count > 1 else "the valve did not arrive"
    return [Finding(_CHECKS[direction], Quantity(None, never=what), detail, judged=not detail)]


def _at_speed(rows: Rows, direction: Direction, records: StageRecords, detail: str) -> Finding:
    """The strokes over the whole travel at one speed; a longer one over a part of it stands beside them."""
    never = _not_arrived(rows, direction, detail)
    if never:
        return never[0]
    whole = over_whole_travel(rows, direction)
    low_s, high_s = rows.where(whole).interval("time_s")
    if not low_s.size:
        why_not = "no stroke over the whole travel: time one from end to end (strokes, from_pct and to_pct)"
        return replace(_unknown(direction, why_not, records), detail=detail, judged=not detail)
    time_s, parts_s = finite_end(low_s, high_s), finite_end(*rows.where(~whole).interval("time_s"))
    quantity = stroke_time(low_s, high_s)
    weights = quantity.weights if quantity.weights is not None else np.zeros_like(time_s)
    sources = [Source("time", time_s, weights, last_digit(rows["time_s"]))]
    speed_pct = float(rows["speed_setting_pct"][0])
    repeats = typed_repeats(records.tables["strokes"], direction, speed_pct, quantity.value or 0.0)
    check = _CHECKS[direction]
    return Finding(
        check,
        quantity,
        detail=detail,
        at=f"{len(time_s)} runs, {range_text(low_s, high_s)} s" if len(time_s) > 1 else "1 run",
        target=nominal_time_s(records.day.tag, direction),
        uncertainty=budget_of(records.day, quantity, sources, np.zeros(len(time_s), dtype=np.intp), "s", repeats),
        shortfall=_too_few(len(time_s), check, records),
        singly=(*time_s.tolist(), *parts_s[parts_s > time_s.max()].tolist()),
        bounds=bounds_among(low_s, high_s),
        judged=not detail,
    )


def _too_few(runs: int, check: CheckName, records: StageRecords) -> str:
    least = int(needs_for(check, records.day).get("runs", 1))
    return "" if runs >= least else f"{runs} of {least} strokes that way: time {least - runs} more"


def _recorded(records: StageRecords) -> list[Finding]:
    found = []
    for direction in _CHECKS:
        own = [stroke for stroke in records.recordings.strokes if stroke.opens == (direction == "open")]
        if own:
            found += _recorded_direction(own, direction, records)
    return found


def _recorded_direction(strokes: list[Stroke], direction: Direction, records: StageRecords) -> list[Finding]:
    """Strokes from a step of the command; without one that has a time, those by hand; those of no command beside."""
    free = [stroke for stroke in strokes if stroke.without_step == NO_COMMAND]
    commanded = [stroke for stroke in strokes if stroke not in free]
    found = _commanded(commanded, direction, records) if commanded else [_unknown(direction, _UNASKED, records)]
    timed = [stroke for stroke in free if stroke.time.value is not None]
    return [*found, _quickest(timed, direction, records)] if timed else found


def _commanded(strokes: list[Stroke], direction: Direction, records: StageRecords) -> list[Finding]:
    whole = [stroke for stroke in strokes if not stroke.without_step and _commanded_whole(stroke)]
    by_hand = [stroke for stroke in strokes if stroke.without_step]
    if by_hand and all(stroke.time.value is None for stroke in whole):
        return [_by_hand(by_hand, direction, records)]
    if not whole:
        return [_unknown(direction, "no recorded stroke over the whole travel: record one from 0 to 100 %", records)]
    arrived = [stroke for stroke in whole if _went_whole(stroke)]
    own = [_least_s(stroke) for stroke in by_hand if stroke.time.value is not None]
    found = _at_each_speed(arrived, direction, records) if arrived else []
    found = [replace(each, singly=_with_longer(each.singly, own)) if each.judged else each for each in found]
    return found if len(arrived) == len(whole) else [*found, _stopped_short(whole, direction, records)]


def _with_longer(times_s: tuple[float, ...], further_s: list[float]) -> tuple[float, ...]:
    """The runs of a mean, and those without its dead time that took longer all the same."""
    return (*times_s, *(each for each in further_s if times_s and each > max(times_s)))


def _at_each_speed(whole: list[Stroke], direction: Direction, records: StageRecords) -> list[Finding]:
    kinds = [kind for kind in _apart(whole) if kind]
    duties = [_duty(kind) for kind in kinds]
    left = speed_as_left(records.tables["settings"], direction)
    within = _DUTY_STEP_PCT + 2.0 * max(each.standard_uncertainty for each in duties)
    speeds = [each.value for each in duties]
    typed = _stated(records.tables["strokes"].only("direction", direction))
    chosen, why_not = chosen_speed(
        speeds, left, direction, unknown=_UNTOLD_DUTY, within_pct=within, elsewhere=typed if duties[0].value else ()
    )
    found = [_unknown(direction, why_not, records)] if chosen is None else []
    for place, kind in enumerate(kinds):
        found.append(_recorded_group(kind, direction, "" if place == chosen else _detail(speeds[place]), records))
    return found


def _by_hand(strokes: list[Stroke], direction: Direction, records: StageRecords) -> Finding:
    """Strokes of a command turned by hand that the valve was slower than: each took longer, by its dead time.

    House definition: they can fail a greatest time and never pass one.
    """
    known = [stroke for stroke in strokes if stroke.time.value is not None]
    if not known:
        return _unknown(direction, strokes[0].time.why_not, records)
    why = " and ".join(dict.fromkeys(stroke.without_step for stroke in known))
    time = mean_of([stroke.time for stroke in known], "s", with_scatter=False)
    lows = [_least_s(stroke) for stroke in known]
    finding = finding_of(
        _CHECKS[direction],
        replace(time, within=(min(lows), inf)),
        records,
        at=f"{_runs(known)} from where the travel left its end: {why}",
        target=nominal_time_s(records.day.tag, direction),
        by_feedback=records.recordings.by_feedback(*known),
        repeats=recorded_repeats(records.recordings.strokes, known, time.value or 0.0),
    )
    return replace(
        finding,
        bounds=tuple((low, inf) for low in lows),
        shortfall=f"{why}, so that the dead time is not in it: step the command to measure the stroke",
    )


def _quickest(strokes: list[Stroke], direction: Direction, records: StageRecords) -> Finding:
    """The quickest of the strokes of which nobody knows what was asked for: shown, and held against no limit."""
    quickest = min(strokes, key=lambda stroke: stroke.time.value or 0.0)
    finding = finding_of(
        _CHECKS[direction],
        quickest.time,
        records,
        detail="from its own start",
        at=f"the quickest of {_runs(strokes)} from where the travel left its end, without the dead time",
        target=nominal_time_s(records.day.tag, direction),
        by_feedback=records.recordings.by_feedback(quickest),
    )
    return replace(finding, judged=False)


def _runs(strokes: list[Stroke]) -> str:
    return f"{len(strokes)} runs" if len(strokes) > 1 else "1 run"


def _least_s(stroke: Stroke) -> float:
    """What a stroke without its dead time took at least [s]."""
    return (stroke.time.value or 0.0) - 2.0 * stroke.time.standard_uncertainty


def _went_whole(stroke: Stroke) -> bool:
    """Whether the valve went where it was sent, as far as its rests tell."""
    went_pct = abs(stroke.response.to_travel_pct - stroke.response.from_travel_pct)
    return not went_pct < WHOLE_RUN_PCT


def _stopped_short(whole: list[Stroke], direction: Direction, records: StageRecords) -> Finding:
    """A row of its own, which no typed time takes the place of."""
    short = [stroke.response for stroke in whole if not _went_whole(stroke)]
    way = f"{short[0].from_travel_pct:.1f} to {short[0].to_travel_pct:.1f} %, the first at {short[0].step_s:.0f} s"
    why_not = f"{len(short)} of {len(whole)} strokes stopped short ({way}): put that right and record them again"
    return replace(_unknown(direction, why_not, records), detail="stopped short")


def _commanded_whole(stroke: Stroke) -> bool:
    """Whether the command went from end to end; where the valve went is what the stroke shows."""
    low, high = sorted((stroke.response.from_command_pct, stroke.response.to_command_pct))
    return low <= END_PCT and high >= 100.0 - END_PCT


def _duty(strokes: list[Stroke]) -> Quantity:
    """The speed of strokes of one kind [%]: the share of the time in motion; full speed where some are not pulsed."""
    if not all(stroke.is_pulsed for stroke in strokes):
        return Quantity(_FULL_SPEED_PCT)
    return mean_of([stroke.duty for stroke in strokes], "%")


def _apart(strokes: list[Stroke]) -> tuple[list[Stroke], list[Stroke]]:
    """Continuous and pulsed strokes; those that take the same time are of one kind, whichever shows its pulses."""
    continuous, pulsed = [s for s in strokes if not s.is_pulsed], [s for s in strokes if s.is_pulsed]
    full, slow = (mean_of([s.time for s in group], "s").value for group in (continuous, pulsed))
    if full is not None and slow is not None and slow < _SAME_TIME * full:
        return [], strokes
    return continuous, pulsed


def _recorded_group(strokes: list[Stroke], direction: Direction, detail: str, records: StageRecords) -> Finding:
    time = mean_of([stroke.time for stroke in strokes], "s", with_scatter=False)
    known = [stroke.time.value for stroke in strokes if stroke.time.value is not None]
    beside: dict[str, float] = {}
    at = f"{len(known)} runs, {min(known):.4g} to {max(known):.4g} s" if len(known) > 1 else f"{len(known)} run"
    duty = mean_of([stroke.duty for stroke in strokes], "%")
    if duty.value is not None:
        beside = {"duty_pct": duty.value, "times_full_speed": 100.0 / duty.value}
        at = f"{at}, pulsed, in motion {duty.value:.0f} % of the time"
    check = _CHECKS[direction]
    finding = finding_of(
        check,
        replace(time, beside=beside),
        records,
        detail=detail,
        at=at,
        target=nominal_time_s(records.day.tag, direction),
        by_feedback=records.recordings.by_feedback(*strokes),
        repeats=recorded_repeats(records.recordings.strokes, strokes, time.value or 0.0),
    )
    shortfall = _took_longer(strokes, known) or _too_few(len(known), check, records)
    return replace(finding, judged=not detail, singly=tuple(known), shortfall=shortfall)


def _took_longer(strokes: list[Stroke], known_s: list[float]) -> str:
    """A stroke that had not arrived in longer than the others took is none of their kind, and no mean holds it."""
    late = [
        each.response.step_s
        for each in strokes
        if each.time.why_not == UNFINISHED and each.waited_s > max(known_s, default=inf)
    ]
    if not late:
        return ""
    return (
        f"{len(late)} of {len(strokes)} strokes took longer than that, the first at {late[0]:.0f} s: wait for its end"
    )


def _recorded_tests(records: StageRecords) -> set[str]:
    ways = {f"strokes:{'open' if stroke.opens else 'close'}" for stroke in records.recordings.strokes}
    return {*ways, "strokes"} if len(ways) == len(_CHECKS) else ways


def _feed(check: CheckName, part: Direction, way: str) -> Feed:
    columns = ("direction", "time_s", "speed_setting_pct", "from_pct", "to_pct")
    needs = f"{{runs:g}} stroke {way} over the whole travel, at the speed as left (settings, or the only one recorded)"
    return Feed(check, columns, ("time",), stated(check, needs), part=part)


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
