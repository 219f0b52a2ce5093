"""Times between samples: when a channel crosses a level, or comes to stay in a band."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.lines import line_through
from kit.calculations.recordings.noise import Noise

_CUBIC_POINTS: Final = 4  # a cubic goes through four points
_BEND: Final = 0.35  # House definition: how far a curve's steps may leave a geometric series, as a natural logarithm
_APART_SHARE: Final = 0.75  # House definition: of the time a channel may have stood; most stood at one end of it
_UNIFORM: Final = 12.0**-0.5  # of an interval, the standard deviation of any time in it (JCGM 100:2008, 4.3.7)
_MISFIT_DEVIATIONS: Final = 2.0  # House definition: samples farther off their line, rms, lie on none
_MISFIT_STEPS: Final = 0.3  # House definition: what the recorder's step adds to that, 1 / root 12 of itself
_BETWEEN_SHARE: Final = 0.25  # House definition: of the step to its neighbours, what a turn rises between samples
_NO_NOISE: Final = 4.5  # House definition: deviations that noise alone leaves once in 150,000 samples
_CLEAN_SHARE: Final = 1e-3  # House definition: of the change, noise below which hides no motion between samples


@dataclass(frozen=True, slots=True)
class Instant:
    """A time between samples, and what leaves it open."""

    time_s: float
    half_width_s: float  # by sampling: the time lies within this
    deviation_s: float  # by noise: a standard deviation


def crossing(time_s: FloatArray, values: FloatArray, level: float, noise: Noise) -> Instant | None:
    """When a channel that rises overall crosses a level; None: it does not.

    Parameters
    ----------
    time_s, values : array, shape (n,)
        Time [s], strictly rising, and the channel in its own unit, both finite.
    level : float
        The level, in the same unit.
    noise : Noise
        Of the channel.

    Returns
    -------
    Instant or None
        Without noise to speak of, from a cubic through the four samples around the crossing (a straight line
        where the four do not rise); with noise, from the straight line fitted to every sample around the
        crossing that noise might put on its other side.

    Notes
    -----
    **House definition**: the crossing is looked for in the middle between the first sample above and the
    last sample below the level, so that noise draws it neither forth nor back; the sampling half width is
    the difference between curve and straight line.

    Examples
    --------
    >>> crossing(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 2.0]), 0.5, Noise(0.0, 0.0)).time_s
    0.5
    """
    above = values >= level
    if above.all() or not above.any():
        return None
    first_above = int(above.argmax())
    if first_above == 0:
        return None
    last_below = int(values.size - 1 - (~above)[::-1].argmax())
    if last_below < first_above:
        middle = first_above
    else:  # noise, or a response that comes back: the first passage that stays for the width of the noise
        stays = values >= level + noise.band
        if not stays.any():
            return None
        sure = int(stays.argmax())
        before = np.flatnonzero(values[:sure] < level)
        middle = (first_above + int(before[-1]) + 1) // 2 if before.size else first_above
    fitted = _line_around(time_s, values, level, middle, noise)
    return fitted or _between(time_s, values, level, max(first_above, 1) if last_below < first_above else middle, noise)


def last_entry(
    time_s: FloatArray, distance: FloatArray, band: float, noise: Noise, *, level_deviation: float = 0.0
) -> Instant | None:
    """When a channel comes within a band of its final value for good; None: it never was outside, or never stays.

    Parameters
    ----------
    time_s, distance : array, shape (n,)
        Time [s] and signed distance from the final value, in the unit of the band.
    band : float
        Half the width of the band.
    noise : Noise
        Of the channel.
    level_deviation : float
        Standard uncertainty of the final value, in the same unit.

    Notes
    -----
    **House definition**: interpolated between the last sample outside and the next; with noise, on the
    line through the samples around. It is no earlier than the last sample that lies outside by two standard deviations
    of noise and final value, and no later than the last that they, or a swing between the samples, could put outside;
    the standard deviation is half of the longer of these two ways at least.

    Examples
    --------
    >>> last_entry(np.array([0.0, 1.0, 2.0]), np.array([-4.0, -2.0, 0.0]), 1.0, Noise(0.0, 0.0)).time_s
    1.5
    """
    outside = np.flatnonzero(np.abs(distance) > band)
    if outside.size == 0 or int(outside[-1]) >= distance.size - 1:
        return None
    last = int(outside[-1])
    away = -np.sign(distance[last])  # so that the channel rises to the band's edge
    rising = away * distance
    found = _line_around(time_s, rising, -band, last + 1, noise) or _between(time_s, rising, -band, last + 1, noise)
    loose = 2.0 * sqrt(noise.deviation**2 + level_deviation**2)
    early, late = _sure(time_s, distance, band, loose, noise)
    way = max(found.time_s - early if loose > _CLEAN_SHARE * band else 0.0, late - found.time_s)
    return Instant(found.time_s, found.half_width_s, max(found.deviation_s, 0.5 * way))


def _sure(time_s: FloatArray, distance: FloatArray, band: float, loose: float, noise: Noise) -> tuple[float, float]:
    """The last time that is outside the band for sure, and the last that may be."""
    out = np.abs(distance)
    early = np.flatnonzero(out > band + loose)
    steps = np.maximum(np.abs(np.diff(distance)) - _NO_NOISE * noise.deviation, 0.0)
    before, after = np.append(0.0, steps), np.append(steps, 0.0)
    turns = (out >= np.append(0.0, out[:-1])) & (out >= np.append(out[1:], 0.0))
    top = out + np.where(turns, _BETWEEN_SHARE * np.maximum(before, after), 0.0)
    late = np.flatnonzero(top > max(band - loose, _NO_NOISE * noise.deviation))
    first = float(time_s[early[-1]]) if early.size else float(time_s[0])
    return first, float(time_s[late[-1]]) if late.size else float(time_s[0])


def _line_around(time_s: FloatArray, values: FloatArray, level: float, middle: int, noise: Noise) -> Instant | None:
    """The crossing on the line through the samples around ``middle`` that noise may put on the wrong side."""
    reach = noise.band
    if reach == 0.0:
        return None
    below = np.flatnonzero(values[:middle] < level - reach)
    above = np.flatnonzero(values[middle:] > level + reach)
    first = int(below[-1]) + 1 if below.size else 0
    last = middle + int(above[0]) if above.size else values.size
    near = slice(max(first - 1, 0), min(last + 1, values.size))
    times, heights = time_s[near], values[near]
    close = np.abs(heights - level) <= 2.0 * reach
    times, heights = times[close], heights[close]
    if times.size < _CUBIC_POINTS:
        return None
    line = line_through(times, heights)
    if line is None:
        return None
    off = float(np.sqrt(np.sum((heights - line.at(times)) ** 2) / (times.size - 2)))
    if off > _MISFIT_DEVIATIONS * noise.deviation + _MISFIT_STEPS * noise.quantum:
        return None
    found = min(max(line.meets(level), float(times[0])), float(times[-1]))
    return Instant(found, 0.0, line.deviation_at(level, noise))


def _between(time_s: FloatArray, values: FloatArray, level: float, above: int, noise: Noise) -> Instant:
    """The crossing between the sample ``above`` the level and the one before."""
    low, high = above - 1, above
    rise = float(values[high] - values[low])
    share = min(max((level - float(values[low])) / rise, 0.0), 1.0) if rise > 0.0 else 0.5
    interval = float(time_s[high] - time_s[low])
    straight = float(time_s[low]) + share * interval
    deviation = min(noise.deviation / rise, _UNIFORM) * interval if rise > 0.0 else _UNIFORM * interval
    curved = _cubic(time_s, values, level, low)
    if curved is not None:
        return Instant(curved, abs(curved - straight), deviation)
    found, apart = _edge(time_s, values, level, low)
    return Instant(straight if found is None else found, _APART_SHARE * apart, deviation)


def _edge(time_s: FloatArray, values: FloatArray, level: float, low: int) -> tuple[float | None, float]:
    """Time at a level next to an edge, traced on from its steeper side, and how long the channel may have stood.

    A channel that is steeper on neither side may have jumped at any time of the interval.
    """
    rates = np.diff(values) / np.diff(time_s)
    interval = float(time_s[low + 1] - time_s[low])
    steeper = max(range(max(low - 1, 0), min(low + 2, rates.size)), key=lambda place: float(rates[place]))
    if steeper == low or rates[low] <= 0.0:
        return None, interval
    spare = interval * (1.0 - float(rates[low] / rates[steeper]))  # of the interval, in which the channel stood
    way = float(level - values[low]) / float(rates[steeper])
    return float(time_s[low]) + (way if steeper < low else way + spare), spare


def _cubic(time_s: FloatArray, values: FloatArray, level: float, low: int) -> float | None:
    """Time at a level on the cubic through four rising samples, as time over value."""
    first = min(max(low - 1, 0), values.size - _CUBIC_POINTS)
    if first < 0:
        return None
    heights, times = values[first : first + _CUBIC_POINTS], time_s[first : first + _CUBIC_POINTS]
    steps = np.diff(heights)
    if (steps <= 0.0).any() or abs(float(np.log(steps[0] * steps[2] / steps[1] ** 2))) > _BEND:
        return None  # an edge, not a curve
    found = 0.0
    for place in range(_CUBIC_POINTS):
        others = np.delete(heights, place)
        found += float(times[place] * np.prod((level - others) / (heights[place] - others)))
    return found if times[low - first] <= found <= times[low - first + 1] else None
