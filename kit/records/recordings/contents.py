"""What a column of a recording holds, judged by the whole of it: a column of another quantity is refused."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.basis.tables.logs import LOGS
from kit.calculations.signal import ideal_position_pct, is_lost, to_percent
from kit.records.recordings.channels import RecordingColumns, open_problem
from kit.records.recordings.order import changes_ahead_s
from kit.records.recordings.still import levels_of

Numbers = NDArray[np.float64]

_BEYOND_SHARE: Final = 0.01  # House definition: of the samples; fewer beyond their unit are single bad ones
_FEWEST_BEYOND: Final = 10  # House definition: samples, likewise
_WITHIN_SHARE: Final = 0.99  # House definition: of the samples, what another unit must be able to hold
_CLEARLY_OFF_PCT: Final = 5.0  # House definition: of travel, by which a column as it is named misses the other
_FITS_PCT: Final = 2.0  # House definition: of travel, within which another meaning fits
_TIMES_BETTER: Final = 4.0  # House definition: by how much it must fit better
_FEWEST_LEVELS: Final = 3  # House definition: places at rest that tell a scale
_LEAST_COVERED_PCT: Final = 20.0  # House definition: of travel, over which they lie
_MID_TRAVEL_PCT: Final = (20.0, 80.0)  # House definition: no end switch is made there
_MOSTLY: Final = 0.5  # House definition: of the samples
_HELD: Final[Mapping[str, tuple[float, float]]] = {"V": (-1.0, 15.0), "mA": (-1.0, 25.0), "pct": (-30.0, 130.0)}
_WORDS: Final[Mapping[str, str]] = {"V": "V", "mA": "mA", "pct": "%", "deg": "deg", "mm": "mm"}
_SIGNALS: Final = (("mA", 4.0, 20.0), ("mA", 0.0, 20.0), ("V", 0.0, 10.0), ("V", 2.0, 10.0), ("V", 1.0, 5.0))


def refuse_contents(file: str, columns: RecordingColumns, tag: Tag) -> None:
    """Take out every column that holds something else than its heading says, each with what it seems to hold.

    Notes
    -----
    House definition. A signal is refused where more than 1 % of its samples lie beyond what its unit can hold and
    nearly all within another unit; or where at three places of rest, over 20 % of travel, it misses the other channel
    by more than 5 % (median) and another unit fits within 2 %. A valve whose own range is set wrongly is no
    such case: the ranges of one unit are not tried for another. Position and command are both refused where the
    travel changes before the command; a position that runs against the command while feedback or switches
    run with it; a switch that is made in mid travel. A refused column is not used at all, and open.
    """
    _beyond_its_unit(file, columns)
    _other_units(file, columns, tag)
    _turned_position(file, columns, tag)
    _ahead(file, columns, tag)
    _switches(file, columns, tag)


def _refuse(file: str, columns: RecordingColumns, name: str, found: str, proposal: str) -> None:
    del columns.numbers[name]
    columns.problems.append(open_problem(file, f"Refused as a whole: {found}. {proposal}", name))


def _rename(name: str, unit: str) -> str:
    role = name.partition("_")[0]
    return f"If it holds {_WORDS[unit]}, head it {role}_{unit}, or say so in its [[recordings]]; if not, record again."


def _beyond_its_unit(file: str, columns: RecordingColumns) -> None:
    for name in [each for each in columns.numbers if each.rpartition("_")[2] in ("mA", "V")]:
        values = columns.numbers[name]
        known = values[np.isfinite(values)]
        low, high = LOGS.bounds(name)
        if known.size == 0 or low is None or high is None:
            continue
        count = int(np.count_nonzero((known < low) | (known > high)))
        beyond = count / known.size
        if count < _FEWEST_BEYOND or beyond <= _BEYOND_SHARE:
            continue
        unit = next((each for each, held in _HELD.items() if high < held[1] and _lies_within(known, held)), "")
        if unit:
            found = f"{100 * beyond:.0f} % of its samples lie beyond {low:g} to {high:g} {LOGS.unit(name)}"
            _refuse(file, columns, name, found, _rename(name, unit))


def _lies_within(values: Numbers, held: tuple[float, float]) -> bool:
    return float(np.mean((values >= held[0]) & (values <= held[1]))) >= _WITHIN_SHARE


def _other_units(file: str, columns: RecordingColumns, tag: Tag) -> None:
    """Signals against the travel where both stand still: first the command, then the feedback."""
    travel = travel_pct(columns, tag)
    if travel is None:
        return
    ideal = ideal_of(tag)
    for role, signal, asked in (
        ("command", tag.command_range, ideal),
        ("feedback", tag.feedback_range, lambda pct: pct),
    ):
        own = f"{role}_{signal.unit}" if signal is not None and f"{role}_{signal.unit}" in columns.numbers else ""
        name = own or (f"{role}_pct" if f"{role}_pct" in columns.numbers else "")
        if not name or (role == "feedback" and signal is None and tag.track_ohm is not None):
            continue
        if role == "feedback" and position_of(columns, tag) is None:
            continue
        given, at = levels_of(columns.time_s, columns.numbers[name], travel)
        if at.size < _FEWEST_LEVELS or float(np.ptp(at)) < _LEAST_COVERED_PCT:
            continue
        _try_others(file, columns, name, signal if own else None, given, at, asked)


def _try_others(
    file: str,
    columns: RecordingColumns,
    name: str,
    signal: SignalRange | None,
    given: Numbers,
    at: Numbers,
    asked: Callable[[Numbers], Numbers],
) -> None:
    as_named = given if signal is None else to_percent(given, signal.low, signal.high)
    off = float(np.median(np.abs(at - asked(as_named))))
    if off <= _CLEARLY_OFF_PCT:
        return
    others = [(unit, to_percent(given, low, high)) for unit, low, high in _SIGNALS]
    others.append(("pct", given))
    own_unit = "pct" if signal is None else signal.unit
    fits = [(float(np.median(np.abs(at - asked(pct)))), unit) for unit, pct in others if unit != own_unit]
    best, unit = min(fits)
    if best <= min(_FITS_PCT, off / _TIMES_BETTER):
        text = f"at rest it misses the travel by {off:.3g} % (median) as named, and by {best:.2g} % as {_WORDS[unit]}"
        _refuse(file, columns, name, text, _rename(name, unit))


def _turned_position(file: str, columns: RecordingColumns, tag: Tag) -> None:
    """A position that runs against the command, where another witness says that the valve does not."""
    position, command = position_of(columns, tag), command_pct(columns, tag)
    if position is None or command is None:
        return
    asked = ideal_of(tag)(command)
    asked_at, at = levels_of(columns.time_s, asked, position)
    if at.size < _FEWEST_LEVELS or float(np.ptp(at)) < _LEAST_COVERED_PCT:
        return
    if float(np.median(np.abs(100.0 - at - asked_at))) > _FITS_PCT or not _valve_follows(columns, tag, asked, position):
        return
    name = next(each for each in columns.numbers if each.startswith("position_"))
    text = "the position runs against the command while feedback or switches run with it"
    for each in [each for each in columns.numbers if each.startswith("position_")]:
        _refuse(file, columns, each, text, f"Count {name} from closed: 0 is closed.")


def _valve_follows(columns: RecordingColumns, tag: Tag, asked: Numbers, position: Numbers) -> bool:
    feedback = feedback_pct(columns, tag)
    if feedback is not None:
        asked_at, at = levels_of(columns.time_s, asked, feedback)
        if at.size >= _FEWEST_LEVELS and float(np.median(np.abs(at - asked_at))) <= _CLEARLY_OFF_PCT:
            return True
    closed, opened = _where_made(columns, "closed_switch", position), _where_made(columns, "open_switch", position)
    known = [each for each in (closed, None if opened is None else 100.0 - opened) if each is not None]
    return bool(known) and all(each > _MID_TRAVEL_PCT[1] for each in known)


def _where_made(columns: RecordingColumns, name: str, travel: Numbers) -> float | None:
    """Median of the travel with a switch made; None where it never is."""
    if name not in columns.numbers:
        return None
    made = (columns.numbers[name] > 0.5) & np.isfinite(travel)
    return float(np.median(travel[made])) if made.any() else None


def _ahead(file: str, columns: RecordingColumns, tag: Tag) -> None:
    command, travel = command_pct(columns, tag), travel_pct(columns, tag)
    if command is None or travel is None:
        return
    if tag.command_range is not None:  # what a valve does on a loss answers no command
        command = np.where(is_lost(command, tag.command_range), np.nan, command)
    ahead = changes_ahead_s(columns.time_s, ideal_of(tag)(command), travel)
    if ahead is None:
        return
    text = f"the travel changes {ahead:.3g} s before the command"
    proposal = "Exchange the headings of the two if they are exchanged; else bring both to one clock, or record again."
    for name in [each for each in columns.numbers if each.partition("_")[0] in ("command", "position", "feedback")]:
        _refuse(file, columns, name, text, proposal)


def _switches(file: str, columns: RecordingColumns, tag: Tag) -> None:
    travel = travel_pct(columns, tag)
    if travel is None:
        return
    with np.errstate(invalid="ignore"):
        midway = (travel > _MID_TRAVEL_PCT[0]) & (travel < _MID_TRAVEL_PCT[1])
    exchanged = _exchanged(columns, travel)
    for name in [each for each in ("closed_switch", "open_switch") if each in columns.numbers]:
        there = columns.numbers[name][midway]
        there = there[np.isfinite(there)]
        if there.size and float(np.mean(there > 0.5)) > _MOSTLY:
            text = "it is made in mid travel"
            _refuse(file, columns, name, text, "If 0 is made (a contact that opens at its end), write 1 for made.")
        elif exchanged:
            _refuse(file, columns, name, "it is made at the other end", "Exchange closed_switch and open_switch.")


def _exchanged(columns: RecordingColumns, travel: Numbers) -> bool:
    closed, opened = _where_made(columns, "closed_switch", travel), _where_made(columns, "open_switch", travel)
    return closed is not None and opened is not None and closed > _MID_TRAVEL_PCT[1] and opened < _MID_TRAVEL_PCT[0]


def ideal_of(tag: Tag) -> Callable[[Numbers], Numbers]:
    """The tag's ideal position [% of travel] for commands [% of command range]."""
    rangeability = tag.rangeability if tag.characteristic == "equal_percentage" else None
    return lambda command: ideal_position_pct(
        command,
        reverse=tag.action == "reverse",
        rangeability=rangeability,
        shut_below_pct=tag.shut_below_pct,
        open_above_pct=tag.open_above_pct,
    )


def command_pct(columns: RecordingColumns, tag: Tag) -> Numbers | None:
    """The command [% of command range], as the tag's own unit or a column in % gives it."""
    return _signal_pct(columns, "command", tag.command_range)


def feedback_pct(columns: RecordingColumns, tag: Tag) -> Numbers | None:
    """The feedback [% of feedback range]; None too for the wiper on its track."""
    raw = tag.feedback_range is None and tag.track_ohm is not None
    return None if raw else _signal_pct(columns, "feedback", tag.feedback_range)


def position_of(columns: RecordingColumns, tag: Tag) -> Numbers | None:
    """The measured position [% of travel]."""
    own = f"position_{tag.travel_unit}"
    if tag.travel and own in columns.numbers:
        return columns.numbers[own] / tag.travel * 100.0
    return columns.numbers.get("position_pct")


def travel_pct(columns: RecordingColumns, tag: Tag) -> Numbers | None:
    """The measured position, else the feedback."""
    position = position_of(columns, tag)
    return feedback_pct(columns, tag) if position is None else position


def _signal_pct(columns: RecordingColumns, role: str, signal: SignalRange | None) -> Numbers | None:
    own = f"{role}_{signal.unit}" if signal is not None else ""
    if signal is not None and own in columns.numbers:
        return to_percent(columns.numbers[own], signal.low, signal.high)
    return columns.numbers.get(f"{role}_pct")
