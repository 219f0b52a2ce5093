"""Motion with the command at rest: hunting told apart from noise, from beats of hum and from stick-slip."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import sqrt
from typing import Final, Literal

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Quantity
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.beats import swings_with
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.levels import Level
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.segments import REST_S, Stretches
from kit.calculations.recordings.spells import (
    FEWEST_BLOCKS,
    QUICKEST_S,
    is_regular,
    mean_swing_pct,
    quick_width,
    samples_a_period,
    spells_of,
)
from kit.calculations.recordings.swing_figures import SAMPLES_A_PERIOD, no_swing, period_of, swing_of, too_slow
from kit.calculations.recordings.turns import Turns, hidden_period_s, least_seen_pct

Kind = Literal["at_rest", "hunting", "stick_slip", "noise", "drift", "beat"]

REST_COMMAND_PCT: Final = 0.2  # House definition: a command that moves by less is at rest
_NEARLY: Final = 0.98  # House definition: a level is cut short by the samples at its ends
_MANY_REVERSALS: Final = 10  # House definition: a valve that turns as often never rests
_FEWEST_IN_A_HOLD: Final = 6  # House definition: in less than a minute, fewer may be a valve that settles
_LEAST_SWING_PCT: Final = 0.1  # House definition: less wears no valve
_PLACE_S: Final = 12.0  # House definition: pieces of a recording without command, whose means tell one place
_ALIKE: Final = 2.0  # House definition: times the spread of a piece, which another about the same place has at most
_SHORTEST_S: Final = 20.0  # House definition: a shorter rest shows no slow swing
_SPREAD: Final = (0.02, 0.98)  # House definition: a lost contact or two in a hundred is no motion
_OF_HUM: Final = 3.0  # House definition: of the amplitude of hum, half as much again as its swing
_ARRIVED_PCT: Final = 0.5  # House definition: from where it stays later, at which the travel has answered the command
_LATE_PARTS: Final = (4, 8, 16)  # House definition: parts at the end of a rest in which a long answer may be over
_QUIETER: Final = 0.25  # House definition: of the spread of the part twice as long, where that holds an answer
_COMMAND_PARTS: Final = 20  # House definition: parts of a rest whose means show whether the command moved
_COMMAND_DEVIATIONS: Final = 4.0  # House definition: what the means of 20 parts spread over by noise alone
_DRIFT_DEVIATIONS: Final = 6.0  # House definition: halves that differ by more are no noise
_MOST_OF_IT: Final = 0.8  # House definition: of a rest; a valve that swings for less of it does so in spells
_QUIET: Final = "the valve does not hunt"
_UNTOLD: Final = (
    "the travel repeats itself every {:.2g} s or a part of that, with too few samples a swing to tell hunting from "
    "hum: screen the wires, record ten times as fast, and repeat the rest"
)


@dataclass(frozen=True, slots=True, eq=False)
class Stillness:
    """What the travel did in one rest of the command."""

    segment: Segment
    kind: Kind
    amplitude: Quantity  # peak to peak [% of travel]; 0 at rest
    period: Quantity  # [s]
    reversals: int
    turn_s: FloatArray  # (k,) times of the turning points [s]
    turn_pct: FloatArray  # (k,) travel there [% of travel]

    @property
    def swings_s(self) -> float:
        """For how long it swung [s]: from the first turn to the last."""
        return float(self.turn_s[-1] - self.turn_s[0]) if self.turn_s.size else 0.0

    @property
    def in_spells(self) -> bool:
        """Whether it swung in a part of the rest only."""
        return 0.0 < self.swings_s < _MOST_OF_IT * self.segment.duration_s


def command_rests(stretches: Stretches, least_s: float = _SHORTEST_S) -> list[Segment]:
    """The times in which the command stands still, from its arrival on.

    Notes
    -----
    House definition: levels of 20 s and more; from 60 s on a level is a rest, else a hold.
    """
    levels = [part for parts, _ in stretches for part in parts if isinstance(part, Level)]
    return [
        Segment("rest" if each.duration_s >= REST_S * _NEARLY else "hold", each.from_s, each.to_s)
        for each in levels
        if each.duration_s >= least_s
    ]


def rests_of(
    recording: Recording, segments: Iterable[Segment], channels: Channels, *, dead_band_pct: float = 0.0
) -> tuple[Stillness, ...]:
    """What the travel does in each rest, and in those holds in which it hunts.

    Notes
    -----
    **House definition**: a hold of less than a minute tells of no rest; six regular reversals in it are hunting.
    """
    found = []
    for each in segments:
        told = rest_behaviour(recording, each, channels, dead_band_pct=dead_band_pct)
        if told is None:
            continue
        hunts = told.kind == "hunting" and told.reversals >= _FEWEST_IN_A_HOLD
        if each.what == "rest" or hunts:
            found.append(told)
    return tuple(found)


def swings_without_command(recording: Recording, channels: Channels) -> tuple[Stillness, ...]:
    """Hunting in a recording without a command column, or what may be: regular swings about one place for a minute.

    Notes
    -----
    **House definition**: ten reversals or more, since a hand that steps a command up and down looks like fewer.
    Nothing is told of other stretches: nobody knows whether the command rested in them.
    """
    found = []
    for from_s, to_s in _about_one_place(recording):
        place = recording.place(from_s, to_s)
        usable = np.isfinite(recording.travel_pct[place])
        series = recording.time_s[place][usable], recording.travel_pct[place][usable]
        told = told_of(recording, Segment("rest", from_s, to_s), channels, series)
        is_long = told.swings_s >= _NEARLY * REST_S - (told.period.value or 0.0)
        if told.kind in ("hunting", "beat") and is_long and told.reversals >= _MANY_REVERSALS:
            found.append(told)
    return tuple(found)


def rest_behaviour(
    recording: Recording, segment: Segment, channels: Channels, *, dead_band_pct: float = 0.0
) -> Stillness | None:
    """Tell what the travel does while the command is at rest.

    Parameters
    ----------
    recording : Recording
    segment : Segment
        A rest, from the arrival of the command on; what the travel needs to follow is left out here.
    channels : Channels
        Noise of the recording.
    dead_band_pct : float
        A swing must exceed half of the dead band to be hunting [% of travel]; 0: the dead band is not known.

    Returns
    -------
    Stillness or None
        None where less than 20 s was recorded, a gap lies in it, or the command moved by 0.2 % or more.

    Notes
    -----
    **House definition** (a proposal of common practice, no source): hunting is three reversals or more of a swing
    above the noise, above 0.1 % and above half of the dead band, the times of which, each way for itself, vary by
    less than 30 % (standard deviation over mean), a tenth of the period or 1.5 samples, wherever in the rest;
    swings that only fade are a valve that settles. Less regular swings are stick-slip. Ten regular reversals are
    hunting whatever the dead band: a valve that never rests shows none. Where the command swings with the travel by
    0.3 of it, or a measured position swings by no more than 0.5 % and the feedback does not, nobody knows whether the
    valve does: a beat of hum looks alike. No motor reverses within 0.2 s: what is quicker is hum or noise.
    """
    place = recording.place(segment.from_s, segment.to_s)
    usable = np.isfinite(recording.travel_pct[place])
    times, travel = recording.time_s[place][usable], recording.travel_pct[place][usable]
    if times.size < FEWEST_BLOCKS or recording.has_gap(segment.from_s, segment.to_s):
        return None
    if _command_span(recording.command_pct[place], channels.command) >= REST_COMMAND_PCT:
        return None
    arrived = _arrived(travel)
    times, travel = times[arrived:], travel[arrived:]
    if times.size < FEWEST_BLOCKS or times[-1] - times[0] < _SHORTEST_S:
        return None
    return told_of(recording, segment, channels, (times, travel), dead_band_pct)


def told_of(
    recording: Recording,
    segment: Segment,
    channels: Channels,
    series: tuple[FloatArray, FloatArray],
    dead_band_pct: float = 0.0,
) -> Stillness:
    """What a travel does that has answered its command: times [s] and travel [% of travel], each shape (n,).

    Notes
    -----
    **House definition**: what :func:`rest_behaviour` says; a swing quicker than 0.2 s is hum or noise.
    """
    times, travel = series
    quiet = channels.quiet_travel
    low, high = np.quantile(travel, _SPREAD)
    if high - low > _OF_HUM * quiet.hum + 2.0 * quiet.band:  # more than hum: a part of it that is as regular
        quiet = replace(quiet, hum=0.0, hum_period_s=0.0)
    found = spells_of(times, travel, quiet, recording.interval_s)
    if not found[1]:
        return _without_swings(recording, segment, travel, quiet, found[0])
    return _swinging(recording, segment, channels, _Swings(*found, quiet, travel), dead_band_pct)


@dataclass(frozen=True, slots=True, eq=False)
class _Swings:
    """Spells of swinging in one rest, and what they were found in."""

    turns: Turns
    spells: list[Turns]
    width: int  # samples in the means that show them
    hides_pct: float  # a lesser swing does not show [% of travel]
    noise: Noise
    travel: FloatArray  # (n,)

    def joined(self, name: str) -> FloatArray:
        """What all spells have of one kind."""
        return np.concatenate([getattr(each, name) for each in self.spells])


def _without_swings(
    recording: Recording, segment: Segment, travel: FloatArray, quiet: Noise, turns: Turns
) -> Stillness:
    """A rest in which no swing shows; it may go through too few samples."""
    period_s = hidden_period_s(travel, recording.interval_s)
    if period_s >= QUICKEST_S:
        nobody = Quantity(None, _UNTOLD.format(period_s))
        return Stillness(segment, "beat", nobody, nobody, 0, np.empty(0), np.empty(0))
    kind, nothing = _quiet_kind(travel, len(turns), quiet), Quantity(None, _QUIET)
    amplitude = no_swing(travel, least_seen_pct(quiet, quick_width(recording.interval_s)))
    return Stillness(segment, kind, amplitude, nothing, 0, turns.at_s, turns.height_pct)


def _swinging(
    recording: Recording, segment: Segment, channels: Channels, found: _Swings, dead_band_pct: float
) -> Stillness:
    """A rest in which the travel swings: by less than hunting is, irregularly, as hum may, or it hunts."""
    spells, interval_s = found.spells, recording.interval_s
    turn_s, turn_pct, mean_pct = found.joined("at_s"), found.joined("height_pct"), mean_swing_pct(spells)
    amplitude = swing_of(spells, interval_s, interval_s * found.width, found.hides_pct)
    period = period_of(spells, interval_s * found.width, found.noise, found.hides_pct, recording.time_resolution_s)
    told = Stillness(segment, "hunting", amplitude, period, int(turn_s.size), turn_s, turn_pct)
    regular = all(is_regular(each, interval_s) for each in spells)
    share = 0.0 if regular and turn_s.size >= _MANY_REVERSALS else 0.5 * dead_band_pct
    if mean_pct <= max(_LEAST_SWING_PCT, share):
        if mean_pct <= _LEAST_SWING_PCT or swings_with(recording, channels, turn_s, turn_pct):
            seen = least_seen_pct(found.noise, quick_width(interval_s))
            amplitude = no_swing(found.travel, max(seen, mean_pct))
        return replace(told, kind="noise", amplitude=amplitude, period=Quantity(None, _QUIET))
    if not regular:
        return replace(told, kind="stick_slip", period=Quantity(None, "the swings come at no regular interval"))
    few = samples_a_period(spells, interval_s) < SAMPLES_A_PERIOD
    with_it = too_slow(spells, interval_s) if few else swings_with(recording, channels, turn_s, turn_pct)
    if with_it:
        nobody = Quantity(None, with_it)
        return replace(told, kind="beat", amplitude=nobody, period=nobody)
    return told


def _about_one_place(recording: Recording) -> list[tuple[float, float]]:
    """Stretches of a minute or more in which the travel stays about one place.

    Notes
    -----
    **House definition**: pieces of 12 s whose middle lies within what the first two spread over, and which spread no
    farther than twice as far; those two are alike, or the first is the end of a move.
    """
    times, travel = recording.time_s, recording.travel_pct
    edges = np.arange(times[0], times[-1], _PLACE_S) if times.size else np.empty(0)
    bounds = [*np.searchsorted(times, edges).tolist(), times.size]
    runs: list[_Place] = []
    for left, right in pairwise(bounds):
        own = travel[left:right][np.isfinite(travel[left:right])]
        if own.size == 0 or recording.has_gap(float(times[left]), float(times[right - 1])):
            runs.append(_Place(np.nan, np.nan, np.inf, 0.0))
            continue
        here = _Place(
            float(times[left]), float(times[right - 1]), float(own.mean()), max(float(np.ptp(own)), _ARRIVED_PCT)
        )
        if runs and runs[-1].goes_on_in(here):
            runs[-1] = replace(runs[-1], to_s=here.to_s, pieces=runs[-1].pieces + 1)
        else:
            runs.append(here)
    return [(each.from_s, each.to_s) for each in runs if each.to_s - each.from_s >= REST_S * _NEARLY]


@dataclass(frozen=True, slots=True)
class _Place:
    """A place about which the travel stays."""

    from_s: float
    to_s: float
    middle_pct: float  # of its first piece
    span_pct: float  # of its first piece, and no less than what counts as one place
    pieces: int = 1

    def goes_on_in(self, here: _Place) -> bool:
        """Whether a piece belongs to it."""
        first_moves = self.pieces == 1 and self.span_pct > _ALIKE * here.span_pct
        is_near = abs(here.middle_pct - self.middle_pct) <= self.span_pct
        return is_near and here.span_pct <= _ALIKE * self.span_pct and not first_moves


def worst_rest(rests: Sequence[Stillness]) -> Stillness | None:
    """The rest with the greatest swing; else one of which nobody knows whether it swings; of equals, the first.

    Notes
    -----
    **House definition**: a recording is as restless as its worst rest. One at rest says nothing of another that swings.
    """
    return max(rests, key=_restlessness, default=None)


def _restlessness(rest: Stillness) -> tuple[int, float]:
    swing = rest.amplitude.value
    return (1, 0.0) if swing is None else (2 if swing > 0.0 else 0, swing)


def _arrived(travel: FloatArray) -> int:
    """The first sample at which the travel has come to where it stays, or about which it swings.

    Notes
    -----
    **House definition**: where it stays is told by the late half; a shorter part at the end, a quarter, an eighth or a
    sixteenth, tells it better where its spread is less than a quarter of that of the part twice as long: then the
    answer to the command reaches into that.
    """
    late = travel[travel.size // 2 :]
    reach = _spread_pct(late)
    for part in _LATE_PARTS:
        later = travel[travel.size - travel.size // part :]
        if later.size < FEWEST_BLOCKS or _spread_pct(later) >= _QUIETER * reach:
            break
        late, reach = later, _spread_pct(later)
    return int((np.abs(travel - np.median(late)) <= reach).argmax())


def _spread_pct(travel: FloatArray) -> float:
    low, high = np.quantile(travel, _SPREAD)
    return max(_ARRIVED_PCT, float(high - low))


def _command_span(command: FloatArray, channel: Noise) -> float:
    """What the command moved by, without its noise."""
    known = command[np.isfinite(command)]
    if known.size == 0:
        return float("inf")
    parts = np.array_split(known, min(_COMMAND_PARTS, known.size))
    means = np.array([part.mean() for part in parts])
    spread = _COMMAND_DEVIATIONS * channel.deviation * sqrt(len(parts) / known.size)
    return max(0.0, float(np.ptp(means)) - spread)


def _quiet_kind(travel: FloatArray, turns: int, channel: Noise) -> Kind:
    half = max(travel.size // 2, 1)
    drift = abs(float(travel[half:].mean() - travel[:half].mean()))
    if drift > max(_LEAST_SWING_PCT, _DRIFT_DEVIATIONS * channel.deviation * (2.0 / half) ** 0.5):
        return "drift"
    return "noise" if turns or channel.band > 2.0 * _LEAST_SWING_PCT else "at_rest"
