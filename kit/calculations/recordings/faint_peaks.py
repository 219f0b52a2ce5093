"""A travel beyond its end that no single sample shows: by means of samples, and what could be hidden all the same."""

from __future__ import annotations

from math import log, sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.peaks import Peak

_CLEAR: Final = 1.6  # House definition: of the noise's band; a higher peak is looked at sample by sample
_REACHES: Final = (1, 2, 3, 4, 6, 8, 11, 16, 23, 32, 45, 64, 90, 128, 181, 256)  # House definition: samples to a side
_APART: Final = 2.5  # House definition: deviations within which what more samples tell must lie of what fewer told
_BENT: Final = 2.0  # House definition: deviations beyond which the samples about a peak are bent
_OF_PICKED: Final = 2.5  # House definition: a peak is picked for its height, and its samples for their agreement
_BEYOND_CHANCE: Final = 1.5  # House definition: deviations beyond the greatest that noise is expected to make
_HIDES: Final = 3.0  # House definition: deviations of a mean within which a peak is hidden
_LONGEST: Final = 0.1  # House definition: of the samples, over which noise is averaged to see a peak
_TINY: Final = 1e-9  # House definition: what rounding makes
_FEWEST: Final = 3  # a parabola goes through three samples
_FAR: Final = 4.0  # House definition: bands of the noise before the end, from where the speed of the arrival is taken
_OF_SPEED: Final = 4.0  # a parabola that is left as it is entered is as high as a quarter of speed times duration


def faint_peak(time_s: FloatArray, height: FloatArray, channel: Noise) -> Peak | None:
    """Farthest point of a travel that hardly leaves the noise beyond its end; None: single samples show it.

    Parameters
    ----------
    time_s, height : array, shape (n,)
        Samples [s] and how far beyond the end they lie; without nan.
    channel : Noise
        Noise of the height.

    Notes
    -----
    **House definition**: a peak no higher than 1.6 times the band of the noise is looked for in means over as few
    samples as show it, two standard deviations beyond what noise makes of so many means. It is as high as the parabola
    through the samples about it, or their mean where they are not bent, over as many as agree with what fewer tell.
    Where no mean shows one it is 0, and what may be hidden all the same is its half width: what the speed of the
    arrival could carry the travel beyond its end and back, within the rest of one interval, or within as many
    samples as noise hides.
    """
    if float(height.max()) > _CLEAR * channel.band:
        return None
    place = _seen(height, channel)
    if place is None:
        return Peak(0.0, 0.0, _hidden(time_s, height, channel))
    speed = _arrival(time_s, height, channel)[0]
    found, at_s = _agreed(time_s, height, place, channel, speed)
    nearest = int(np.abs(time_s - at_s).argmin())
    return found if nearest == place else _agreed(time_s, height, nearest, channel, speed)[0]


def _seen(height: FloatArray, channel: Noise) -> int | None:
    """Where the travel stands highest, over as few samples as bring it out of the noise."""
    total = np.cumsum(np.concatenate(([0.0], height)))
    for reach in (0, *_REACHES):
        width = 2 * reach + 1
        if reach > 0 and width > _LONGEST * height.size:
            break
        means = (total[width:] - total[:-width]) / width
        top = int(means.argmax())
        if float(means[top]) > channel.of_mean(width) * _chance(height.size / width):
            return top + reach
    return None


def _chance(means: float) -> float:
    """How many deviations beyond 0 one of so many means must lie to be more than chance."""
    return sqrt(2.0 * log(max(means, 2.0))) + _BEYOND_CHANCE


def _agreed(time_s: FloatArray, height: FloatArray, place: int, channel: Noise, speed: float) -> tuple[Peak, float]:
    """The top from as many samples about a place as agree with what fewer of them tell, and when it is [s].

    No more than a parabola that is entered at a speed has time for: a mean of more would flatten a short peak.
    """
    found, used, at_s = Peak(float(height[place]), channel.of_mean(1), 0.0), 1, float(time_s[place])
    low, high = -np.inf, np.inf
    for reach in _REACHES:
        near = slice(max(place - reach, 0), min(place + reach + 1, height.size))
        if near.stop - near.start <= used or near.stop - near.start < _FEWEST:
            break
        lasts_s = float(time_s[near.stop - 1] - time_s[near.start])
        if used > 1 and speed * lasts_s > _OF_SPEED * max(high, channel.deviation):
            break
        top, deviation, away_s = _top(time_s[near] - time_s[place], height[near], channel)
        low, high = max(low, top - _APART * deviation), min(high, top + _APART * deviation)
        if low > high:
            break
        found, used, at_s = (
            Peak(top, _OF_PICKED * deviation, 0.0),
            near.stop - near.start,
            float(time_s[place]) + away_s,
        )
    return found, at_s


def _top(times: FloatArray, heights: FloatArray, channel: Noise) -> tuple[float, float, float]:
    """Top of the parabola through samples, or their mean where they are not clearly bent; its deviation; when."""
    count = times.size
    of_mean = channel.of_mean(count)
    scale = float(np.abs(times).max())
    design = np.stack([np.ones(count), times / scale, (times / scale) ** 2], axis=1)
    inverse = np.linalg.inv(design.T @ design)
    curve = inverse @ (design.T @ heights)
    sample = of_mean * sqrt(count)
    if curve[2] >= -_BENT * sample * sqrt(float(inverse[2, 2])):
        return float(heights.mean()), of_mean, 0.0
    vertex = min(max(-curve[1] / (2.0 * curve[2]), float(times[0]) / scale), float(times[-1]) / scale)
    row = np.array([1.0, vertex, vertex**2])
    return float(row @ curve), sample * sqrt(float(row @ inverse @ row)), vertex * scale


def _hidden(time_s: FloatArray, height: FloatArray, channel: Noise) -> float:
    """How far a travel may have gone beyond its end under the noise, for the speed at which it came there."""
    by_noise = _HIDES * channel.of_mean(max(round(_LONGEST * height.size), 1))
    speed, interval = _arrival(time_s, height, channel)
    hides = _chance(float(height.size))
    averaged = float((hides * channel.deviation * sqrt(speed * interval / _OF_SPEED)) ** (2.0 / 3.0))
    return max(averaged, by_noise)


def between_samples(time_s: FloatArray, height: FloatArray, channel: Noise) -> float:
    """How far a travel may have gone beyond its end between two samples, for the speed at which it came there.

    Parameters
    ----------
    time_s, height : array, shape (n,)
        Samples [s] and how far beyond the end they lie; without nan.
    channel : Noise
        Noise of the height.

    Notes
    -----
    **House definition**: three samples in a row beyond the noise show how far it went, and nothing is left. Else a
    parabola that is left as it is entered has its whole way between two samples, from where the travel would have
    come to its end; or from a sample beyond it, within one interval.
    """
    beyond = height > max(channel.band, _TINY)
    if (beyond[:-2] & beyond[1:-1] & beyond[2:]).any():
        return 0.0
    speed, interval = _arrival(time_s, height, channel)
    if speed <= 0.0:
        return 0.0
    if beyond.any():
        return speed * interval / _OF_SPEED
    last = int((height >= -channel.band).argmax())
    rest = max(interval + min(float(height[last - 1]), 0.0) / speed, 0.0)
    return speed * rest / _OF_SPEED


def _arrival(time_s: FloatArray, height: FloatArray, channel: Noise) -> tuple[float, float]:
    """The speed at which a travel came to its end, and the interval in which it did; 0 where it began there."""
    last = int((height >= -channel.band).argmax())
    if last == 0:
        return 0.0, 0.0
    far = np.flatnonzero(height[:last] < -_FAR * channel.band)
    first = int(far[-1]) if far.size else 0
    mean = float(height[last] - height[first]) / float(time_s[last] - time_s[first])
    near = slice(max(last - _FEWEST, 0), last + 1)
    intervals = np.diff(time_s[near])
    steepest = float(((np.diff(height[near]) - channel.band) / intervals).max())
    return max(mean, steepest, 0.0), float(intervals[-1])
