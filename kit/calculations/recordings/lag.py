"""How far a filtered feedback lags behind the position that it shows."""

from __future__ import annotations

from math import exp, hypot
from typing import Final

import numpy as np
from scipy.signal import lfilter

from kit.basis.arrays import BoolArray, FloatArray

_TRIED_S: Final = (0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0)  # House definition: filters of transmitters
_ROUNDS: Final = 3  # House definition: halvings between the times tried, to a tenth of what they lie apart
_AFTERWARDS_S: Final = 3.0  # House definition: after a motion, in which the feedback catches up
_MOST_FITTED: Final = 6000  # House definition: samples that are fitted; more tell no more
_FEWEST_FITTED: Final = 30  # House definition: fewer tell no lag
_CLIPPED_PCT: Final = 5.0  # House definition: of range; a greater distance is a bad spot, and no lag
_KEPT: Final = 3.0  # House definition: times the median distance, within which samples are on the curve
_CLOSE_PCT: Final = 0.05  # House definition: of range, within which they always are
_BENDS: Final = 3  # House definition: the degree of the curve that a track is taken for meanwhile
_BETTER: Final = 0.8  # House definition: of the distance without a lag, what is left where there is one


def lagged(values: FloatArray, interval_s: float, lag_s: float) -> FloatArray:
    """A channel behind a filter of first order, sample by sample.

    Parameters
    ----------
    values : array, shape (n,)
        The channel; a nan is passed over along a straight line.
    interval_s : float
        Sampling interval [s].
    lag_s : float
        Time constant [s]; 0: no filter.

    References
    ----------
    Any textbook of sampled systems: a filter of first order with its input straight between samples.

    Examples
    --------
    >>> ramp = np.arange(0.0, 50.0)
    >>> round(float(lagged(ramp, 1.0, 2.0)[-1] - ramp[-1]), 3)
    -2.0
    """
    known = np.isfinite(values)
    if lag_s <= 0.0 or interval_s <= 0.0 or not known.any():
        return values
    place = np.arange(values.size)
    filled = values if known.all() else np.interp(place, place[known], values[known])
    kept = exp(-interval_s / lag_s)
    held = lag_s / interval_s * (1.0 - kept)
    numerator = [1.0 - held, held - kept]
    behind: FloatArray = lfilter(numerator, [1.0, -kept], filled, zi=[filled[0] * held])[0]
    return behind


def lag_of(position: FloatArray, feedback: FloatArray, moving: BoolArray, way: FloatArray, interval_s: float) -> float:
    """The lag of a feedback behind a position [s]; 0 where none stands out.

    Parameters
    ----------
    position, feedback : array, shape (n,)
        [% of travel] and [% of feedback range]; a nan is left out.
    moving : array, shape (n,)
        Where the valve moves.
    way : array, shape (n,)
        The way that it last went: 1 open, -1 closed, 0 before.
    interval_s : float
        Sampling interval [s].

    Notes
    -----
    **House definition**: the time constant of a filter of first order behind which the position, through a curve of
    third degree and with play between the two ways, comes nearest to the feedback in motion and for 3 s after it; none
    where that is no nearer than 0.8 of the distance without. Of the distances no more than 5 % counts.
    """
    if interval_s <= 0.0:
        return 0.0
    after = round(_AFTERWARDS_S / interval_s)
    total = np.cumsum(moving)
    near = total - np.concatenate((np.zeros(min(after + 1, total.size)), total[: -after - 1])) > 0
    chosen = np.flatnonzero(near & np.isfinite(position) & np.isfinite(feedback))
    if chosen.size < _FEWEST_FITTED:
        return 0.0
    chosen = chosen[:: max(1, chosen.size // _MOST_FITTED)]

    def distance(lag_s: float) -> float:
        behind, shown = lagged(position, interval_s, lag_s)[chosen] / 100.0, feedback[chosen]
        off = _off(behind, shown, way[chosen], np.ones(shown.size, dtype=bool))
        off = _off(behind, shown, way[chosen], off <= _KEPT * float(np.median(off)) + _CLOSE_PCT)
        return float(np.mean(np.minimum(off, _CLIPPED_PCT)))

    tried = (0.0, *_TRIED_S)
    distances = [distance(each) for each in tried]
    best = int(np.argmin(distances))
    low, high = tried[max(best - 1, 0)], tried[min(best + 1, len(tried) - 1)]
    found, least = tried[best], distances[best]
    for _ in range(_ROUNDS):
        for between in (0.5 * (low + found), 0.5 * (found + high)):
            off = distance(between)
            if off < least:
                found, least = between, off
        low, high = 0.5 * (low + found), 0.5 * (found + high)
    return found if least < _BETTER * distances[0] else 0.0


def _off(behind: FloatArray, shown: FloatArray, way: FloatArray, kept: BoolArray) -> FloatArray:
    """How far each sample is from the curve through those that are kept."""
    terms = np.column_stack((np.polynomial.polynomial.polyvander(behind, _BENDS), way))
    factors = np.linalg.lstsq(terms[kept], shown[kept], rcond=None)[0]
    off: FloatArray = np.abs(shown - terms @ factors)
    return off


def unlagged(residual: FloatArray, interval_s: float, lag_s: float, over_s: float) -> tuple[FloatArray, float]:
    """What a filter of first order was given, from what it made of it, and by how much noise grows.

    Parameters
    ----------
    residual : array, shape (n,)
        Output of the filter; a nan makes its neighbours nan.
    interval_s, lag_s : float
        Sampling interval, and time constant [s].
    over_s : float
        Time to either side over which its change is taken [s], one sample at least.

    References
    ----------
    y + tau dy/dt, the equation of the filter turned round.

    Examples
    --------
    >>> filtered = -np.expm1(-np.arange(0.0, 10.0, 0.01) / 2.0)
    >>> round(float(unlagged(filtered, 0.01, 2.0, 0.05)[0][500]), 3)
    1.0
    """
    reach = max(1, round(over_s / interval_s)) if interval_s > 0.0 else 1
    if lag_s <= 0.0 or residual.size <= 2 * reach:
        return residual, 1.0
    padded = np.pad(residual, reach, mode="edge")
    slope = (padded[2 * reach :] - padded[: -2 * reach]) / (2.0 * reach * interval_s)
    given: FloatArray = residual + lag_s * slope
    return given, hypot(1.0, lag_s / (2.0**0.5 * reach * interval_s))


def left_open(given: FloatArray, interval_s: float, lag_s: float) -> FloatArray:
    """What a filter of first order may have made of a channel that jumps between its samples, shape (n,).

    Parameters
    ----------
    given : array, shape (n,)
        What the filter was given, as it was sampled; a nan is passed over along a straight line.
    interval_s, lag_s : float
        Sampling interval, and time constant [s].

    Returns
    -------
    array
        How far the filter's output may be from :func:`lagged`, which takes its input straight between samples.

    Notes
    -----
    **House definition**: where the change from sample to sample changes, the channel may have gone all of that
    difference at any time between them; the filter forgets it as it forgets anything.

    Examples
    --------
    >>> jump = np.repeat([0.0, 10.0], 5)
    >>> left_open(jump, 1.0, 2.0).round(1).tolist()
    [0.0, 0.0, 0.0, 0.0, 0.0, 2.1, 1.3, 0.8, 0.5, 0.3]
    """
    known = np.isfinite(given)
    if lag_s <= 0.0 or interval_s <= 0.0 or not known.any():
        return np.zeros(given.size)
    place = np.arange(given.size)
    filled = given if known.all() else np.interp(place, place[known], given[known])
    changes = np.diff(filled, prepend=filled[:1])
    bends = np.abs(np.diff(changes))
    jumps = np.minimum(np.maximum(np.append(0.0, bends), np.append(bends, 0.0)), np.abs(changes))
    kept = exp(-interval_s / lag_s)
    held = lag_s / interval_s * (1.0 - kept)
    open_to: FloatArray = lfilter([max(1.0 - held, held - kept)], [1.0, -kept], jumps)
    return open_to


def left_bent(filtered: FloatArray, interval_s: float, lag_s: float, over_s: float) -> FloatArray:
    """What :func:`unlagged` leaves open where the change of a channel changes within the time it is taken over.

    Parameters
    ----------
    filtered : array, shape (n,)
        Output of the filter.
    interval_s, lag_s, over_s : float
        As :func:`unlagged` takes them.

    Returns
    -------
    array, shape (n,)

    Notes
    -----
    **House definition**: half of the time constant times what the change before differs by from the change after.

    Examples
    --------
    >>> left_bent(np.array([0.0, 0.0, 0.0, 1.0, 2.0]), 1.0, 2.0, 1.0).tolist()
    [0.0, 0.0, 1.0, 0.0, 0.0]
    """
    reach = max(1, round(over_s / interval_s)) if interval_s > 0.0 else 1
    bent = np.zeros(filtered.size)
    if lag_s > 0.0 and filtered.size > 2 * reach:
        changes = filtered[reach:] - filtered[:-reach]
        bent[reach:-reach] = 0.5 * lag_s * np.abs(changes[reach:] - changes[:-reach])
        bent /= reach * interval_s
    return bent


def spot_shown(since_s: FloatArray, lasts_s: FloatArray, lag_s: float, over_s: float) -> FloatArray:
    """What a sample shows of a bad spot behind a filter of first order, freed of it again, of its depth; shape (n,).

    Parameters
    ----------
    since_s : array, shape (n,)
        How long before the sample the valve passed the middle of the spot; below 0: it comes to it [s].
    lasts_s : array, shape (n,)
        How long the valve is on the spot, a triangle [s].
    lag_s, over_s : float
        As :func:`unlagged` takes them, ``over_s`` a whole number of intervals [s].

    References
    ----------
    The response of a filter of first order to a ramp, any textbook: three of them make the triangle.

    Examples
    --------
    >>> spot_shown(np.array([-0.25, 0.0, 0.25]), np.full(3, 1.0), 0.0, 0.1).tolist()
    [0.5, 1.0, 0.5]
    >>> spot_shown(np.array([0.0, 0.25]), np.full(2, 1.0), 0.5, 0.25).round(2).tolist()
    [0.77, 0.54]
    """

    def ramp(time_s: FloatArray) -> FloatArray:
        since = np.maximum(time_s, 0.0)
        return since + lag_s * np.expm1(-since / lag_s) if lag_s > 0.0 else since

    def shown(time_s: FloatArray) -> FloatArray:
        up, top, down = (ramp(time_s + share * lasts_s) for share in (0.5, 0.0, -0.5))
        made: FloatArray = 2.0 / lasts_s * (up - 2.0 * top + down)
        return made

    if lag_s <= 0.0:
        return shown(since_s)
    slope = (shown(since_s + over_s) - shown(since_s - over_s)) / (2.0 * over_s)
    freed: FloatArray = shown(since_s) + lag_s * slope
    return np.minimum(freed, 1.0)
