"""Motion with the command at rest: hunting told apart from noise and from stick-slip."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final, Literal

import numpy as np
from scipy.signal import find_peaks

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.terms import noise, sampling

Kind = Literal["at_rest", "hunting", "stick_slip", "noise", "drift"]

REST_COMMAND_PCT: Final = 0.2  # House definition: a command that moves by less is at rest
FEWEST_REVERSALS: Final = 3  # House definition: fewer may be a valve that settles
REGULAR: Final = 0.30  # House definition: coefficient of variation of the half periods
_SAMPLES_OFF: Final = 1.5  # House definition: samples by which a turn that is hardly sampled may be off
_MANY_REVERSALS: Final = 10  # House definition: a valve that turns as often never rests
_LEAST_SWING_PCT: Final = 0.1  # House definition: less wears no valve
_POINTS_A_PERIOD: Final = 40  # House definition: means over less of a period do not flatten its crests by 1 %
_LEAST_SEEN_PCT: Final = 0.05  # House definition: a lesser turn is none
_TURN_SHARE: Final = 0.2  # House definition: of the swing, what a turn stands out by
_CLEAR_OF_NOISE: Final = 50.0  # House definition: what a swing is times the noise of the means taken
_BLOCK_S: Final = 0.25  # House definition: longer means would hide a quick swing
_FEWEST_BLOCKS: Final = 8  # House definition: of samples, or of means over them
_SHORTEST_S: Final = 20.0  # House definition: a shorter rest shows no slow swing
_COMMAND_PARTS: Final = 20  # House definition: parts of a rest whose means show whether the command moved
_COMMAND_DEVIATIONS: Final = 4.0  # House definition: what the means of 20 parts spread over by noise alone
_DRIFT_DEVIATIONS: Final = 6.0  # House definition: halves that differ by more are no noise
_BETWEEN_SHARE: Final = 0.75  # House definition: of the way in a sample, what two turns may lie beyond their samples
_QUIET: Final = "the valve does not hunt"
_PCT: Final = "% of travel"


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


def rest_behaviour(
    recording: Recording, segment: Segment, channels: Channels, *, dead_band_pct: float = 0.0
) -> Stillness | None:
    """Tell what the travel does while the command is at rest.

    Parameters
    ----------
    recording : Recording
    segment : Segment
        A rest.
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
    above the noise, above 0.1 % and above half of the dead band, the half periods of which vary by less than
    30 % (standard deviation over mean) or than 1.5 samples; less regular swings are stick-slip. Ten regular
    reversals are hunting whatever the dead band: a valve that never rests shows none. Turning points are
    those that stand out by more than the noise; the amplitude is the mean swing between them.
    """
    place = recording.place(segment.from_s, segment.to_s)
    usable = np.isfinite(recording.travel_pct[place])
    times, travel = recording.time_s[place][usable], recording.travel_pct[place][usable]
    if (
        times.size < _FEWEST_BLOCKS
        or times[-1] - times[0] < _SHORTEST_S
        or recording.has_gap(segment.from_s, segment.to_s)
    ):
        return None
    if _command_span(recording.command_pct[place], channels.command) >= REST_COMMAND_PCT:
        return None
    times, travel, noise_seen = _blocks(times, travel, channels.quiet_travel, recording.interval_s)
    interval = float(np.median(np.diff(times)))
    turn_s, turn_pct, channel, block_s = _turns(times, travel, noise_seen, interval)
    seen = max(2.0 * noise_seen.band, _LEAST_SEEN_PCT)
    if turn_s.size < FEWEST_REVERSALS:
        kind: Kind = _quiet_kind(travel, turn_s.size, noise_seen)
        return Stillness(segment, kind, _nothing(travel, seen), Quantity(None, _QUIET), 0, turn_s, turn_pct)
    swings, halves = np.abs(np.diff(turn_pct)), np.diff(turn_s)
    amplitude, period = _swing(turn_s, turn_pct, channel, block_s)
    regular = _is_regular(halves, block_s)
    share = 0.0 if regular and turn_s.size >= _MANY_REVERSALS else 0.5 * dead_band_pct
    if swings.mean() <= max(_LEAST_SWING_PCT, share, 2.0 * channel.band):
        return Stillness(segment, "noise", amplitude, Quantity(None, _QUIET), int(turn_s.size), turn_s, turn_pct)
    if not regular:
        period = Quantity(None, "the swings come at no regular interval")
    kind = "hunting" if regular else "stick_slip"
    return Stillness(segment, kind, amplitude, period, int(turn_s.size), turn_s, turn_pct)


def _is_regular(halves: FloatArray, block_s: float) -> bool:
    """Whether half periods agree, the first and the last apart, as well as their sampling lets them."""
    inner = halves[1:-1]
    return inner.size < 2 or float(inner.std()) < max(REGULAR * float(inner.mean()), _SAMPLES_OFF * block_s)


def worst_rest(rests: Sequence[Stillness]) -> Stillness | None:
    """The rest with the greatest swing; of equals, the first.

    Notes
    -----
    **House definition**: a recording is as restless as its worst rest.
    """
    return max(rests, key=lambda each: each.amplitude.value or 0.0, default=None)


def _command_span(command: FloatArray, channel: Noise) -> float:
    """What the command moved by, without its noise."""
    known = command[np.isfinite(command)]
    if known.size == 0:
        return float("inf")
    parts = np.array_split(known, min(_COMMAND_PARTS, known.size))
    means = np.array([part.mean() for part in parts])
    spread = _COMMAND_DEVIATIONS * channel.deviation * sqrt(len(parts) / known.size)
    return max(0.0, float(np.ptp(means)) - spread)


def _blocks(
    times: FloatArray, travel: FloatArray, channel: Noise, interval: float
) -> tuple[FloatArray, FloatArray, Noise]:
    """Means over a quarter of a second at most, where noise would hide a small swing."""
    wanted = (2.0 * channel.band / _LEAST_SEEN_PCT) ** 2
    most = min(_BLOCK_S / interval if interval > 0 else 1, times.size // _FEWEST_BLOCKS)
    width = max(1, int(min(most, np.ceil(wanted))))
    if width == 1:
        return times, travel, channel
    count = times.size // width
    shape = (count, width)
    return (
        times[: count * width].reshape(shape).mean(axis=1),
        travel[: count * width].reshape(shape).mean(axis=1),
        Noise(channel.deviation / width**0.5, channel.quantum),
    )


def _turns(
    times: FloatArray, travel: FloatArray, channel: Noise, interval: float
) -> tuple[FloatArray, FloatArray, Noise, float]:
    """Turning points, found twice: roughly, to learn the period, then in means over a small part of it."""
    rough = _peaks(travel, max(2.0 * channel.band, _LEAST_SEEN_PCT))
    if rough.size < 2:
        return times[rough], travel[rough], channel, interval
    half = float(np.median(np.diff(times[rough])))
    swing = float(np.abs(np.diff(travel[rough])).mean())
    wanted = (_CLEAR_OF_NOISE * channel.deviation / swing) ** 2 if swing > 0 else 1.0
    most = 2.0 * half / _POINTS_A_PERIOD / interval
    width = max(1, int(min(most, np.ceil(wanted))))
    if width == 1:
        return times[rough], travel[rough], channel, interval
    count = times.size // width
    block_s = times[: count * width].reshape(count, width).mean(axis=1)
    block = travel[: count * width].reshape(count, width).mean(axis=1)
    quieter = Noise(channel.deviation / width**0.5, channel.quantum)
    turns = _peaks(block, max(2.0 * quieter.band, _TURN_SHARE * swing))
    return block_s[turns], block[turns], quieter, width * interval


def _peaks(travel: FloatArray, prominence: float) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Crests and troughs that stand out by ``prominence``, alternating, without the ends."""
    crests = find_peaks(travel, prominence=prominence)[0]
    troughs = find_peaks(-travel, prominence=prominence)[0]
    turns = np.sort(np.concatenate((crests, troughs)))
    if turns.size < 2:
        return turns.astype(np.intp)
    is_crest = np.isin(turns, crests)
    kept = [0]
    for place in range(1, turns.size):
        if is_crest[place] != is_crest[kept[-1]]:
            kept.append(place)
        elif (travel[turns[place]] > travel[turns[kept[-1]]]) == is_crest[place]:
            kept[-1] = place
    return turns[kept].astype(np.intp)


def _quiet_kind(travel: FloatArray, turns: int, channel: Noise) -> Kind:
    half = max(travel.size // 2, 1)
    drift = abs(float(travel[half:].mean() - travel[:half].mean()))
    if drift > max(_LEAST_SWING_PCT, _DRIFT_DEVIATIONS * channel.deviation * (2.0 / half) ** 0.5):
        return "drift"
    return "noise" if turns or channel.band > 2.0 * _LEAST_SWING_PCT else "at_rest"


def _nothing(travel: FloatArray, least: float) -> Quantity:
    """No swing: 0, known to within the least one that would have been seen."""
    relies = (Reliance("travel", float(travel.mean()), 1.0, 0), Reliance("travel", float(travel.mean()), -1.0, 0))
    return Quantity(0.0, components=(sampling(least, _PCT, "least swing that would be seen"),), relies_on=relies)


def _swing(turn_s: FloatArray, turn_pct: FloatArray, channel: Noise, block_s: float) -> tuple[Quantity, Quantity]:
    swings, halves = np.abs(np.diff(turn_pct)), np.diff(turn_s)
    amplitude = float(swings.mean())
    speed = 2.0 * amplitude / (2.0 * float(halves.mean()))
    scatter = float(swings.std(ddof=1)) / swings.size**0.5 if swings.size > 1 else 0.0
    top = float(turn_pct.max())
    parts = [sampling(_BETWEEN_SHARE * speed * block_s, _PCT, "travel between the samples at the turns")]
    total = (scatter**2 + 2.0 * channel.deviation**2) ** 0.5
    parts.append(noise(total, _PCT, "travel at the turns"))
    relies = (Reliance("travel", top, 1.0, 0), Reliance("travel", top - amplitude, -1.0, 0))
    period = 2.0 * float(turn_s[-1] - turn_s[0]) / halves.size
    late = 2.0 * (block_s + channel.deviation / speed) / halves.size
    spread = 2.0 * float(halves.std(ddof=1)) / halves.size if halves.size > 1 else 0.0
    times = [sampling(late, "s", "first and last turn"), noise(spread, "s", "turns")]
    first = float(turn_s[0])
    return (
        Quantity(
            amplitude, at_s=first, components=tuple(parts), relies_on=relies, beside={"reversals": float(turn_s.size)}
        ),
        Quantity(period, at_s=first, components=tuple(times), relies_on=(Reliance("time", period, 1.0),)),
    )
