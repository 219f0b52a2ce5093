"""Single bad samples of a recording: found once, and left out before anything is drawn from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.basis.recording import Recording, extents
from kit.calculations.recordings.noise import jitter_of

Channel = Literal["command", "travel", "feedback", "supply"]

_LONGEST_S: Final = 0.05  # House definition: no motor goes and comes back in twice that
_FEWEST_LONG: Final = 2  # House definition: samples that a bad reading may last where they are farther apart
_LEAST_COMMAND_PCT: Final = 1.0  # House definition: of range; shallower ones move no hold
_LEAST_TRAVEL_PCT: Final = 0.5  # House definition: of travel; shallower ones move no figure
_LEAST_SUPPLY_V: Final = 2.0  # House definition: shallower ones move no dip
_DEVIATIONS: Final = 12.0  # House definition: of the noise, what no sample of it and no jump between two reaches
_BACK: Final = 0.35  # House definition: of its depth, how far a bad sample may leave the channel from where it was
_OF_SPEED: Final = 2.0  # House definition: times the fastest motion that stayed, what no valve does there and back
_FASTEST_PCT_PER_S: Final = 200.0  # House definition: a full stroke in half a second, where no stroke was recorded
_FULL_SPEED_PCT: Final = 5.0  # House definition: a change of the command that a motor answers at its full speed
_FULL_SPEED_S: Final = 1.0  # House definition: within which it is made
_FULL_RANGE_PCT: Final = 50.0  # House definition: travel that shows it where no command was recorded
_LOOKED_AT: Final = 40  # House definition: the fastest jumps of a channel that are looked at
_STAYS: Final = 5  # House definition: samples before and after a jump whose medians tell whether it stayed
_ABOUT: Final = (
    (0, 0),
    (0, 1),
    (0, 2),
    (1, 0),
    (2, 0),
)  # House definition: samples beside a jump, two of them bad
_BEYOND_PCT: Final = 1000.0  # House definition: in magnitude, what stands for no reading at all
_BEYOND_V: Final = 2000.0  # House definition: likewise
_ANSWER_S: Final = 3.0  # House definition: a valve that answers a pulse does so within it
_ANSWER_PCT: Final = 0.2  # House definition: of travel, what an answer is at least
_LOSS_S: Final = 2.0  # House definition: interruptions as near to a loss of signal belong to it
_MOST_SHARE: Final = 0.005  # House definition: of the samples; more are no single bad ones
_MOST: Final = 5  # House definition: bad samples in however short a recording
_LEAST: Final[dict[Channel, float]] = {
    "command": _LEAST_COMMAND_PCT,
    "travel": _LEAST_TRAVEL_PCT,
    "feedback": _LEAST_TRAVEL_PCT,
    "supply": _LEAST_SUPPLY_V,
}


@dataclass(frozen=True, slots=True, eq=False)
class Spikes:
    """Bad samples of one channel."""

    channel: Channel
    at_s: FloatArray  # (k,) times of the samples [s]
    depth: float  # the greatest distance from the samples about it [% of range, or V]
    left_out: bool = True  # False: so many that they are no single bad samples; nothing was left out


def spikes_in(recording: Recording) -> tuple[Spikes, ...]:
    """Bad samples of every channel, in the order command, travel, feedback, supply.

    Parameters
    ----------
    recording : Recording

    Returns
    -------
    tuple of Spikes
        A channel without any has none.

    Notes
    -----
    **House definition**: a bad sample jumps away from the one before it and comes straight back, within two samples or
    0.05 s, to within 0.35 of its depth of where the channel was; it lies beyond 12 standard deviations of the noise. A
    travel is only doubted where the jump is more than twice as quick as the fastest motion that stayed, a step of the
    command having shown that the motor went at its full speed, or else than a full stroke in half a second: on a fast
    valve sampled slowly nothing is. A pulse of the command that the travel answers is one, and interruptions
    within 2 s of a loss of signal belong to it. Feedback in motion is left as it is, since bad spots of a
    track look like that. Values beyond 1000 % (2000 V) stand for no reading. More than 5 bad samples, and more than
    0.5 % of all, are none.

    Examples
    --------
    >>> travel = np.where(np.arange(600) == 300, 90.0, 20.0)
    >>> [(each.channel, each.at_s.tolist(), each.depth)
    ...  for each in spikes_in(Recording(0.1 * np.arange(600), np.full(600, 20.0), travel))]
    [('travel', [30.0], 70.0)]
    """
    command = _command_spikes(recording)
    found = [_told(recording, "command", recording.command_pct, command)]
    known = replace(recording, command_pct=np.where(command, np.nan, recording.command_pct))
    travel = _spikes(known, recording.travel_pct, "travel")
    found.append(_told(recording, "travel", recording.travel_pct, travel))
    moves = _moves(recording, travel)
    if recording.feedback_pct is not None and not recording.travel_is_feedback:
        bad = _spikes(known, recording.feedback_pct, "feedback") & ~moves
        bad |= _beyond(recording.feedback_pct, "feedback")
        found.append(_told(recording, "feedback", recording.feedback_pct, bad))
    if recording.supply_v is not None:
        bad = _spikes(known, recording.supply_v, "supply") & ~moves | _beyond(recording.supply_v, "supply")
        found.append(_told(recording, "supply", recording.supply_v, bad))
    return tuple(each for each in found if each.at_s.size)


def without_spikes(recording: Recording, spikes: tuple[Spikes, ...]) -> Recording:
    """The recording with nan in the place of every bad sample that is to be left out.

    Parameters
    ----------
    recording : Recording
    spikes : tuple of Spikes
        As :func:`spikes_in` gives them.

    Notes
    -----
    **House definition**: the signal is not lost where its sample was bad. Where the travel is taken from the feedback,
    the feedback keeps its samples.
    """
    bad = {each.channel: np.isin(recording.time_s, each.at_s) for each in spikes if each.left_out}
    if not bad:
        return recording
    lost = recording.signal_lost
    if lost is not None and "command" in bad:
        lost = lost & ~bad["command"]
    return replace(
        recording,
        command_pct=_masked(recording.command_pct, bad.get("command")),
        travel_pct=_masked(recording.travel_pct, bad.get("travel")),
        position_pct=None if recording.position_pct is None else _masked(recording.position_pct, bad.get("travel")),
        feedback_pct=None if recording.feedback_pct is None else _masked(recording.feedback_pct, bad.get("feedback")),
        supply_v=None if recording.supply_v is None else _masked(recording.supply_v, bad.get("supply")),
        signal_lost=lost,
    )


def _masked(channel: FloatArray, bad: BoolArray | None) -> FloatArray:
    return channel if bad is None else np.where(bad, np.nan, channel)


def _told(recording: Recording, channel: Channel, values: FloatArray, bad: BoolArray) -> Spikes:
    places = np.flatnonzero(bad)
    if places.size == 0:
        return Spikes(channel, np.empty(0), 0.0)
    good = np.flatnonzero(np.isfinite(values) & ~bad)
    level = np.interp(places, good, values[good]) if good.size else np.zeros(places.size)
    depth = float(np.abs(values[places] - level).max())
    few = places.size <= max(_MOST, _MOST_SHARE * len(recording))
    return Spikes(channel, recording.time_s[places], depth, left_out=few)


def _beyond(values: FloatArray, channel: Channel) -> BoolArray:
    with np.errstate(invalid="ignore"):
        beyond: BoolArray = np.abs(values) > (_BEYOND_V if channel == "supply" else _BEYOND_PCT)
    return beyond


def _spikes(recording: Recording, values: FloatArray, channel: Channel) -> BoolArray:
    """Samples of a channel that jump away and come straight back, shape (n,)."""
    bad = _beyond(values, channel)
    kept = np.flatnonzero(np.isfinite(values) & ~bad)
    times, known = recording.time_s[kept], values[kept]
    jumps = np.diff(known)
    if jumps.size < _FEWEST_LONG or not (np.abs(jumps) > _LEAST[channel]).any():
        return bad
    interval = recording.interval_s
    least = max(_LEAST[channel], _DEVIATIONS * jitter_of(known))
    longest = max(_FEWEST_LONG, int(_LONGEST_S / interval)) if interval > 0.0 else _FEWEST_LONG
    starts, lengths, depths = _there_and_back(times, known, jumps, least, (longest + 1.5) * interval, longest)
    if channel in ("travel", "feedback") and starts.size:
        quick = depths > _OF_SPEED * _fastest(recording, known, jumps, (starts, lengths), interval)
        starts, lengths = starts[quick], lengths[quick]
    for start, length in zip(starts.tolist(), lengths.tolist(), strict=True):
        bad[kept[start + 1 : start + 1 + length]] = True
    return bad


def _there_and_back(
    times: FloatArray, known: FloatArray, jumps: FloatArray, least: float, longest_s: float, longest: int
) -> tuple[IntArray, IntArray, FloatArray]:
    """The samples before each excursion, its number of samples, and its depth: the lesser of its two jumps."""
    big = np.flatnonzero(np.abs(jumps) > least)
    starts, lengths, depths = [np.empty(0, dtype=np.intp)], [np.empty(0, dtype=np.intp)], [np.empty(0)]
    for length in range(1, longest + 1):
        from_place = big[big + length < jumps.size]
        away, back = jumps[from_place], jumps[from_place + length]
        depth = np.minimum(np.abs(away), np.abs(back))
        left = np.abs(known[from_place + length + 1] - known[from_place])
        took = times[from_place + length + 1] - times[from_place]
        found = (away * back < 0.0) & (depth > least) & (left <= _BACK * depth) & (took <= longest_s)
        starts.append(from_place[found])
        lengths.append(np.full(int(found.sum()), length, dtype=np.intp))
        depths.append(depth[found])
    return np.concatenate(starts), np.concatenate(lengths), np.concatenate(depths)


def _fastest(
    recording: Recording, known: FloatArray, jumps: FloatArray, excursions: tuple[IntArray, IntArray], interval: float
) -> float:
    """The fastest motion of a channel that stayed, in a sampling interval."""
    if not _shows_full_speed(recording, known):
        return _FASTEST_PCT_PER_S * interval
    own = np.ones(jumps.size, dtype=bool)
    for start, length in zip(*(each.tolist() for each in excursions), strict=True):
        own[start : start + length + 1] = False
    alone = np.flatnonzero(own)
    fastest = 0.0
    for place in alone[np.argsort(np.abs(jumps[alone]))[::-1][:_LOOKED_AT]].tolist():
        fastest = max(fastest, _stayed(known, place))
    return fastest


def _stayed(known: FloatArray, place: int) -> float:
    """What of a jump stayed: the least of itself, what it came to since two samples before or after, and of medians."""
    before, after = known[max(place - _STAYS + 1, 0) : place + 1], known[place + 1 : place + 1 + _STAYS]
    ends = [(place - back, place + 1 + on) for back, on in _ABOUT if place >= back and place + 1 + on < known.size]
    least = min(abs(float(known[last] - known[first])) for first, last in ends)
    return min(least, abs(float(np.median(after) - np.median(before))))


def _shows_full_speed(recording: Recording, known: FloatArray) -> bool:
    """Whether the motor was asked to go as fast as it can."""
    if not recording.has_command:
        return float(np.ptp(known)) >= _FULL_RANGE_PCT
    command = recording.command_pct[np.isfinite(recording.command_pct)]
    lag = max(1, round(_FULL_SPEED_S / recording.interval_s))
    return bool((np.abs(command[lag:] - command[:-lag]) >= _FULL_SPEED_PCT).any())


def _command_spikes(recording: Recording) -> BoolArray:
    """Bad samples of the command that the travel does not answer and that belong to no loss of signal."""
    bad = _spikes(recording, recording.command_pct, "command")
    if not bad.any():
        return bad
    lost, times = recording.signal_lost, recording.time_s
    longest = max(_FEWEST_LONG, int(_LONGEST_S / recording.interval_s)) if recording.interval_s > 0.0 else _FEWEST_LONG
    losses = [] if lost is None else [run for run in extents(lost) if run[1] - run[0] + 1 > longest]
    for first, last in extents(bad):
        near = any(
            times[start] - _LOSS_S <= times[last] and times[first] <= times[end] + _LOSS_S for start, end in losses
        )
        if near or _is_answered(recording, first, last):
            bad[first : last + 1] = False
    return bad | _beyond(recording.command_pct, "command")


def _is_answered(recording: Recording, first: int, last: int) -> bool:
    """Whether a valve that was at rest moves after a pulse of the command, before the command goes elsewhere."""
    times, travel = recording.time_s, recording.travel_pct
    before = travel[recording.place(float(times[first]) - _ANSWER_S, float(times[max(first - 1, 0)]))]
    until = recording.place(float(times[first]), float(times[last]) + _ANSWER_S)
    later = recording.command_pct[last + 1 : until.stop]
    with np.errstate(invalid="ignore"):
        elsewhere = np.flatnonzero(np.abs(later - later[:1]) > _LEAST_COMMAND_PCT)
    after = travel[first : last + 1 + int(elsewhere[0]) if elsewhere.size else until.stop]
    before, after = before[np.isfinite(before)], after[np.isfinite(after)]
    if min(before.size, after.size) < 2:
        return False
    rested = float(np.quantile(before, 0.9) - np.quantile(before, 0.1))
    moved = float(np.abs(np.quantile(after, (0.1, 0.5, 0.9)) - np.median(before)).max())
    return moved > max(_ANSWER_PCT, 2.0 * rested)


def _moves(recording: Recording, bad: BoolArray) -> BoolArray:
    """Where the travel moves by more than its noise within three samples to either side, shape (n,)."""
    travel = np.where(bad, np.nan, recording.travel_pct)
    kept = np.flatnonzero(np.isfinite(travel))
    moves = np.zeros(travel.size, dtype=bool)
    reach = 2 * _STAYS
    if kept.size <= reach:
        return moves
    known = travel[kept]
    far = np.abs(known[reach:] - known[:-reach]) > max(_ANSWER_PCT, _DEVIATIONS * jitter_of(known))
    for first, last in extents(far):
        moves[kept[first] : kept[last + reach] + 1] = True
    return moves
