"""Stretches of a recording without signal, without supply, or without both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.checks import Cause
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.levels import TWO_INTERVALS

FADES_S: Final = 5.0  # House definition: a signal that sinks for longer is a ramp
_LEAST_S: Final = 0.2  # House definition: a shorter loss is a lost sample
_FEWEST: Final = 2  # House definition: samples of a loss
_SAME_LOSS_S: Final = 1.0  # House definition: losses less far apart are one
_FADING_S: Final = 0.5  # House definition: over which the command's fall is looked at
_FADING_PCT: Final = 1.0  # House definition: a signal that sinks by less in that time stands
_TOP: Final = 0.9  # House definition: the quantile of the supply that no loss, no sag and no spike reaches
_USUAL: Final = 0.75  # House definition: of that, above which the supply is on
_LOW: Final = 0.85  # House definition: of the usual supply; a controller of 24 V need not work with less
_GONE: Final = 0.5  # House definition: of the usual supply; no motor sags it that far and runs on
_AT_REST_S: Final = 5.0  # House definition: a supply that is low for as long with the valve at rest is no motor's sag
_AT_REST_PCT: Final = 0.2  # House definition: of travel, within which a valve is at rest meanwhile
_KNOWN: Final = 0.5  # House definition: of the samples of a loss, in which the supply has to be known


@dataclass(frozen=True, slots=True)
class Outage:
    """One loss, by the places of its samples.

    ``from_place`` to ``to_place`` is all of it: a signal that sinks, and contacts that bounce, included. ``first`` to
    ``last`` is its longest unbroken part.
    """

    from_place: int
    first: int
    last: int
    to_place: int
    unsure_s: float  # from when it began to go to when it had gone [s]
    of_signal: bool
    of_supply: bool
    causes: tuple[Cause, ...]  # what it may have been, the likeliest first
    is_blank: bool  # no command was recorded: nothing shows that anything went


def outages_of(recording: Recording) -> list[Outage]:
    """Every loss of signal, of supply, or of both.

    Parameters
    ----------
    recording : Recording

    Returns
    -------
    list of Outage
        In order of time.

    Notes
    -----
    **House definition**: losses less than a second apart, as of a contact that bounces, are one; one sample, or less
    than 0.2 s, is a lost sample and no loss. A command above its range has met a short circuit (NAMUR NE 43: 21 mA
    and above); one below it an open loop, and only where the supply was recorded is it known not to have gone too; nor
    is it known of the signal where the supply goes and no command was recorded.

    Examples
    --------
    >>> lost = np.arange(60) // 20 == 1
    >>> made = Recording(np.arange(60.0), np.where(lost, -25.0, 50.0), np.full(60, 50.0), signal_lost=lost)
    >>> [(each.first, each.last, each.causes) for each in outages_of(made)]
    [(20, 39, ('signal_open', 'signal_short', 'both_off'))]
    """
    without_supply = supply_lost(recording)
    signal = recording.signal_lost
    without_signal = np.zeros(len(recording), dtype=bool) if signal is None else signal
    lost = without_signal | without_supply
    if not lost.any():
        return []
    found = []
    for parts in _joined(recording, extents(lost)):
        lasted = [(first, last) for first, last in parts if _lasts(recording, first, last)]
        if lasted:
            longest = max(lasted, key=lambda each: recording.time_s[each[1]] - recording.time_s[each[0]])
            found.append(_outage(recording, parts, longest, without_signal, without_supply))
    return found


def supply_lost(recording: Recording) -> BoolArray:
    """Where the supply has gone, shape (n,); nowhere without its column.

    Notes
    -----
    **House definition**: the supply is low below 0.85 of its median where it is on. A stretch of it is a loss where it
    falls below half of that for two samples and 0.2 s, or is low for 5 s in which the valve rests within 0.2 %: the
    motor sags a supply only while it runs.
    """
    supply = recording.supply_v
    lost = np.zeros(len(recording), dtype=bool)
    if supply is None:
        return lost
    usual = _usual_v(supply)
    if usual <= 0.0:
        return lost
    with np.errstate(invalid="ignore"):
        low, gone = supply < _LOW * usual, supply < _GONE * usual
    for parts in _joined(recording, extents(low)):
        first, last = parts[0][0], parts[-1][1]
        part = slice(first, last + 1)
        away = any(_lasts(recording, first + begin, first + end) for begin, end in extents(gone[part]))
        if away or any(_rests(recording, begin, end) for begin, end in parts):
            lost[part] = True
    return lost


def _usual_v(supply: FloatArray) -> float:
    """The supply where it is on [V]; 0: it was not recorded."""
    known = supply[np.isfinite(supply)]
    return float(np.median(known[known >= _USUAL * float(np.quantile(known, _TOP))])) if known.size else 0.0


def _lasts(recording: Recording, first: int, last: int) -> bool:
    return last - first + 1 >= _FEWEST and float(recording.time_s[last] - recording.time_s[first]) >= _LEAST_S


def _joined(recording: Recording, runs: list[tuple[int, int]]) -> list[list[tuple[int, int]]]:
    times, found = recording.time_s, list[list[tuple[int, int]]]()
    apart = max(_SAME_LOSS_S, TWO_INTERVALS * recording.interval_s)
    for first, last in runs:
        if found and times[first] - times[found[-1][-1][1]] < apart:
            found[-1].append((first, last))
        else:
            found.append([(first, last)])
    return found


def _rests(recording: Recording, first: int, last: int) -> bool:
    """Whether the valve rests for long enough within a stretch."""
    times, travel = recording.time_s[first : last + 1], recording.travel_pct[first : last + 1]
    usable = np.isfinite(travel)
    times, travel = times[usable], travel[usable]
    if times.size < _FEWEST or times[-1] - times[0] < _AT_REST_S:
        return False
    width = max(int(np.searchsorted(times, times[0] + _AT_REST_S)), 1)
    half = max(width // 2, 1)
    total = np.concatenate(([0.0], np.cumsum(travel)))
    means = (total[half:] - total[:-half]) / half
    gap = max(width - half, 1)
    return bool(means.size > gap and (np.abs(means[gap:] - means[:-gap]) < _AT_REST_PCT).any())


def _outage(
    recording: Recording,
    parts: list[tuple[int, int]],
    longest: tuple[int, int],
    without_signal: BoolArray,
    without_supply: BoolArray,
) -> Outage:
    (first, last), times = longest, recording.time_s
    own = slice(first, last + 1)
    of_signal, of_supply = (bool(mask[own].any()) for mask in (without_signal, without_supply))
    start = parts[0][0]
    begin = _begin_of_fading(recording.command_pct, times, start) if without_signal[start] else start
    unsure = float(times[first] - times[begin]) if begin < first else 0.0
    if without_supply[first]:
        unsure = max(unsure, _sinks_for(recording, first, last))
    lost = recording.command_pct[own][without_signal[own]]
    is_blank = of_signal and not np.isfinite(lost).any()
    causes = _causes(recording, own, lost, of_signal=of_signal, of_supply=of_supply)
    return Outage(begin, first, last, parts[-1][1], unsure, of_signal, of_supply, causes, is_blank)


def _begin_of_fading(command: FloatArray, times: FloatArray, first: int) -> int:
    """Where a command began to sink that is lost from ``first`` on; ``first`` where it went at once, or by a ramp."""
    low = int(np.searchsorted(times, times[first] - FADES_S))
    width = max(first - 1 - int(np.searchsorted(times, times[max(first - 1, 0)] - _FADING_S)), 1)
    if first - low <= width:
        return first
    with np.errstate(invalid="ignore"):
        sinks = command[low : first - width] - command[low + width : first] > _FADING_PCT
    stands = np.flatnonzero(~sinks)
    return low + width + int(stands[-1]) + 1 if stands.size else first


def _sinks_for(recording: Recording, first: int, last: int) -> float:
    """How long the supply takes from low to gone [s]; 0 where it never goes."""
    supply = recording.supply_v
    assert supply is not None  # it was found to have gone
    with np.errstate(invalid="ignore"):
        gone = np.flatnonzero(supply[first : last + 1] < _GONE * _usual_v(supply))
    return float(recording.time_s[first + int(gone[0])] - recording.time_s[first]) if gone.size else 0.0


def _causes(
    recording: Recording, own: slice, lost_pct: FloatArray, *, of_signal: bool, of_supply: bool
) -> tuple[Cause, ...]:
    if of_signal and of_supply:
        return ("both_off",)
    if of_supply:
        stays = float(np.isfinite(recording.command_pct[own]).mean()) >= _KNOWN
        return ("supply_off",) if stays else ("supply_off", "both_off")
    known = lost_pct[np.isfinite(lost_pct)]
    if known.size and float(np.median(known)) > 0.0:
        return ("signal_short",)
    supply = recording.supply_v
    is_on = supply is not None and float(np.isfinite(supply[own]).mean()) >= _KNOWN
    return ("signal_open", "signal_short") if is_on else ("signal_open", "signal_short", "both_off")
