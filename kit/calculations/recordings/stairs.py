"""Clear steps of a command: jumps between two stands, which no wander, hum or ramp makes."""

from __future__ import annotations

from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.recording import extents
from kit.calculations.recordings.noise import JUST_OVER, Noise

_BESIDE_S: Final = (2.0, 4.0)  # House definition: before and after a step, where the command stands still
_FEWEST: Final = 10  # House definition: samples on either side; fewer tell no step from a random walk
_LEAST_PCT: Final = 0.05  # House definition: less than any source is set by
_SIGMAS: Final = 6.0  # House definition: a difference beyond it is no noise
_DECISIVE: Final = 16.0  # House definition: of the noise's variance, by which two stands fit better than a slope
_BESIDE_SLOPE: Final = 4.0  # House definition: standard deviations of a step that is told beside a slope
_BESIDE_HUM: Final = 5.0  # House definition: likewise, where hum makes slopes all the time
_OF_NOISE: Final = 4.0  # House definition: standard deviations by which what is left about two stands is above noise
_SLOW_BEAT_S: Final = 30.0  # House definition: hum that beats in less looks like steps where it is as great as noise
_ROUNDING: Final = 1e-6  # House definition: sums of squares are off by less


def clear_steps(values: FloatArray, interval_s: float, noise: Noise) -> BoolArray:
    """Where a channel steps clearly from one stand to another.

    Parameters
    ----------
    values : array, shape (n,)
        The channel, finite.
    interval_s : float
        Sampling interval [s].
    noise : Noise
        Of single samples, and whether there is hum.

    Returns
    -------
    array of bool, shape (n - 1,)
        True between the last sample before a step and the first one after it.

    Notes
    -----
    **House definition**: the means of 2 s, or of 4 s, on both sides differ by more than six standard deviations, just
    over one step of the recorder and 0.05 (% of range); what is left about the two is noise; and a straight line
    through both sides leaves more, by 16 times the variance of a sample, and not even beside such a line is the step
    noise, at four standard deviations, or five with hum. Wander, a slow beat or a ramp is nearly
    straight over so few seconds.

    Examples
    --------
    >>> values = np.where(np.arange(40) < 20, 50.0, 50.1)
    >>> np.flatnonzero(clear_steps(values, 0.2, Noise(0.01, 0.0))).tolist()
    [19]
    """
    steps = np.zeros(max(values.size - 1, 0), dtype=bool)
    for width in (round(seconds / interval_s) for seconds in _BESIDE_S if interval_s > 0.0):
        if width >= _FEWEST and values.size >= 2 * width:
            steps[width - 1 : values.size - width] |= _seen(values, width, noise)
    return steps


def steps_beyond_slow(time_s: FloatArray, command: FloatArray, noise: Noise) -> BoolArray:
    """Where the command steps clearly though it wanders or hums, shape (n - 1,).

    Notes
    -----
    **House definition**: none where nothing slow could hide them, or where hum beats within 30 s, which looks like
    steps where it is as great as the noise.
    """
    slow = noise.hum if noise.hum_period_s > _SLOW_BEAT_S else 0.0
    if noise.hum > slow or noise.wander == slow == 0.0:
        return np.zeros(command.size - 1, dtype=bool)
    return clear_steps(command, float(np.median(np.diff(time_s))), noise)


def near_steps(steps: BoolArray, width: int) -> BoolArray:
    """Within half a window of ``width`` samples of a clear step, shape (n - 1,). House definition."""
    if not steps.any():
        return steps
    total = np.concatenate(([0], np.cumsum(steps)))
    place = np.arange(steps.size)
    low, high = np.maximum(place - width // 2, 0), np.minimum(place + width // 2 + 1, steps.size)
    near: BoolArray = total[high] > total[low]
    return near


def _seen(values: FloatArray, width: int, noise: Noise) -> BoolArray:
    """Steps with ``width`` samples on both sides, shape (n - 2 width + 1,)."""
    zero = values - values[0]
    size = 2 * width
    total, squares = _sums(zero), _sums(zero * zero)
    moments = _sums(zero * np.arange(values.size))
    before, after = total[width:-width] - total[:-size], total[size:] - total[width:-width]
    difference = np.abs(after - before) / width
    middle = np.arange(before.size) + width - 0.5
    along = moments[size:] - moments[:-size] - middle * (before + after)
    about_mean = squares[size:] - squares[:-size] - (before + after) ** 2 / size
    by_step = 0.5 * width * difference**2
    of_line, shared = size * (size**2 - 1.0) / 12.0, width**2 / 2.0
    by_slope = along**2 / of_line
    own = size / 4.0 - shared**2 / of_line  # of a step of 1, what no line has
    beside = np.abs(0.5 * (after - before) - along * shared / of_line)
    variance = noise.deviation**2
    least = max(_SIGMAS * noise.deviation * sqrt(2.0 / width), _LEAST_PCT, JUST_OVER * noise.flicker)
    seen = difference > least
    seen &= by_step - by_slope > _DECISIVE * variance
    seen &= beside > (_BESIDE_HUM if noise.hum > 0.0 else _BESIDE_SLOPE) * noise.deviation * sqrt(own)
    seen &= about_mean - by_step <= variance * (size + _OF_NOISE * sqrt(2.0 * size)) + _ROUNDING
    return _peaks(seen, difference)


def _sums(values: FloatArray) -> FloatArray:
    sums: FloatArray = np.concatenate(([0.0], np.cumsum(values)))
    return sums


def _peaks(seen: BoolArray, difference: FloatArray) -> BoolArray:
    """The greatest difference of each run of seen ones."""
    peaks = np.zeros(seen.size, dtype=bool)
    for first, last in extents(seen):
        peaks[first + int(difference[first : last + 1].argmax())] = True
    return peaks
