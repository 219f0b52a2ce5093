"""Position against command: the stroke readings, typed or held in a recording."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np

from kit.assessment.budgets import Day, Source
from kit.assessment.calibration import Signals, finding_of_runs, position_runs
from kit.assessment.enough import needs_for
from kit.assessment.finding import Finding
from kit.assessment.recordings.stage_recordings import NO_POSITION, StageRecordings
from kit.assessment.scaling import command_pct, last_digit_pct, position_pct, slope
from kit.assessment.stage_records import StageRecords
from kit.assessment.subjects.subject import Feed, Subject
from kit.assessment.wording import span_words
from kit.basis.arrays import FloatArray
from kit.basis.checks import CheckName
from kit.basis.evidence import stated
from kit.basis.quantity import Quantity
from kit.basis.registers import Role, Tag
from kit.basis.rows import Rows
from kit.calculations.both_ways import hysteretic_error
from kit.calculations.linearity import independent_linearity, terminal_linearity, zero_based_linearity
from kit.calculations.position import Runs, inaccuracy, repeatability, span_error, zero_error

_CALCULATIONS: Final[dict[CheckName, Callable[[Runs], Quantity]]] = {
    "zero_error": zero_error,
    "span_error": span_error,
    "inaccuracy": inaccuracy,
    "independent_linearity": independent_linearity,
    "terminal_linearity": terminal_linearity,
    "zero_based_linearity": zero_based_linearity,
    "hysteretic_error": hysteretic_error,
    "repeatability": repeatability,
}

_NONE_SEEN: Final = "no hold shows from which side it was come to: go on to other commands, and back"
_AT_ENDS: Final[dict[CheckName, Callable[..., Quantity]]] = {"zero_error": zero_error, "span_error": span_error}


def _typed(records: StageRecords) -> list[Finding]:
    runs = records.typed_position
    if runs is None:
        return []
    signals = _signals(records.tables["readings"], runs, records.day.tag, typed=True)
    return [_finding(check, runs, signals, records.day, None) for check in _CALCULATIONS]


def _recorded(records: StageRecords) -> list[Finding]:
    return [finding for check in _CALCULATIONS for finding in recorded_finding(check, records)]


def recorded_finding(check: CheckName, records: StageRecords) -> list[Finding]:
    """One check as the holds of the recordings answer it; none without holds.

    Notes
    -----
    House definition: repeatability is of holds that were seen to be come to from one side; what a run begins with is
    none of them.
    """
    runs, rows, tag = records.recorded_position, records.holds, records.day.tag
    if runs is None:
        return [Finding(check, Quantity(None, NO_POSITION))] if without_position(records.recordings) else []
    noise_pct = records.recordings.hold_noise_pct(tag)
    if check == "repeatability":
        own = np.array([not each.begins_run for each in records.recordings.holds], dtype=bool)
        rows, noise_pct = rows.where(own), noise_pct[own]
        runs = position_runs(rows, tag)
        if runs is None:
            return [Finding(check, Quantity(None, _NONE_SEEN))]
    found = _finding(check, runs, _signals(rows, runs, tag, typed=False), records.day, noise_pct[runs.kept])
    return [replace(found, shortfall=found.shortfall or records.recordings.never_at_rest)]


def without_position(recordings: StageRecordings) -> bool:
    """Whether there are holds, and no position was measured in any."""
    return not recordings.holds and any(each.readings for each in recordings.unmeasured)


def _finding(check: CheckName, runs: Runs, signals: Signals, day: Day, noise_pct: FloatArray | None) -> Finding:
    found = finding_of_runs(check, _quantity(check, runs, day), runs, signals, day, noise_pct)
    if check != "span_error" or found.value is None:
        return found
    return replace(found, at=span_words(found.value, day.tag.action) or found.at)


def _quantity(check: CheckName, runs: Runs, day: Day) -> Quantity:
    at_end = _AT_ENDS.get(check)
    if at_end is None:
        return _CALCULATIONS[check](runs)
    return at_end(runs, within_pct=needs_for(check, day)["end_within_pct"])


def _signals(rows: Rows, runs: Runs, tag: Tag, *, typed: bool) -> Signals:
    """Position and command of the readings that were kept."""
    command, position = command_pct(rows, tag)[runs.kept], position_pct(rows, tag)[runs.kept]
    digits = [last_digit_pct(rows, each, tag) if typed else 0.0 for each in _ROLES]
    return [
        Source("position", position, np.ones_like(position), digits[1]),
        Source("command", command, -slope(command, tag), digits[0]),
    ]


def _recorded_tests(records: StageRecords) -> set[str]:
    rising = {reading.rising for reading in records.recordings.holds}
    ways = {f"readings:{'up' if up else 'down'}" for up in rising}
    return {"readings", *ways} if ways else set()


_SIGNALS: Final = (
    "direction",
    *("command_mA", "command_V", "command_pct"),
    *("position_pct", "position_deg", "position_mm"),
)
_ROLES: Final[tuple[Role, ...]] = ("command", "position")


LINE: Final = "readings at {commands:g} commands, both ends among them, no gap above {gap_pct:g} %"
BOTH_WAYS: Final = "{both_ways:g} commands between the ends read both ways"


def _feed(check: CheckName, needs: str, *, action: str = "", further: tuple[str, ...] = ()) -> Feed:
    return Feed(check, (*_SIGNALS, *further), _ROLES, stated(check, needs), action)


POSITION: Final = Subject(
    name="position",
    table="readings",
    feeds=(
        _feed("zero_error", "a reading within {end_within_pct:g} % of 0 % command"),
        _feed("span_error", "readings within {end_within_pct:g} % of 0 % and of 100 % command"),
        _feed("inaccuracy", f"{LINE}; on_off: both ends"),
        _feed("independent_linearity", LINE),
        _feed("terminal_linearity", LINE),
        _feed("zero_based_linearity", LINE),
        _feed(
            "hysteretic_error",
            BOTH_WAYS,
            action=(
                "Check coupling, gear play, packing and dead band; adjust, then repeat the stroke readings both ways."
            ),
        ),
        _feed(
            "repeatability",
            "{commands:g} commands, each in the cycles that the limit names, {cycles:g} where it names none",
            further=("cycle",),
            action="Check coupling and reading method; repeat the cycles.",
        ),
    ),
    action="Check travel stops, end points and command range; adjust, then repeat the stroke readings.",
    missing={
        "readings": (("inaccuracy", ""),),
        "readings:up": (("hysteretic_error", ""),),
        "readings:down": (("hysteretic_error", ""),),
    },
    asked={"readings:up": (("inaccuracy", ""),), "readings:down": (("inaccuracy", ""),)},
    valued={"readings": (("hysteretic_error", ""),)},
    applies=lambda check, tag: check != "hysteretic_error" or tag.duty != "on_off",
    asks=_ROLES,
    typed=_typed,
    recorded=_recorded,
    recorded_tests=_recorded_tests,
)
