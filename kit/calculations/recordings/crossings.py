"""Times between samples: when a channel crosses a level, starts to move, comes to stay in a band."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import Noise

_CUBIC_POINTS: Final = 4  # a cubic goes through four points
_BEND: Final = 0.35  # House definition: how far a curve's steps may leave a geometric series, as a natural logarithm
_FEWEST_FITTED: Final = 3  # House definition: a line through two would have no scatter
_EARLY_SHARE: Final = 0.1  # House definition: of the change, what is the early part of a response at most
_EARLY_DEVIATIONS: Final = 50.0  # House definition: of the noise, what is enough of it to fit a line
_EARLY_BANDS: Final = 4.0  # House definition: of the noise's band, what the early part takes in at least
_MOST_SHARE: Final = 0.6  # House definition: of the change, beyond which no start is traced back from
_NEXT_PART: Final = 3.0  # House definition: of the early part's height, up to where its next part goes
_CLEAN_SHARE: Final = 1e-3  # House definition: of the change, noise below which hides no motion between samples
_TRACED_SHARE: Final = 0.25  # House definition: of the interval, what a traced start is known to within
_BENT_SHARE: Final = 2.0  # House definition: of the unseen time, since the motor may gather speed in it
_BLOCKS_A_RISE: Final = 4.0  # House definition: a slower rise out of the noise is looked at in means of its samples
_FEWEST_BLOCKS: Final = 20  # House definition: fewer would not show where the response begins
_CLEAR_DEVIATIONS: Final = 4.0  # House definition: a sample that far below the line is no noise, by 3 in 100,000
_TINY_SHARE: Final = 1e-6  # House definition: of the change, what is motion in a channel without noise


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
    return fitted or _between(time_s, values, level, max(first_above, 1) if last_below < first_above else middle)


def response_start(time_s: FloatArray, change: FloatArray, final: float, noise: Noise) -> Instant | None:
    """When a response leaves its start, traced back from where it is first seen.

    Parameters
    ----------
    time_s : array, shape (n,)
        From the last sample before the cause on [s].
    change : array, shape (n,)
        Distance from the start, counted in the direction of the response [% of travel].
    final : float
        The whole change, above 0.
    noise : Noise
        Of the channel.

    Returns
    -------
    Instant or None
        None where nothing rises above the noise.

    Notes
    -----
    **House definition**: the response is seen at the first two samples above the noise (five standard
    deviations); the straight line through its early part (from there to a tenth of the change, or to four
    times the noise) is traced back to the start; without noise to speak of, three samples and at most to the one
    before; not into where the channel lies clearly below that line, because it jumps. The sampling half width is
    a quarter of the interval; with noise twice the time that the line takes to rise out of it, or twice the
    distance to where its next part would be traced back to: the motor may gather speed unseen.

    Examples
    --------
    >>> time = np.arange(0.0, 5.0, 0.1)
    >>> start = response_start(time, np.clip(4 * (time - 1.03), 0.0, 10.0), 10.0, Noise(0.0, 0.0))
    >>> round(start.time_s, 3)
    1.03
    """
    seen = max(noise.reach, _TINY_SHARE * final)
    over = change > seen
    both = over & np.append(over[1:], over[-1:])
    if not both.any():
        return None
    first = int(both.argmax())
    if first == 0:
        return Instant(float(time_s[0]), 0.0, 0.0)
    enough = min(_EARLY_DEVIATIONS * noise.deviation, _EARLY_SHARE * final)
    top = min(max(_EARLY_BANDS * seen, enough), _MOST_SHARE * final)
    last = _first_beyond(change, first, top)
    latest, before = float(time_s[first]), float(time_s[first - 1])
    is_clean = noise.band <= _CLEAN_SHARE * final
    earliest = before if is_clean else float(time_s[0])
    line = _line(time_s[first:last], change[first:last])
    if line is None:
        return Instant(0.5 * (latest + before), 0.5 * (latest - before), 0.0)
    width = int(min(seen / line.slope / (_BLOCKS_A_RISE * (latest - before)), change.size // _FEWEST_BLOCKS))
    if width > 1 and not is_clean:
        return response_start(*_block_means(time_s, change, width), final, _quieter(noise, width))
    start_s = line.meets(0.0)
    if not is_clean:
        earliest = max(earliest, _still_at(time_s[:first], change[:first], line, noise))
    bent = 0.0
    later = _first_beyond(change, last, min(_NEXT_PART * top, _MOST_SHARE * final))
    after = _line(time_s[last:later], change[last:later])
    if after is not None and not is_clean:
        bent = max(0.0, after.meets(0.0) - start_s)
    half_width = max(_TRACED_SHARE * (latest - before), _BENT_SHARE * max(bent, seen / line.slope))
    start_s = min(max(start_s, earliest), latest)
    return Instant(start_s, half_width, line.deviation_at(0.0, noise))


def _block_means(time_s: FloatArray, change: FloatArray, width: int) -> tuple[FloatArray, FloatArray]:
    count = change.size // width
    shape = (count, width)
    return time_s[: count * width].reshape(shape).mean(axis=1), change[: count * width].reshape(shape).mean(axis=1)


def _quieter(noise: Noise, width: int) -> Noise:
    return Noise(noise.deviation / width**0.5, noise.quantum)


def _still_at(time_s: FloatArray, change: FloatArray, line: _Line, noise: Noise) -> float:
    """The last time at which the channel lies clearly below the line that is traced back: it jumps."""
    below = np.flatnonzero(line.at(time_s) - change > _CLEAR_DEVIATIONS * noise.deviation)
    return float(time_s[below[-1]]) if below.size else float(time_s[0])


def last_entry(time_s: FloatArray, distance: FloatArray, band: float, noise: Noise) -> Instant | None:
    """When a channel comes within a band of its final value for good; None: it never was outside, or never stays.

    Parameters
    ----------
    time_s, distance : array, shape (n,)
        Time [s] and signed distance from the final value, in the unit of the band.
    band : float
        Half the width of the band.

    Notes
    -----
    **House definition**: interpolated between the last sample outside and the next; with noise, on the
    line through the samples around.

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
    found = _line_around(time_s, rising, -band, last + 1, noise) or _between(time_s, rising, -band, last + 1)
    if noise.deviation <= _CLEAN_SHARE * band:
        return found
    sure = np.flatnonzero(np.abs(distance) > band + 2.0 * noise.deviation)
    early = float(time_s[sure[-1]]) if sure.size else found.time_s
    return Instant(found.time_s, found.half_width_s, max(found.deviation_s, 0.5 * abs(found.time_s - early)))


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
    line = _line(times, heights)
    if line is None:
        return None
    found = min(max(line.meets(level), float(times[0])), float(times[-1]))
    return Instant(found, 0.0, line.deviation_at(level, noise))


def _between(time_s: FloatArray, values: FloatArray, level: float, above: int) -> Instant:
    """The crossing between the sample ``above`` the level and the one before."""
    low, high = above - 1, above
    rise = float(values[high] - values[low])
    share = min(max((level - float(values[low])) / rise, 0.0), 1.0) if rise > 0.0 else 0.5
    interval = float(time_s[high] - time_s[low])
    straight = float(time_s[low]) + share * interval
    curved = _cubic(time_s, values, level, low)
    if curved is None:
        curved = _edge(time_s, values, level, low)
    return Instant(straight if curved is None else curved, abs((curved or straight) - straight), 0.0)


def _edge(time_s: FloatArray, values: FloatArray, level: float, low: int) -> float | None:
    """Time at a level next to an edge, on the line through the two samples on its steeper side."""
    rates = np.diff(values) / np.diff(time_s)
    steeper = max(range(max(low - 1, 0), min(low + 2, rates.size)), key=lambda place: float(rates[place]))
    if steeper == low or rates[steeper] <= 0.0:
        return None
    found = float(time_s[steeper] + (level - values[steeper]) / rates[steeper])
    return found if time_s[low] <= found <= time_s[low + 1] else None


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


def _first_beyond(change: FloatArray, first: int, top: float) -> int:
    """Where a response passes ``top``, at least three samples on."""
    beyond = np.flatnonzero(change[first:] > top)
    last = first + int(beyond[0]) if beyond.size else change.size
    return min(max(last, first + _FEWEST_FITTED), change.size)


@dataclass(frozen=True, slots=True)
class _Line:
    """A straight line through samples that rise."""

    centre_s: float
    height: float
    slope: float
    spread: float  # sum of squares of the times about their centre
    count: int

    def at(self, time_s: FloatArray) -> FloatArray:
        line: FloatArray = self.height + self.slope * (time_s - self.centre_s)
        return line

    def meets(self, level: float) -> float:
        return self.centre_s + (level - self.height) / self.slope

    def deviation_at(self, level: float, noise: Noise) -> float:
        """Standard deviation of the time at a level."""
        away = self.meets(level) - self.centre_s
        return noise.deviation / self.slope * sqrt(1.0 / self.count + away**2 / self.spread)


def _line(time_s: FloatArray, values: FloatArray) -> _Line | None:
    """The line of least squares; None where it does not rise."""
    if time_s.size < 2:
        return None
    centre, height = float(time_s.mean()), float(values.mean())
    spread = float(((time_s - centre) ** 2).sum())
    slope = float(((time_s - centre) * (values - height)).sum()) / spread
    return _Line(centre, height, slope, spread, int(time_s.size)) if slope > 0.0 else None
