"""Where two channels of a recording stand still together."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]

_STILL_S: Final = 2.0  # House definition: both have not moved over this time
_STILL_SHARE: Final = 0.005  # House definition: of a channel's range, by less than which it has not moved
_LEVEL_PCT: Final = 3.0  # House definition: of travel; places less far apart are one
_MOST_SAMPLES: Final = 10_000  # House definition: of a longer recording every so many are looked at
_SPREAD: Final = (0.01, 0.99)  # House definition: single bad samples make no range


def levels_of(time_s: Numbers, one: Numbers, travel_pct: Numbers) -> tuple[Numbers, Numbers]:
    """One channel and the travel at every place at which both stand still.

    Parameters
    ----------
    time_s, one, travel_pct : array, shape (n,)
        Time [s]; a channel, in its own unit; travel [% of travel]. A nan is a lost sample.

    Returns
    -------
    tuple of array, shape (k,) each
        Medians of both, by places of 3 % of travel, in order of the travel. Empty where nothing stands still.

    Notes
    -----
    House definition: a channel stands still where it is within 0.5 % of its range of what it was 2 s before and is
    2 s later.

    Examples
    --------
    >>> time = np.arange(100.0)
    >>> given, at = levels_of(time, np.where(time < 50, 4.0, 20.0), np.where(time < 52, 0.0, 100.0))
    >>> given.tolist(), at.tolist()
    ([4.0, 20.0], [0.0, 100.0])
    """
    every = slice(None, None, max(1, time_s.size // _MOST_SAMPLES))
    known = np.isfinite(time_s[every]) & np.isfinite(one[every]) & np.isfinite(travel_pct[every])
    times, first, second = time_s[every][known], one[every][known], travel_pct[every][known]
    empty = np.empty(0), np.empty(0)
    if times.size < 3 or times[-1] <= times[0]:
        return empty
    reach = max(1, round(_STILL_S * (times.size - 1) / float(times[-1] - times[0])))
    if times.size <= 2 * reach:
        return empty
    still = _is_still(first, reach) & _is_still(second, reach)
    first, second = first[reach:-reach][still], second[reach:-reach][still]
    if first.size == 0:
        return empty
    places = np.round(second / _LEVEL_PCT).astype(int)
    pairs = [(np.median(first[places == each]), np.median(second[places == each])) for each in np.unique(places)]
    given, at = np.array(pairs).T
    return given, at


def _is_still(values: Numbers, reach: int) -> NDArray[np.bool_]:
    low, high = np.quantile(values, _SPREAD)
    least = _STILL_SHARE * max(float(high - low), np.finfo(float).tiny)
    here = values[reach:-reach]
    still: NDArray[np.bool_] = (np.abs(here - values[: -2 * reach]) <= least) & (
        np.abs(values[2 * reach :] - here) <= least
    )
    return still
