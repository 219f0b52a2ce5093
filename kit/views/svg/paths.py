"""Lines and marks as path data: in tenths of a pixel, relative, lines with no more points than can be seen."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from operator import gt
from typing import Final

import numpy as np
from numpy.typing import NDArray

from kit.views.svg.elements import numbers
from kit.views.svg.symbols import Symbol

Tenths = NDArray[np.float64]  # whole tenths of a pixel; nan: nothing there

_WITHIN: Final = 4.5  # tenths: with the rounding, a line as drawn lies within half a pixel of every point left out


def line_path(x: Tenths, y: Tenths) -> str:
    """A line through some places, broken at each nan.

    Parameters
    ----------
    x, y : array, shape (n,)
        Places in tenths of a pixel.

    Examples
    --------
    >>> line_path(np.array([0.0, 10, 20, np.nan, 50]), np.array([5.0, 5, 5, 0, 9]))
    'm0 5 20 0m30 4h0'
    """
    pieces: list[str] = []
    before = (0, 0)
    for run_x, run_y in _runs(x, y):
        kept = kept_places(run_x, run_y)
        at_x, at_y = [round(run_x[place]) for place in kept], [round(run_y[place]) for place in kept]
        steps = [at_x[0] - before[0], at_y[0] - before[1]]
        for place in range(1, len(kept)):
            steps += (at_x[place] - at_x[place - 1], at_y[place] - at_y[place - 1])
        pieces.append(f"m{numbers(steps)}{'' if len(kept) > 1 else 'h0'}")
        before = (at_x[-1], at_y[-1])
    return "".join(pieces)


def marks_path(x: Tenths, y: Tenths, symbol: Symbol) -> str:
    """The same mark at some places, each marked once; places with a nan are left out.

    Examples
    --------
    >>> marks_path(np.array([10.0, 10, 30]), np.array([5.0, 5, 5]), Symbol("h4", (-2, 0), (2, 0)))
    'm8 5h4m16 0h4'
    """
    known = np.isfinite(x) & np.isfinite(y)
    places = dict.fromkeys(zip(x[known].astype(int).tolist(), y[known].astype(int).tolist(), strict=True))
    pieces: list[str] = []
    before_x, before_y = 0, 0
    for place_x, place_y in places:
        from_x, from_y = place_x + symbol.start[0], place_y + symbol.start[1]
        pieces.append(f"m{numbers((from_x - before_x, from_y - before_y))}{symbol.path}")
        before_x, before_y = place_x + symbol.end[0], place_y + symbol.end[1]
    return "".join(pieces)


def kept_places(x: list[float], y: list[float]) -> list[int]:
    """Places of a line that have to be drawn so that it lies within half a pixel of all.

    House definition, one pass: from the last place kept, a place is left out as long as the next lies within the cone
    of those slopes that pass near enough above or below all between (a cone as in sleeve-fitting, Zhao and Saalfeld
    1997, but measured upright, which needs no angles). Lines that turn back are kept as they are.

    Examples
    --------
    >>> kept_places([0.0, 10, 20, 30], [0.0, 1, 0, 40])
    [0, 2, 3]
    """
    last = len(x) - 1
    if any(map(gt, x, x[1:])):
        return list(range(last + 1))
    kept, start, place = [0], 0, 1
    low, high = -inf, inf
    while place <= last:
        across, down = x[place] - x[start], y[place] - y[start]
        if across > 0:
            slope = down / across
            if low <= slope <= high:
                room = _WITHIN / across
                low, high = max(low, slope - room), min(high, slope + room)
                place += 1
                continue
        elif -_WITHIN <= down <= _WITHIN:
            place += 1
            continue
        start = max(place - 1, start + 1)
        kept.append(start)
        low, high = -inf, inf
        place = start + 1
    if kept[-1] != last:
        kept.append(last)
    return kept


def _runs(x: Tenths, y: Tenths) -> Iterator[tuple[list[float], list[float]]]:
    """The stretches without a nan, neighbours at the same place taken once."""
    known = np.isfinite(x) & np.isfinite(y)
    wanted = known.copy()
    wanted[1:] &= (np.diff(x) != 0) | (np.diff(y) != 0)  # a nan differs from anything
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]))).tolist()
    places = np.cumsum(wanted).tolist()
    kept_x, kept_y = x[wanted].tolist(), y[wanted].tolist()
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        first, last = places[begin] - 1, places[end - 1]
        yield kept_x[first:last], kept_y[first:last]
