"""What a row must be, seen from the register: a known tag, the tag's own units, possible values."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from kit.records.drafts.agreement import set_contradictions_aside
from kit.records.drafts.draft import Draft, Mask
from kit.records.drafts.lookup import RangeColumns, Register, TagColumns, places, tag_columns
from kit.records.drafts.possible import take_no_zero_for_a_time, tell_unusual

TOP_FACTOR: Final = 1.3  # house definition: volts beyond this many times the range's top are impossible
_TRAVEL_PART: Final = (-1.0, 2.0)  # house definition: position beyond these shares of the travel is impossible
_USUAL_PART: Final = (-0.1, 1.1)  # house definition: beyond these the travel stops are not set
_ADVICE: Final = {
    "mA": "Measure the loop current at the valve and enter {signal}_mA.",
    "V": "Measure the voltage at the valve and enter {signal}_V.",
}
_SIGNAL_UNITS: Final = ("mA", "V")


def apply_rules(draft: Draft, register: Register) -> None:
    """Hold a table of the records against the register, and fill in the stage."""
    register.resolve(draft)
    if "stage" in draft.values:
        stage = draft.values["stage"]
        draft.values["stage"] = np.where(stage == "", "as_left", stage)
    take_no_zero_for_a_time(draft, register)
    tell_unusual(draft)
    if draft.table.name == "readings":
        _check_readings(draft, tag_columns(draft, register))
    elif draft.table.name == "loop_checks":
        _check_loop(draft, tag_columns(draft, register))
    elif draft.table.name == "visits":
        _check_days(draft)


def _check_days(visits: Draft) -> None:
    """A record that was checked before it was made: one of its two days is wrong, and nobody can say which."""
    done, checked = visits.values["date"], visits.values["checked_on"]
    early = np.asarray((done != "") & (checked != "") & (checked < done), dtype=bool)
    visits.leave_open(early & ~visits.bad, "checked_on", "checked_on lies before date. Correct one of them.")


def _check_readings(draft: Draft, about: TagColumns) -> None:
    _check_signal(draft, "command", about.known, about.command)
    _check_volts(draft, "command", about.known, about.command)
    for unit in ("deg", "mm"):
        _check_position(draft, about, unit)
    wanted = about.known & _equal(about.feedback.unit, "", negate=True)
    _check_signal(draft, "feedback", wanted, about.feedback)
    _check_volts(draft, "feedback", wanted, about.feedback)
    set_contradictions_aside(draft, about)
    _tell_unwanted_feedback(draft, about)


def _check_signal(draft: Draft, signal: str, asked: Mask, ranges: RangeColumns) -> None:
    """A signal in a unit that the tag's range does not have costs the row, unless a usable one stands beside it."""
    usable = draft.filled(f"{signal}_pct")
    for unit in _SIGNAL_UNITS:
        usable = usable | (draft.filled(f"{signal}_{unit}") & _equal(ranges.unit, unit))
    for unit in _SIGNAL_UNITS:
        name = f"{signal}_{unit}"
        foreign = asked & draft.filled(name) & _equal(ranges.unit, unit, negate=True)
        told = {place: _foreign_text(draft, signal, unit, ranges, place) for place in places(foreign)}
        draft.set_aside(foreign & ~usable, name, told)
        _ignore(draft, foreign & usable, name, told)


def _foreign_text(draft: Draft, signal: str, unit: str, ranges: RangeColumns, place: int) -> str:
    value, own = float(draft.values[f"{signal}_{unit}"][place]), ranges.unit[place]
    if not own:
        lack = f"the register gives no usable {signal}_range"
        return f"{value} {unit}, but {lack}. Complete the register, or enter {signal}_pct."
    loop = "loop" if own == "mA" else "signal"
    return f"{value} {unit} on a {ranges.text[place]} {loop}. {_ADVICE[own].format(signal=signal)}"


def _check_volts(draft: Draft, signal: str, asked: Mask, ranges: RangeColumns) -> None:
    name = f"{signal}_V"
    volts = draft.values[name]
    beyond = asked & _equal(ranges.unit, "V") & (volts > TOP_FACTOR * ranges.high)
    impossible = "Impossible: {} V on a {} signal. Correct it."
    told = {place: impossible.format(volts[place], ranges.text[place]) for place in places(beyond)}
    draft.set_aside(beyond, name, told)


def _check_position(draft: Draft, about: TagColumns, unit: str) -> None:
    name, other = f"position_{unit}", "mm" if unit == "deg" else "deg"
    own = _equal(about.travel_unit, unit)
    usable = draft.filled("position_pct") | (draft.filled(f"position_{other}") & _equal(about.travel_unit, other))
    foreign = about.known & draft.filled(name) & ~own
    text = f"The register gives this tag no travel in {unit}. Complete the register, or enter position_pct."
    told = dict.fromkeys(places(foreign), text)
    draft.set_aside(foreign & ~usable, name, told)
    _ignore(draft, foreign & usable, name, told)
    values, travel = draft.values[name], about.travel
    part = values / np.where(own, travel, np.nan)
    beyond = about.known & ((part < _TRAVEL_PART[0]) | (part > _TRAVEL_PART[1]))
    impossible = "Impossible: {} {} on a travel of {} {}. Correct it."
    told = {place: impossible.format(values[place], unit, travel[place], unit) for place in places(beyond)}
    draft.set_aside(beyond, name, told)
    unset = about.known & ~beyond & ((part < _USUAL_PART[0]) | (part > _USUAL_PART[1]))
    text = "{} {} on a travel of {} {}: are the travel stops set? Used; correct a typing error."
    draft.doubt(unset, name, {place: text.format(values[place], unit, travel[place], unit) for place in places(unset)})


def _tell_unwanted_feedback(draft: Draft, about: TagColumns) -> None:
    """Feedback that the register has no range for is not used, and that is said once a tag and file."""
    signal = draft.filled("feedback_mA") | draft.filled("feedback_V")
    unwanted = about.known & ~draft.bad & signal & ~draft.filled("feedback_pct") & _equal(about.feedback.unit, "")
    if not unwanted.any():
        return
    found = places(unwanted)
    codes, tags = pd.factorize(draft.values["tag"][found])
    _, first, count = np.unique(codes, return_index=True, return_counts=True)
    for code in range(len(tags)):
        place = found[first[code]]
        name = "feedback_mA" if draft.filled("feedback_mA")[place] else "feedback_V"
        lack = "The register gives no usable feedback_range"
        draft.flag([place], name, f"{lack}: feedback of {count[code]} rows is not used. Complete the register.")


def _check_loop(draft: Draft, about: TagColumns) -> None:
    """A station output holds without the current beside it, so foreign milliamperes do not cost the row."""
    for name in ("card_mA", "command_mA"):
        foreign = about.known & draft.filled(name) & _equal(about.command.unit, "V")
        _ignore(draft, foreign, name, dict.fromkeys(places(foreign), "The register gives this tag a command in V."))


def _ignore(draft: Draft, mask: Mask, name: str, told: dict[int, str]) -> None:
    draft.flag(mask, name, {place: f"{text} Not used." for place, text in told.items()})
    draft.values[name][mask] = np.nan


def _equal(values: NDArray[Any], value: str, *, negate: bool = False) -> Mask:
    same = np.asarray(values == value, dtype=bool)
    return ~same if negate else same
