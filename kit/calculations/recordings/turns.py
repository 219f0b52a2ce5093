"""Where a travel that swings turns round: when, and at what height."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np
from scipy.signal import find_peaks
from scipy.special import ndtri

from kit.basis.arrays import BoolArray, FloatArray, IntArray
from kit.calculations.recordings.noise import Noise, jitter_of

LEAST_SEEN_PCT: Final = 0.05  # House definition: a lesser turn is none
_BAND_DEVIATIONS: Final = 5.0  # House definition: normal noise leaves it once in 1.7 million means
_NEARLY_MOST: Final = 0.9  # House definition: of the greatest correlation; the first time is the period
_CLEAR_OF_NOISE: Final = 50.0  # House definition: what a swing is times the noise of the means taken
_POINTS_A_PERIOD: Final = 40  # House definition: means over less of a period do not flatten its crests by 1 %
_NOISE_KNOWN_TO: Final = 0.35  # House definition: of the noise in means, what is left of it in every height alike
_OF_A_TIP: Final = 3.0  # House definition: of the samples near a corner, one in three makes its extreme
_SLOPE: Final = 0.4  # House definition: of the deviation, what the slopes beside a corner take from its extreme
_LEAST_UNSURE: Final = 0.25  # House definition: of the way from a flat crest to a corner, what nobody knows for sure
_OF_A_SAMPLE: Final = 0.15  # House definition: of the way in a sample, what a turn may lie beyond its samples unseen
_MEDIAN_OF_NOISE: Final = 0.5  # House definition: median of second differences over 4; 0.41 deviations by noise alone
_FEWEST_CHANGES: Final = 64  # House definition: fewer tell no period
_EXTREME_OF_HUM: Final = 0.87  # root 2 over 4 / root 6: of a sine, whose second differences look like noise's at most
_HUM_LAGS: Final = (1, 2, 3)  # House definition: in samples
_LAGS_A_HALF: Final = 10.0  # House definition: of the time between turns, so that few second differences hold a corner
_OF_WHITE: Final = 0.7  # House definition: of the noise, the least of three estimates of white noise
_SPANS: Final = 8  # House definition: of as many means in a row, that show their own noise
_LEAST_CHANGE_PCT: Final = 0.03  # House definition: root mean square of changes that make a swing of 0.1 %
_FALLEN: Final = 0.2  # House definition: correlation below which changes no longer belong to one motion
_REPEATS: Final = 0.5  # House definition: correlation above which changes repeat
_OF_NOISE: Final = 6.0  # House definition: times the root of their number, what the changes of noise correlate by
_TIMES: Final = 3  # House definition: what lies near a crest is counted from the crest less its noise, which that tells
_NEAR_DEVIATIONS: Final = 3.0  # House definition: of the means, what lies this near a crest may be the crest
_OF_DIFFERENCE: Final = 0.56  # mean of half the magnitude of a difference of two normal values, root of 1 / pi
_OF_LOSS: Final = 3.0  # a mean over W lies W/4 of its slope below a corner, its neighbour W off another 3 W/4


@dataclass(frozen=True, slots=True, eq=False)
class Turns:
    """Turning points of a travel, crests and troughs in turn."""

    at: IntArray  # (k,) samples
    at_s: FloatArray  # (k,) [s]
    height_pct: FloatArray  # (k,) travel there [% of travel], as far as noise and sampling are known
    is_crest: BoolArray  # (k,)
    cut_pct: float  # a turn's height is off by up to this between samples and by means, the same for all
    noise_pct: float  # standard deviation of the heights' common part by noise and the converter's step
    middle_s: FloatArray  # (k - 1,) when the travel is half-way from each turn to the next [s]

    def __len__(self) -> int:
        return int(self.at.size)

    @property
    def swings_pct(self) -> FloatArray:
        """Peak to peak, from each turn to the next."""
        return np.abs(np.diff(self.height_pct))

    def kept(self, first: int, last: int) -> Turns:
        """The turns ``first`` to ``last``, both included."""
        one = slice(first, last + 1)
        middle = self.middle_s[first:last]
        return Turns(
            self.at[one],
            self.at_s[one],
            self.height_pct[one],
            self.is_crest[one],
            self.cut_pct,
            self.noise_pct,
            middle,
        )


def least_seen_pct(noise: Noise, width: int) -> float:
    """The least swing [% of travel] that stands out of the noise of means of ``width`` samples.

    Notes
    -----
    House definition: twice five standard deviations, and 0.05 %.
    """
    return max(2.0 * _BAND_DEVIATIONS * noise.of_mean(width), LEAST_SEEN_PCT)


def turns_of(
    times: FloatArray, travel: FloatArray, noise: Noise, width: int, *, least_pct: float | None = None
) -> Turns:
    """Turning points of a travel that stand out of the noise of means of ``width`` samples.

    Parameters
    ----------
    times, travel : array, shape (n,)
        Time [s] and travel [% of travel], finite.
    noise : Noise
        Of the travel.
    width : int
        Samples in each mean.
    least_pct : float or None
        What a turn stands out by [% of travel]; None: what noise does not.

    Notes
    -----
    **House definition**: looked for in the means, then placed in running means short against the swing. A height is
    that of a corner where as many samples lie near the extreme as the slopes beside it let, the mean of those where
    three times as many do, and else between; a corner is the extreme less what noise makes of it (Blom's
    approximation). What may be missing between samples and by averaging, half the difference of the two neighbours
    and a third of the nearer, is added by half. Where noise may be hum, whose extreme is less, what the two differ
    by is left open.
    """
    count = travel.size // width
    means = travel[: count * width].reshape(count, width).mean(axis=1) if width > 1 else travel
    rough, is_crest = _alternating(means, least_seen_pct(noise, width) if least_pct is None else least_pct)
    at = np.minimum(rough * width + width // 2, travel.size - 1)
    if at.size < 2:
        nothing = np.empty(0)
        return Turns(at, times[at], travel[at], is_crest, 0.0, noise.of_mean(width), nothing)
    return _placed(times, travel, noise, at, is_crest, width)


def hidden_period_s(travel: FloatArray, interval_s: float) -> float:
    """Period [s] of a swing that looks like noise because it goes through few samples; 0: there is none.

    Parameters
    ----------
    travel : array, shape (n,)
        At rest [% of travel], finite.
    interval_s : float
        Sampling interval [s].

    Notes
    -----
    **House definition**: the changes from sample to sample repeat after that time with a correlation of more than 0.5,
    having fallen below 0.2 before; those of noise do so with 6 over the root of their number at most. Changes that
    make up less than 0.1 % of swing do not count, nor do those that bring the travel forward each time, as pulses do.
    """
    changes = np.diff(travel)
    if changes.size < _FEWEST_CHANGES or interval_s <= 0:
        return 0.0
    changes = changes - changes.mean()
    size = 2 ** int(np.ceil(np.log2(2 * changes.size)))
    power = np.abs(np.fft.rfft(changes, size)) ** 2
    again = np.fft.irfft(power, size)[: changes.size // 4]
    if again[0] <= changes.size * _LEAST_CHANGE_PCT**2:
        return 0.0
    again = again / again[0]
    low = np.flatnonzero(again < _FALLEN)
    if low.size == 0 or low[0] + 1 >= again.size:
        return 0.0
    later = again[low[0] :]
    lag = int(low[0]) + int((later >= _NEARLY_MOST * later.max()).argmax())
    repeats = again[lag] > max(_REPEATS, _OF_NOISE / changes.size**0.5)
    return interval_s * lag if repeats and not _goes_on(travel, lag) else 0.0


def _goes_on(travel: FloatArray, lag: int) -> bool:
    """Whether the travel is elsewhere after each period, as one that goes by pulses is.

    Over a period a pulse brings the travel forward by its size, the square of which is no less than that of all
    changes in it; a swing comes back.
    """
    forward = float(np.mean((travel[lag:] - travel[:-lag]) ** 2))
    return forward > lag * float(np.mean(np.diff(travel) ** 2))


def _alternating(values: FloatArray, prominence: float) -> tuple[IntArray, BoolArray]:
    """Crests and troughs that stand out by ``prominence``, in turn, without the ends."""
    crests = find_peaks(values, prominence=prominence)[0]
    troughs = find_peaks(-values, prominence=prominence)[0]
    order = np.argsort(np.concatenate((crests, troughs)), kind="stable")
    places = np.concatenate((crests, troughs))[order].astype(np.intp)
    is_crest = np.concatenate((np.ones(crests.size, bool), np.zeros(troughs.size, bool)))[order]
    if places.size < 2:
        return places, is_crest
    # of neighbours of one kind the farthest out stays
    group = np.concatenate(([0], np.cumsum(is_crest[1:] != is_crest[:-1])))
    outward = np.where(is_crest, values[places], -values[places])
    ranked = np.lexsort((places, -outward, group))
    kept = np.sort(ranked[np.concatenate(([True], np.diff(group[ranked]) > 0))])
    return places[kept], is_crest[kept]


def _placed(
    times: FloatArray, travel: FloatArray, noise: Noise, at: IntArray, is_crest: BoolArray, found_in: int
) -> Turns:
    """Turns in running means that are short against the swing, but no shorter than those they were found in."""
    swing = float(np.abs(np.diff(travel[at])).mean())
    half = float(np.median(np.diff(at)))
    wanted = (_CLEAR_OF_NOISE * noise.deviation / swing) ** 2 if swing > 0 else 1.0
    width = max(1, int(min(2.0 * half / _POINTS_A_PERIOD, max(np.ceil(wanted), found_in))))
    smooth = _running(travel, width)
    deviation = _deviation_seen(smooth[at[0] : at[-1] + 1], width, noise)
    bounds = np.concatenate(([max(0, at[0] - (at[1] - at[0]))], (at[1:] + at[:-1]) // 2))
    end = min(travel.size, int(at[-1] + (at[-1] - at[-2])) + 1)
    lengths = np.diff([*bounds, end])
    outward = np.where(np.repeat(is_crest, lengths), 1.0, -1.0) * smooth[bounds[0] : end]
    starts = bounds - bounds[0]
    top = np.maximum.reduceat(outward, starts)
    level = np.repeat(top, lengths)
    bias, flat, count = np.zeros(top.size), top, np.ones(top.size)
    for _ in range(_TIMES):
        near = outward >= np.repeat(top - bias, lengths) - _NEAR_DEVIATIONS * deviation
        count = np.add.reduceat(near.astype(float), starts)
        flat = np.add.reduceat(np.where(near, outward, 0.0), starts) / count
        bias = deviation * _greatest_of(np.maximum(count / width, 1.0))
    peaks = np.flatnonzero(outward == level)
    _, first = np.unique(np.searchsorted(starts, peaks, side="right"), return_index=True)
    at = bounds[0] + peaks[first]
    a_sample = _a_sample(smooth, at)
    at_a_tip = 2.0 * _NEAR_DEVIATIONS * deviation / a_sample if a_sample > 0 else 0.0
    tip = top - deviation * max(float(_greatest_of(np.array(max(at_a_tip / width / _OF_A_TIP, 1.0)))) - _SLOPE, 0.0)
    is_tip = np.clip(1.5 * at_a_tip / count - 0.5, 0.0, 1.0)
    between = _between(smooth, at, width, deviation)
    height = np.where(is_crest, 1.0, -1.0) * (is_tip * tip + (1.0 - is_tip) * flat + 0.5 * between)
    unsure = float((np.abs(tip - flat) * np.maximum(np.minimum(is_tip, 1.0 - is_tip), _LEAST_UNSURE)).mean())
    beyond = max(0.5 * between, _OF_A_SAMPLE * a_sample / float(count.mean()))
    inner = travel[at[0] : at[-1]]
    of_shape = 0.0 if _is_white(inner, noise, half) else float(np.abs(bias - _EXTREME_OF_HUM * deviation).mean())
    either = unsure + beyond + of_shape + _ripple(inner, noise) / width
    common = (noise.of_mean(travel.size) ** 2 + (_NOISE_KNOWN_TO * deviation) ** 2) ** 0.5
    return Turns(at, times[at], height, is_crest, either, common, _middles(times, smooth, at, height))


def _deviation_seen(smooth: FloatArray, width: int, noise: Noise) -> float:
    """Standard deviation of means by noise: no more than they show, since hum that is averaged away is in the noise."""
    if smooth.size < max(_FEWEST_CHANGES, _SPANS * width):
        return noise.of_mean(width)
    seen = jitter_of(smooth, width)
    slow = noise.of_step**2 + noise.wander**2 + noise.hum**2 / 2.0
    return min(noise.of_mean(width), sqrt(seen**2 + slow))


def _a_sample(smooth: FloatArray, at: IntArray) -> float:
    """What the travel moves in a sample half-way between turns: half of the swing over what is found there."""
    inner = smooth[at[0] : at[-1]]
    length = np.diff(at)
    half_way = np.repeat(0.5 * (smooth[at[1:]] + smooth[at[:-1]]), length)
    swing = np.repeat(np.abs(smooth[at[1:]] - smooth[at[:-1]]), length)
    found = int(np.count_nonzero(np.abs(inner - half_way) < 0.25 * swing))
    return 0.5 * float(swing.mean()) / max(found / length.size, 1.0)


def _is_white(travel: FloatArray, noise: Noise, half: float) -> bool:
    """Whether the noise is shown to be no hum: it is the same over each of three lags, none of which the swing fills.

    A sine of few samples is next to nothing over one of them. ``half``: samples from turn to turn.
    """
    if travel.size < _FEWEST_CHANGES or half < _LAGS_A_HALF * _HUM_LAGS[-1]:
        return False
    return min(jitter_of(travel, lag) for lag in _HUM_LAGS) >= _OF_WHITE * noise.deviation


def _ripple(travel: FloatArray, noise: Noise) -> float:
    """Amplitude of what turns at every sample beyond noise, as hum at half the sampling rate does [% of travel]."""
    if travel.size < _FEWEST_CHANGES:
        return 0.0
    return max(0.0, float(np.median(np.abs(np.diff(travel, 2)))) / 4.0 - _MEDIAN_OF_NOISE * noise.deviation)


def _running(values: FloatArray, width: int) -> FloatArray:
    """Running means of ``width`` samples; shorter at the ends."""
    if width == 1:
        return values
    total = np.concatenate(([0.0], np.cumsum(values - values[0])))
    place = np.arange(values.size)
    low, high = np.maximum(place - width // 2, 0), np.minimum(place - width // 2 + width, values.size)
    means: FloatArray = values[0] + (total[high] - total[low]) / (high - low)
    return means


def _greatest_of(count: FloatArray) -> FloatArray:
    """Mean of the greatest of ``count`` standard normal values: Blom, Statistical estimates, 1958, from memory."""
    found: FloatArray = ndtri((count - 0.375) / (count + 0.25))
    return np.maximum(found, 0.0)


def _between(smooth: FloatArray, at: IntArray, width: int, deviation: float) -> float:
    """Mean of what is missing at corners, between samples and in means [% of travel]."""
    before = np.abs(smooth[at] - smooth[np.maximum(at - width, 0)])
    after = np.abs(smooth[at] - smooth[np.minimum(at + width, smooth.size - 1)])
    offset = 0.5 * float(np.abs(before - after).mean())
    flattened = float(np.minimum(before, after).mean()) / _OF_LOSS if width > 1 else 0.0
    return max(0.0, offset + flattened - _OF_DIFFERENCE * deviation)


def _middles(times: FloatArray, smooth: FloatArray, at: IntArray, height: FloatArray) -> FloatArray:
    """When the travel is half-way from each turn to the next: by the count of samples on the near side."""
    half_way = 0.5 * (height[1:] + height[:-1])
    rises = height[1:] > height[:-1]
    length = np.diff(at)
    inner = smooth[at[0] : at[-1]]
    near_side = (inner < np.repeat(half_way, length)) == np.repeat(rises, length)
    count = np.add.reduceat(near_side.astype(float), at[:-1] - at[0])
    middles: FloatArray = np.interp(at[:-1] + count - 0.5, np.arange(times.size), times)
    return middles
