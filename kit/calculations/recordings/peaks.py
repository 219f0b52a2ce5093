"""How far a travel went before it came back, from the samples about its farthest."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import Noise

_PEAK_DEVIATIONS: Final = 8.0  # House definition: below the peak, within which samples lie on its parabola
_OF_VERTEX: Final = 1.5  # variance of a parabola's top is 9/4 of that of a mean of as many samples (least squares)
_MISFIT_DEVIATIONS: Final = 2.0  # House definition: samples farther off, rms, lie on no parabola
_MISFIT_STEPS: Final = 0.3  # House definition: what the recorder's step adds to that, 1 / root 12 of itself
_BENT_DEVIATIONS: Final = 2.0  # House definition: a clearer curvature is that of no stand
_FEWEST_TO_BEND: Final = 5  # House definition: samples of a stand without both ends; of fewer the lower end is left out


_OF_PICKED: Final = 1.3  # House definition: a peak is picked for its height, which noise adds to
_TO_A_SIDE: Final = 2  # House definition: samples on either side that show a curve
_OFF_CURVE: Final = 2.0  # House definition: of how far they lie off a parabola, what lies between them
_BETWEEN: Final = 0.75  # House definition: of what two chords leave between the samples, as a half width


@dataclass(frozen=True, slots=True)
class Peak:
    """The farthest of a travel, in the unit of the samples."""

    height: float
    deviation: float  # standard deviation by noise
    half_width: float  # what lies between the samples, and between the two ways to take them


def peak_of(time_s: FloatArray, height: FloatArray, channel: Noise) -> Peak:
    """Farthest point of a travel that comes back.

    Parameters
    ----------
    time_s, height : array, shape (n,)
        Samples [s] and how far out they lie; without nan.
    channel : Noise
        Noise of the height.

    Notes
    -----
    **House definition**. A response that swings turns on a parabola: laid through the samples within eight standard
    deviations below the highest. A motor that starts back stands first, for its delays and its backlash: the mean
    of the samples that a rest would hold, without the two ends, where the travel came and went. What the samples
    decide for counts: the stand, where they lie on no parabola; the parabola, where the stand is bent. Where they
    decide for neither it is half-way between the two, with half their distance as half width. Without noise the
    parabola counts, with half of what it lies above the highest sample. It is no higher than where the chords through
    the two samples on either side meet, and three quarters of what those leave above the highest sample is the half
    width at least, or twice what five samples lie off a parabola where that is less.

    Examples
    --------
    >>> import numpy as np
    >>> round(peak_of(np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.0, 0.5]), Noise(0.0, 0.0)).height, 4)
    1.0208
    """
    highest = int(height.argmax())
    swing, misfit = _parabola(time_s, height, highest, channel)
    stand = None if channel.deviation == 0.0 else _stand(time_s, height, highest, channel)
    if stand is None:
        found = swing
    elif misfit > _MISFIT_DEVIATIONS * channel.deviation + _MISFIT_STEPS * channel.quantum:
        found = stand
    else:
        middle, apart = 0.5 * (swing.height + stand.height), abs(swing.height - stand.height)
        found = Peak(middle, max(swing.deviation, stand.deviation), 0.5 * apart)
    return _between(time_s, height, highest, found, channel)


def _between(time_s: FloatArray, height: FloatArray, highest: int, found: Peak, channel: Noise) -> Peak:
    """A peak, with what its samples leave between them: all that two chords do, less where they lie on a curve."""
    deviation, slack = _OF_PICKED * found.deviation, 2.0 * channel.deviation
    near = slice(highest - _TO_A_SIDE, highest + _TO_A_SIDE + 1)
    if near.start < 0 or near.stop > height.size:
        return replace(found, deviation=deviation)
    times, heights = time_s[near] - time_s[highest], height[near]
    off = heights - np.polynomial.polynomial.polyval(times, np.polynomial.polynomial.polyfit(times, heights, 2))
    upper = _chords(times, heights)
    left = min(_BETWEEN * (upper - heights[_TO_A_SIDE] - slack), _OFF_CURVE * float(np.abs(off).max()))
    return Peak(min(found.height, upper + slack), deviation, max(found.half_width, left))


def _chords(times: FloatArray, heights: FloatArray) -> float:
    """How high a travel may have been on either side of the middle of five samples, if it turned but once."""
    rates = np.diff(heights) / np.diff(times)
    tops = [float(heights[_TO_A_SIDE])]
    for low in (_TO_A_SIDE - 1, _TO_A_SIDE):
        rises, falls, interval = float(rates[low - 1]), -float(rates[low + 1]), float(times[low + 1] - times[low])
        if rises + falls > 0.0:
            way = (float(heights[low + 1] - heights[low]) + falls * interval) / (rises + falls)
            tops.append(float(heights[low]) + rises * min(max(way, 0.0), interval))
    return max(tops)


def _parabola(time_s: FloatArray, height: FloatArray, highest: int, channel: Noise) -> tuple[Peak, float]:
    """The top of a parabola through the samples about the highest, and how far off they lie, rms."""
    near = _about(height, highest, _PEAK_DEVIATIONS * channel.deviation + channel.quantum)
    low, high = max(min(near.start, highest - 1), 0), min(max(near.stop, highest + 2), height.size)
    times, heights = time_s[low:high] - time_s[highest], height[low:high]
    count = times.size
    if count < 3 or (count == 3 and max(heights[0], heights[2]) >= heights[1]):
        return Peak(float(height[highest]), channel.deviation, 0.0), 0.0
    curve = np.polynomial.polynomial.polyfit(times, heights, 2)
    off = heights - np.polynomial.polynomial.polyval(times, curve)
    misfit = float(np.sqrt(np.sum(off**2) / (count - 3))) if count > 3 else 0.0
    if curve[2] >= 0.0:
        return Peak(float(heights.mean()), channel.of_mean(count), 0.5 * float(np.ptp(heights))), misfit
    vertex = min(max(-curve[1] / (2.0 * curve[2]), float(times[0])), float(times[-1]))
    top = float(np.polynomial.polynomial.polyval(vertex, curve))
    deviation = _OF_VERTEX * channel.of_mean(count)
    return Peak(top, deviation, 0.5 * abs(top - float(heights.max()))), misfit


def _stand(time_s: FloatArray, height: FloatArray, highest: int, channel: Noise) -> Peak | None:
    """The mean of the samples that a rest at the peak would hold; None where they are clearly bent."""
    near = _about(height, highest, channel.band + channel.quantum)
    count = near.stop - near.start
    if count >= _FEWEST_TO_BEND:
        near = slice(near.start + 1, near.stop - 1)
        if _bend(time_s[near] - time_s[highest], height[near]) < -_BENT_DEVIATIONS * channel.deviation:
            return None
    elif count > 2:  # one end may be left out, the lower one
        lower_first = height[near.start] < height[near.stop - 1]
        near = slice(near.start + 1, near.stop) if lower_first else slice(near.start, near.stop - 1)
    return Peak(float(height[near].mean()), channel.of_mean(near.stop - near.start), 0.0)


def _about(height: FloatArray, highest: int, reach: float) -> slice:
    """The samples in a row about the highest that lie less than ``reach`` below it."""
    below = np.flatnonzero(height <= height[highest] - reach)
    place = int(np.searchsorted(below, highest))
    low = int(below[place - 1]) + 1 if place > 0 else 0
    high = int(below[place]) if place < below.size else height.size
    return slice(min(low, highest), max(high, highest + 1))


def _bend(times: FloatArray, heights: FloatArray) -> float:
    """Curvature of samples, in the unit of their standard deviation by noise; below 0 where the middle is higher."""
    straight = np.polynomial.polynomial.polyfit(times, times**2, 1)
    square = times**2 - np.polynomial.polynomial.polyval(times, straight)
    return float(square @ heights) / float(np.sqrt(square @ square))
