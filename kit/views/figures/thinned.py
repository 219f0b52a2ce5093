"""A long channel with as few points as its drawing needs, extremes kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Drawn = list[float | None]

BUCKETS: Final = 800  # about the pixels of a page's width


def thinned(
    time_s: Numbers,
    values: Numbers,
    *,
    gaps: Sequence[tuple[float, float]] = (),
    buckets: int = BUCKETS,
    decimals: int = 2,
) -> tuple[Drawn, Drawn]:
    """Times and values to draw: of each bucket of time its least and its greatest sample, at their own times.

    A nan is a lost sample and is left out; a bucket that holds nothing else, and a gap, break the line. What
    stands still is drawn by its two ends. Values are rounded to ``decimals``, times to a tenth of a bucket.

    Examples
    --------
    >>> time = np.arange(0.0, 1000.0)
    >>> x, y = thinned(time, np.where(time == 512.0, 9.0, 0.0), buckets=10)
    >>> len(x) < 10, max(y), x[y.index(9.0)]
    (True, 9.0, 512.0)
    """
    if not time_s.size:
        return [], []
    span = float(time_s[-1] - time_s[0])
    times, kept = _extremes(time_s, values, buckets) if time_s.size > 2 * buckets else (time_s, values)
    inside = [start for start, _ in gaps if time_s[0] <= start < time_s[-1]]
    places = np.searchsorted(times, inside, side="right")
    times, kept = np.insert(times, places, inside), np.insert(kept, places, np.nan)
    kept = np.round(kept, decimals) + 0.0
    needed = _needed(kept)
    digits = max(0, int(np.ceil(-np.log10(span / buckets / 10)))) if span > 0 else 0
    x = np.round(times[needed], min(digits, 4)) + 0.0
    return x.tolist(), [None if np.isnan(value) else float(value) for value in kept[needed]]


def _extremes(time_s: Numbers, values: Numbers, buckets: int) -> tuple[Numbers, Numbers]:
    """The least and the greatest sample of each bucket in order of time; nan for a bucket without one."""
    edges = np.linspace(time_s[0], time_s[-1], buckets + 1)[:-1]
    starts = np.unique(np.searchsorted(time_s, edges, side="left"))
    counts = np.diff(np.append(starts, time_s.size))
    bucket = np.repeat(np.arange(starts.size), counts)
    places = [starts[np.isnan(np.fmin.reduceat(values, starts))]]
    for extreme in (np.fmin.reduceat(values, starts), np.fmax.reduceat(values, starts)):
        hits = np.flatnonzero(values == extreme[bucket])
        _, first = np.unique(bucket[hits], return_index=True)
        places.append(hits[first])
    chosen = np.unique(np.concatenate([*places, [0, time_s.size - 1]]))
    return time_s[chosen], values[chosen]


def _needed(values: Numbers) -> NDArray[np.bool_]:
    """All points but those between two equal ones, and one of several lost ones."""
    filled = np.nan_to_num(values, nan=np.inf)
    same = filled[1:] == filled[:-1]
    needed = np.ones(values.size, dtype=bool)
    needed[1:-1] = ~(same[:-1] & same[1:])
    return needed
