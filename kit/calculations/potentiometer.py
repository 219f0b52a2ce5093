"""The feedback potentiometer over the travel: margins, linearity, breaks and reversals."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, IntArray, floats, series, single
from kit.basis.quantity import Quantity
from kit.calculations.linearity import Line, minimax_line

_OPEN_CIRCUIT_RATIO: Final = 1.02
_REVERSAL_PCT: Final = 0.25
_END_PCT: Final = 2.0
_ROUNDING_PCT: Final = 1e-9

_NO_READING: Final = "no wiper reading beside a position and a track resistance"
_ALL_BREAKS: Final = "every wiper reading is a break"
_CONSTANT: Final = "the wiper does not move with the position"


@dataclass(frozen=True, slots=True, eq=False)
class Sweep:
    """The wiper over the travel: n readings sorted by position, m different positions; breaks left out."""

    position_pct: FloatArray  # (n,) [% of travel]
    ratio_pct: FloatArray  # (n,) wiper [% of track]
    kept: IntArray  # (n,) which of the readings given this one was
    place: IntArray  # (n,) which of the different positions it was taken at
    curve_position_pct: FloatArray  # (m,) [% of travel]
    curve_ratio_pct: FloatArray  # (m,) mean ratio there [% of track]
    slope_sign: int  # 1: the ratio rises with the position; -1: it falls; 0: it does neither
    breaks: int
    reversals: int
    reversal_at: int | None  # the reading that the first reversal leads to
    line: Line | None  # minimax line of the curve; None for fewer than two positions


def reduce_sweep(position_pct: ArrayLike, wiper_ohm: ArrayLike, track_ohm: ArrayLike) -> Sweep:
    """Wiper as a share of its track, sorted by position, with its breaks and reversals counted.

    Parameters
    ----------
    position_pct : array, shape (n,)
        Position [% of travel]. A row with a nan or an infinity here is left out.
    wiper_ohm : array, shape (n,)
        From the wiper to the end of the track that stands for low [ohm]. A nan, an infinity or more than
        1.02 of the track is a break: an open circuit.
    track_ohm : float or array, shape (n,)
        The whole track [ohm]. A row with a nan, an infinity, 0 or below here is left out.

    Returns
    -------
    Sweep
        Empty arrays where no row is left.

    Notes
    -----
    **House definition**: readings at one position are averaged to a curve; a reversal is a step of that
    curve against its trend by more than 0.25 % of the track; the trend is the sign of its minimax line's
    slope, and a curve that covers no more than 0.25 % of the track has none.

    Examples
    --------
    >>> sweep = reduce_sweep([0, 50, 100], [100, 500, 900], 1000)
    >>> sweep.ratio_pct.tolist(), sweep.breaks, sweep.reversals
    ([10.0, 50.0, 90.0], 0, 0)
    """
    position = series(position_pct, "position_pct")
    wiper = series(wiper_ohm, "wiper_ohm", length=position.size)
    track = floats(track_ohm)
    track = np.full(position.size, track) if track.ndim == 0 else series(track, "track_ohm", length=position.size)
    scaled = np.isfinite(position) & np.isfinite(track) & (track > 0)
    ratio = np.divide(wiper, track, out=np.full(position.size, np.nan), where=scaled)
    connected = np.isfinite(ratio) & (ratio <= _OPEN_CIRCUIT_RATIO * (1.0 + 1e-12))
    kept = np.flatnonzero(connected)
    kept = kept[position[kept].argsort(kind="stable")]
    return _sweep(position[kept], 100.0 * ratio[kept], kept, int(np.count_nonzero(scaled & ~connected)))


def low_margin(sweep: Sweep) -> Quantity:
    """Track left below the lowest wiper position over the travel.

    Parameters
    ----------
    sweep : Sweep
        As :func:`reduce_sweep` gives it.

    Returns
    -------
    Quantity
        [% of track]. None unless the sweep reaches within 2 % of both ends of the travel, or where the
        wiper does not move.

    References
    ----------
    **House definition**.

    Examples
    --------
    >>> low_margin(reduce_sweep([0, 50, 100], [100, 500, 900], 1000)).value
    10.0
    """
    why_not = _no_margin(sweep)
    if why_not:
        return Quantity(None, why_not)
    reading = int(sweep.ratio_pct.argmin())
    return _at(sweep, reading, float(sweep.ratio_pct[reading]), 1.0)


def high_margin(sweep: Sweep) -> Quantity:
    """Track left above the highest wiper position over the travel.

    Parameters
    ----------
    sweep : Sweep
        As :func:`reduce_sweep` gives it.

    Returns
    -------
    Quantity
        [% of track]. None as for :func:`low_margin`. Below 0 where the wiper reads more than the track.

    References
    ----------
    **House definition**.

    Examples
    --------
    >>> high_margin(reduce_sweep([0, 50, 100], [100, 500, 850], 1000)).value
    15.0
    """
    why_not = _no_margin(sweep)
    if why_not:
        return Quantity(None, why_not)
    reading = int(sweep.ratio_pct.argmax())
    return _at(sweep, reading, 100.0 - float(sweep.ratio_pct[reading]), -1.0)


def sweep_linearity(sweep: Sweep) -> Quantity:
    """Independent linearity of the wiper ratio against position.

    Parameters
    ----------
    sweep : Sweep
        As :func:`reduce_sweep` gives it.

    Returns
    -------
    Quantity
        0 or above [% of track]. None for fewer than three positions, or where the wiper does not move.

    References
    ----------
    ANSI/ISA-51.1, "linearity, independent". **House definition**: of the mean ratio at each position.

    Examples
    --------
    >>> sweep_linearity(reduce_sweep([0, 50, 100], [100, 520, 900], 1000)).value
    1.0
    """
    if sweep.curve_position_pct.size < 3 or sweep.line is None:
        why_not = "fewer than three positions with a wiper reading; a line needs three"
        return Quantity(None, _no_reading(sweep) or why_not)
    if sweep.slope_sign == 0:
        return Quantity(None, _CONSTANT)
    weights = (sweep.line.weights / np.bincount(sweep.place))[sweep.place]
    reading = int((sweep.place == sweep.line.active[0]).argmax())
    return Quantity(sweep.line.deviation, point=reading, reading=reading, weights=weights, averaged=True)


def dropouts(sweep: Sweep) -> Quantity:
    """Number of breaks and reversals of the wiper over the travel.

    Parameters
    ----------
    sweep : Sweep
        As :func:`reduce_sweep` gives it.

    Returns
    -------
    Quantity
        A count, without weights. None where nothing was found and nothing could be: fewer than
        two positions, or a wiper that does not move.

    References
    ----------
    **House definition**.

    Examples
    --------
    >>> dropouts(reduce_sweep([0, 50, 100], [100, float("inf"), 900], 1000)).value
    1.0
    """
    found = sweep.breaks + sweep.reversals
    if found == 0 and sweep.curve_position_pct.size < 2:
        return Quantity(None, _no_reading(sweep) or "one position with a wiper reading; a sweep needs two")
    if found == 0 and sweep.slope_sign == 0:
        return Quantity(None, _CONSTANT)
    return Quantity(float(found), point=sweep.reversal_at, reading=sweep.reversal_at)


def _sweep(position: FloatArray, ratio: FloatArray, kept: IntArray, breaks: int) -> Sweep:
    places, place = np.unique(position, return_inverse=True)
    curve = np.bincount(place, weights=ratio) / np.bincount(place)
    line = minimax_line(places, curve) if places.size > 1 else None
    moves = line is not None and bool(np.ptp(curve) > _REVERSAL_PCT + _ROUNDING_PCT)
    slope_sign = int(np.sign(line.slope)) if line is not None and moves else 0
    against = np.flatnonzero(-slope_sign * np.diff(curve) > _REVERSAL_PCT + _ROUNDING_PCT)
    return Sweep(
        position_pct=position,
        ratio_pct=ratio,
        kept=kept,
        place=place,
        curve_position_pct=places,
        curve_ratio_pct=curve,
        slope_sign=slope_sign,
        breaks=breaks,
        reversals=int(against.size),
        reversal_at=int(place.searchsorted(against[0] + 1)) if against.size else None,
        line=line,
    )


def _no_reading(sweep: Sweep) -> str:
    if sweep.position_pct.size:
        return ""
    return _ALL_BREAKS if sweep.breaks else _NO_READING


def _no_margin(sweep: Sweep) -> str:
    """Why the sweep gives no margins; empty where it does."""
    why_not = _no_reading(sweep)
    if why_not:
        return why_not
    lowest, highest = float(sweep.position_pct[0]), float(sweep.position_pct[-1])
    if lowest > _END_PCT + _ROUNDING_PCT or highest < 100.0 - _END_PCT - _ROUNDING_PCT:
        return f"the sweep goes from {lowest:.4g} to {highest:.4g} % of travel, not within {_END_PCT:g} % of both ends"
    return "" if sweep.slope_sign else _CONSTANT


def _at(sweep: Sweep, reading: int, value: float, weight: float) -> Quantity:
    weights = single(reading, sweep.ratio_pct.size, weight)
    return Quantity(value, point=reading, reading=reading, weights=weights)
