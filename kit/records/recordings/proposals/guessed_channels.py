"""Which columns of an unknown file are which channel, guessed from their headings, units and values."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.basis.recording_maps import CHANNEL_COLUMNS
from kit.basis.registers import Tag
from kit.basis.signals import SignalRange
from kit.records.recordings.proposals.guessed_time import numbers_in
from kit.records.recordings.proposals.sniffed import Column

_WORDS: Final[Mapping[str, str]] = {  # in the headings of loggers, in the languages they come in
    "closed_switch": r"clos\w*|zu|geschlossen|ferm\w*|zsc|zlc|lsc|gsc",
    "open_switch": r"open\w*|auf|offen|ouv\w*|zso|zlo|lso|gso",
    "supply": r"supply|versorgung\w*|speis\w*|alim\w*|mains|battery|batt|24 ?v|vdc|power",
    "command": r"command|cmd|set ?point|setpt|sp|soll\w*|demand|consigne|reference|ref|ao|stellsignal|control signal",
    "feedback": r"feed ?back|fbk?|actual|ist\w*|\w*rückmeldung\w*|retrans\w*|transmitter|read ?back|pv|recopie|retour",
    "position": r"pos\w*|travel|stroke|angle|winkel|stellung\w*|lage|weg|hub|displacement|course|opening|way",
}
_WORD: Final = {name: re.compile(rf"(?<![^\W\d_])(?:{words})(?![^\W\d_])") for name, words in _WORDS.items()}
_SWITCHES: Final = ("closed_switch", "open_switch")
_NEVER_MADE: Final = {"0": "1", "0.0": "1", "off": "ON", "false": "TRUE", "no": "YES", "aus": "EIN"}
_TRAVELS: Final = ("position", "feedback")
_UNITS: Final[Mapping[str, str]] = {
    "ma": "mA",
    "v": "V",
    "vdc": "V",
    "v dc": "V",
    "%": "%",
    "pct": "%",
    "percent": "%",
    "% travel": "%",
    "deg": "deg",
    "°": "deg",
    "degrees": "deg",
    "grad": "deg",
    "mm": "mm",
}
_FULL: Final = (27648.0, 4095.0, 4096.0, 16383.0, 32767.0, 65535.0, 10000.0, 1000.0)  # what converters count to
_AGREES: Final = 0.8  # House definition: correlation of channels that belong together
_LEAD_INTERVALS: Final = 1.0  # House definition: by more a command leads what follows it
_CHANGE_S: Final = 0.5  # House definition: over which a signal's changes are taken
_SHIFT_S: Final = 20.0  # House definition: the longest lag that is looked for
_MOSTLY: Final = 0.8  # House definition: of the samples, within a signal's range where it may be that signal
_BELOW: Final = 0.5  # mA or V; House definition: below a range, of zero errors
_TOGETHER: Final = 0.95  # House definition: correlation of two channels of one travel
_BEYOND: Final = 1.15  # House definition: of a range, up to which values may be of it
_HARDLY: Final = 0.01  # House definition: of its mean, what a supply varies by at most when a guess rests on it alone


@dataclass(frozen=True, slots=True)
class GuessedChannel:
    """One channel as it may be written into unit.toml."""

    channel: str
    column: Column
    unit: str
    why: str
    scale: float = 1.0
    states: tuple[str, str] = ("1", "0")  # made, not made


@dataclass(frozen=True, slots=True)
class Guess:
    """The channels of a file, what was left, and why."""

    channels: tuple[GuessedChannel, ...]
    left: tuple[tuple[Column, str], ...]  # with what may be said of it


@dataclass(frozen=True, slots=True, eq=False)
class _Signal:
    column: Column
    values: NDArray[np.float64]
    low: float
    high: float

    @property
    def span(self) -> float:
        return self.high - self.low


def guess_channels(columns: Sequence[Column], interval_s: float, tag: Tag) -> Guess:
    """The channels among the columns that hold no time.

    Notes
    -----
    House definition: a heading's word tells a channel where it is the only one with it; of several the first column is
    proposed. What has no such word is tried by its values: two states are a switch, made where the travel is at an end;
    of two signals that go together the one that leads is the command.
    """
    signals = {each.place: signal for each in columns if (signal := _signal(each)) is not None}
    found: dict[str, GuessedChannel] = {}
    for name, word in _WORD.items():
        for each in columns:
            taken = any(other.column is each for other in found.values())
            if name not in found and not taken and word.search(each.words):
                guess = _by_word(name, each, signals.get(each.place), tag)
                if guess is not None:
                    found[name] = guess
    _by_values(found, [signals[each.place] for each in columns if each.place in signals], interval_s, tag)
    _name_switches(found, columns, signals)
    used = {each.column.place for each in found.values()}
    left = tuple((each, _said(each, signals.get(each.place))) for each in columns if each.place not in used)
    return Guess(tuple(found[name] for name in CHANNEL_COLUMNS if name in found), left)


def _signal(column: Column) -> _Signal | None:
    values = numbers_in(column)
    if values is None:
        return None
    known = values[np.isfinite(values)]
    low, high = np.quantile(known, (0.005, 0.995))
    return _Signal(column, values, float(low), float(high))


def _states(column: Column) -> tuple[str, ...]:
    return tuple(sorted({cell for cell in column.cells if cell}))


def _by_word(name: str, column: Column, signal: _Signal | None, tag: Tag) -> GuessedChannel | None:
    if name in _SWITCHES:
        states = _states(column)
        if len(states) == 1 and states[0].casefold() in _NEVER_MADE:
            made = _NEVER_MADE[states[0].casefold()]
            return GuessedChannel(name, column, "", "heading; it never makes", states=(made, states[0]))
        return _switch(name, column, f"heading, states {' and '.join(states)}") if len(states) == 2 else None
    return None if signal is None else _with_unit(name, signal, tag, "heading")


def _switch(name: str, column: Column, why: str) -> GuessedChannel:
    states = _states(column)
    yes = {"1", "1.0", "1,0", "on", "true", "yes", "ein", "made", "high", "h", "closed", "active"}
    made = next((each for each in states if each.casefold() in yes), states[-1])
    return GuessedChannel(name, column, "", why, states=(made, next(each for each in states if each != made)))


def _with_unit(name: str, signal: _Signal, tag: Tag, why: str) -> GuessedChannel | None:
    """A channel in the unit that stands with it, else in the one that its values allow; None: no unit fits."""
    written = _UNITS.get(signal.column.unit.strip().casefold(), "")
    said = f"{why}; {signal.low:.4g} to {signal.high:.4g}"
    if written in CHANNEL_COLUMNS[name]:
        scale = _decade(signal, tag) if written == tag.travel_unit and name == "position" else 1.0
        return GuessedChannel(name, signal.column, written, said, scale)
    if written:
        return None
    for unit, scale in _units_by_values(name, signal, tag):
        if unit in CHANNEL_COLUMNS[name]:
            return GuessedChannel(name, signal.column, unit, f"{said}, the unit by its values", scale)
    return None


def _decade(signal: _Signal, tag: Tag) -> float:
    """1, or the power of ten that brings a position written in tenths or hundredths to the travel."""
    ratio = signal.high / tag.travel if tag.travel else 1.0
    return next((1.0 / factor for factor in (10.0, 100.0, 1000.0) if 0.85 <= ratio / factor <= _BEYOND), 1.0)


def _units_by_values(name: str, signal: _Signal, tag: Tag) -> list[tuple[str, float]]:
    own = tag.command_range if name == "command" else tag.feedback_range if name == "feedback" else None
    found: list[tuple[str, float]] = []
    if name == "supply":
        return [("V", 1.0)] if signal.low > 5.0 and signal.high < 500.0 else []
    if own is not None:
        fits = (factor for factor in (1.0, 10.0, 100.0, 1000.0) if _is_of_range(signal, own, factor))
        found += [(own.unit, 1.0 / factor) for factor in fits]
    if name == "position" and tag.travel and 0.8 <= signal.high / tag.travel / (1.0 / _decade(signal, tag)) <= _BEYOND:
        found.append((tag.travel_unit, _decade(signal, tag)))
    if signal.low >= -10.0 and 25.0 < signal.high <= 100.0 * _BEYOND:
        found.append(("%", 1.0))
    elif signal.low >= -0.1 and 0.5 < signal.high <= _BEYOND:
        found.append(("%", 100.0))
    whole = bool((signal.values[np.isfinite(signal.values)] % 1.0 == 0.0).all())
    full = next((each for each in _FULL if 0.98 * each <= signal.high <= 1.02 * each), None)
    if whole and full is not None:
        found.append(("%", 100.0 / full))
    return found


def _is_of_range(signal: _Signal, own: SignalRange, factor: float) -> bool:
    """Whether values are of a signal's range, in its unit or in tenths, hundredths or thousandths of it."""
    values = signal.values[np.isfinite(signal.values)] / factor
    mostly = float(np.mean(values >= own.low - _BELOW)) > _MOSTLY  # a loss of the signal lies below
    return mostly and signal.low / factor > -_BELOW and own.high / 1.25 <= signal.high / factor <= own.high * _BEYOND


def _by_values(found: dict[str, GuessedChannel], signals: Sequence[_Signal], interval_s: float, tag: Tag) -> None:
    """Tell the command and the travel that have no word for them, by what goes together and what leads."""
    by_place = {each.column.place: each for each in signals}
    command, travel = (
        next((by_place[found[name].column.place] for name in names if name in found), None)
        for names in (("command",), _TRAVELS)
    )
    pairs = [
        (one, other)
        for one in ([command] if command is not None else _free(found, signals))
        for other in ([travel] if travel is not None else _free(found, signals))
        if one is not other
    ]
    for one, other in pairs if command is None or travel is None else ():
        if _leads(one, other, interval_s) and _add_pair(found, one, other, tag):
            travel = other
            break
    if travel is not None:
        _add_other_travel(found, travel, _free(found, signals), tag)
    for each in _free(found, signals):
        if "supply" not in found and each.column.unit == "V" and each.low > 5.0 and each.span < _HARDLY * each.high:
            _add(found, "supply", each, tag, "volts that hardly change")


def _free(found: Mapping[str, GuessedChannel], signals: Sequence[_Signal]) -> list[_Signal]:
    """Signals of no channel yet that have more than two states."""
    used = {each.column.place for each in found.values()}
    return [each for each in signals if each.column.place not in used and len(_states(each.column)) > 2]


def _add_pair(found: dict[str, GuessedChannel], command: _Signal, travel: _Signal, tag: Tag) -> bool:
    """A command and what follows it, as far as they are not there: both, or neither."""
    before = dict(found)
    led = travel.column.heading or f"column {travel.column.place + 1}"
    known = "command" in found or _add(found, "command", command, tag, f"it leads {led}")
    known &= any(name in found for name in _TRAVELS) or _add_travel(found, travel, tag, "it follows the command")
    if not known:
        found.clear()
        found.update(before)
    return known


def _add(found: dict[str, GuessedChannel], name: str, signal: _Signal, tag: Tag, why: str) -> bool:
    guess = _with_unit(name, signal, tag, why)
    if guess is not None:
        found[name] = guess
    return guess is not None


def _add_travel(found: dict[str, GuessedChannel], signal: _Signal, tag: Tag, why: str) -> bool:
    """A signal in mA, V or % is a feedback, one in degrees or millimetres a position: a feedback claims less."""
    is_position = _UNITS.get(signal.column.unit.casefold(), "") in ("deg", "mm")
    names = ("position",) if is_position else ("feedback", "position")
    return any(_add(found, name, signal, tag, why) for name in names)


def _add_other_travel(found: dict[str, GuessedChannel], travel: _Signal, free: Sequence[_Signal], tag: Tag) -> None:
    """The position beside a feedback, or the feedback beside a position: it goes the same way."""
    name = next((each for each in _TRAVELS if each not in found), "")
    for each in free if name else ():
        count = min(each.values.size, travel.values.size)
        known = np.isfinite(each.values[:count]) & np.isfinite(travel.values[:count])
        one, other = each.values[:count][known], travel.values[:count][known]
        if one.size < 2 or one.std() == 0.0 or other.std() == 0.0:
            continue
        if np.corrcoef(one, other)[0, 1] > _TOGETHER and _add(found, name, each, tag, "it goes with the travel"):
            return


def _leads(one: _Signal, other: _Signal, interval_s: float) -> bool:
    """Whether one signal goes the way of another, and ahead of it."""
    count = min(one.values.size, other.values.size)
    first, second = (np.nan_to_num(each.values[:count], nan=float(np.nanmedian(each.values))) for each in (one, other))
    if min(one.span, other.span) <= 0.0 or min(np.std(first), np.std(second)) == 0.0:
        return False
    reach = min(int(_SHIFT_S / interval_s) if interval_s > 0.0 else 20, count // 3)
    lags = np.arange(-reach, reach + 1)
    if float(_agreement(first, second, lags).max()) <= _AGREES:
        return False
    wide = max(1, round(_CHANGE_S / interval_s)) if interval_s > 0.0 else 1
    changes = [each[wide:] - each[:-wide] for each in (first, second)]  # levels alone would agree best at no lag
    return bool(lags[int(_agreement(changes[0], changes[1], lags).argmax())] > _LEAD_INTERVALS)


def _agreement(first: NDArray[np.float64], second: NDArray[np.float64], lags: NDArray[np.int64]) -> NDArray[np.float64]:
    """Correlation of two signals with the second so many samples later, shape of ``lags``."""
    size = 1 << int(2 * first.size).bit_length()
    spectra = [np.fft.rfft((each - each.mean()) / max(float(each.std()), 1e-12), size) for each in (first, second)]
    found: NDArray[np.float64] = np.fft.irfft(np.conj(spectra[0]) * spectra[1], size) / first.size
    return found[lags % size]


def _name_switches(found: dict[str, GuessedChannel], columns: Sequence[Column], signals: Mapping[int, _Signal]) -> None:
    """Columns of two states that are one of them at one end of the travel alone."""
    travel = next((found[name] for name in _TRAVELS if name in found), None)
    signal = None if travel is None else signals.get(travel.column.place)
    if signal is None:
        return
    used = {each.column.place for each in found.values()}
    for each in columns:
        states = _states(each)
        if each.place in used or len(states) != 2:
            continue
        for name, is_end in (
            ("closed_switch", signal.values < signal.low + 0.05 * signal.span),
            ("open_switch", signal.values > signal.high - 0.05 * signal.span),
        ):
            for made in states:
                is_made = np.array([cell == made for cell in each.cells])
                if name not in found and float(np.mean(is_made == is_end)) > 0.97:
                    found[name] = replace(
                        _switch(name, each, f"{made} at that end of the travel alone"),
                        states=(made, next(state for state in states if state != made)),
                    )


def _said(column: Column, signal: _Signal | None) -> str:
    """What may be said of a column that is not proposed."""
    states = _states(column)
    if len(states) <= 2:
        return f"it holds {' and '.join(states) or 'nothing'}"
    if signal is None:
        return "texts"
    unit = f" {column.unit}" if column.unit else ""
    return f"{signal.low:.4g} to {signal.high:.4g}{unit}"
