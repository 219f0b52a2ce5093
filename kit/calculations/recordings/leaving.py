"""When a response leaves its start: between where its first motion may have begun and where it is traced back to."""

from __future__ import annotations

from math import log, sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.crossings import Instant
from kit.calculations.recordings.lines import Line, line_through
from kit.calculations.recordings.noise import Noise

_FEWEST_FITTED: Final = 3  # House definition: a line through two would have no scatter
_EARLY_SHARE: Final = 0.1  # House definition: of the change, what is the early part of a response at most
_EARLY_DEVIATIONS: Final = 50.0  # House definition: of the noise, what is enough of it to fit a line
_EARLY_BANDS: Final = 4.0  # House definition: of the noise's band, what the early part takes in at least
_MOST_SHARE: Final = 0.6  # House definition: of the change, beyond which no start is traced back from
_NEXT_PART: Final = 3.0  # House definition: of the early part's height, up to where its next part goes
_CLEAN_SHARE: Final = 1e-3  # House definition: of the change, noise below which hides no motion between samples
_TRACED_SHARE: Final = 0.25  # House definition: of the interval, what a traced start is known to within at best
_BLOCKS_A_RISE: Final = 4.0  # House definition: a slower rise out of the noise is looked at in means of its samples
_FEWEST_BLOCKS: Final = 20  # House definition: fewer would not show where the response begins
_CLEAR_DEVIATIONS: Final = 4.0  # House definition: a sample that far below the line is no noise, by 3 in 100,000
_SLOWER_DEVIATIONS: Final = 3.0  # House definition: a next part that is slower by more is slower
_HIDDEN_SHARE: Final = 0.9  # House definition: of the first height seen, noise above which hides any start
_APART_SHARE: Final = 0.75  # House definition: of their distance; most starts lie near one of the two, with the noise
_TINY_SHARE: Final = 1e-6  # House definition: of the change, what is motion in a channel without noise


def response_start(time_s: FloatArray, change: FloatArray, final: float, noise: Noise) -> Instant | None:
    """When a response leaves its start.

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
    deviations). It began at the latest where the straight line through its early part (from there to a tenth of the
    change, or to four times the noise) is traced back to, later where its next part is slower, as that of a lag is;
    and at the earliest where the parabola through its early part stands, since a motor gathers speed, but not
    before what the noise can hide under that parabola before the first sample seen. A valve that sticks jumps: where
    there is noise, it may have begun as late as the first sample that shows it on its early line. The start is half-way
    between the two, with three quarters of their distance as half width, at least a quarter of the interval.

    Examples
    --------
    >>> time = np.arange(0.0, 5.0, 0.1)
    >>> start = response_start(time, np.clip(4 * (time - 1.0), 0.0, 10.0), 10.0, Noise(0.0, 0.0))
    >>> round(start.time_s, 3), round(start.half_width_s, 3)
    (1.0, 0.025)
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
    line = line_through(time_s[first:last], change[first:last])
    if line is None:
        return Instant(0.5 * (latest + before), 0.5 * (latest - before), 0.0)
    is_clean = noise.band <= _CLEAN_SHARE * final
    width = int(min(seen / line.slope / (_BLOCKS_A_RISE * (latest - before)), change.size // _FEWEST_BLOCKS))
    if width > 1 and not is_clean:
        return response_start(*_block_means(time_s, change, width), final, noise.averaged(width))
    still = before if is_clean else _still_at(time_s[:first], change[:first], line, noise)
    later = _first_beyond(change, last, min(_NEXT_PART * top, _MOST_SHARE * final))
    late = _traced(line, line_through(time_s[last:later], change[last:later]), noise, still, latest)
    early = min(_earliest(time_s[first:last], change[first:last], before, seen, noise), late)
    late = late if is_clean else max(late, _jumped_by(time_s[: first + 1], change[: first + 1], line, noise))
    half_width = max(_TRACED_SHARE * (latest - before), _APART_SHARE * (late - early))
    return Instant(0.5 * (early + late), half_width, line.deviation_at(0.0, noise))


def _block_means(time_s: FloatArray, change: FloatArray, width: int) -> tuple[FloatArray, FloatArray]:
    count = change.size // width
    shape = (count, width)
    return time_s[: count * width].reshape(shape).mean(axis=1), change[: count * width].reshape(shape).mean(axis=1)


def _still_at(time_s: FloatArray, change: FloatArray, line: Line, noise: Noise) -> float:
    """The last time at which the channel lies clearly below the line that is traced back: it jumps."""
    below = np.flatnonzero(line.at(time_s) - change > _CLEAR_DEVIATIONS * noise.deviation)
    return float(time_s[below[-1]]) if below.size else float(time_s[0])


def _traced(line: Line, after: Line | None, noise: Noise, still_s: float, latest_s: float) -> float:
    """Where a response began at the latest: on its early line, or on the lag that early part and next part tell."""
    traced = line.meets(0.0)
    if after is not None:
        slower = line.slope - after.slope
        if slower > _SLOWER_DEVIATIONS * (line.slope_deviation(noise) + after.slope_deviation(noise)):
            rate = log(line.slope / after.slope) / (after.centre_s - line.centre_s)
            traced = line.centre_s - log(1.0 + rate * line.height / line.slope) / rate
    if traced < still_s:  # it jumped since: the more, the later it may have been
        return still_s + min(still_s - traced, latest_s - still_s)
    return min(traced, latest_s)


def _jumped_by(time_s: FloatArray, change: FloatArray, line: Line, noise: Noise) -> float:
    """When a valve that sticks may have jumped onto its early line at the latest: no sample shows it there before."""
    on_line = np.maximum(line.at(time_s), 0.0)
    likelier = np.cumsum((2.0 * change - on_line) * on_line)  # twice the variance times the logarithm of the odds
    hidden = np.flatnonzero(likelier[:-1] <= _CLEAR_DEVIATIONS**2 * noise.deviation**2)
    return float(time_s[hidden[-1] + 1]) if hidden.size else float(time_s[0])


def _earliest(time_s: FloatArray, change: FloatArray, before_s: float, seen: float, noise: Noise) -> float:
    """Where a motor that gathers speed began at the earliest, from the early part of the response."""
    root = line_through(time_s, np.sqrt(np.maximum(change, 0.0)))
    parabola = before_s if root is None else root.meets(0.0)
    least = max(float(change[0]) - _CLEAR_DEVIATIONS * noise.deviation, seen)
    hidden = sqrt(seen / least)
    if hidden > _HIDDEN_SHARE:
        return parabola
    return max(parabola, before_s - hidden / (1.0 - hidden) * (float(time_s[0]) - before_s))


def _first_beyond(change: FloatArray, first: int, top: float) -> int:
    """Where a response passes ``top``, at least three samples on."""
    beyond = np.flatnonzero(change[first:] > top)
    last = first + int(beyond[0]) if beyond.size else change.size
    return min(max(last, first + _FEWEST_FITTED), change.size)
