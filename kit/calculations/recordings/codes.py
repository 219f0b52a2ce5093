"""The step of a recorder: the code of its converter, and the decimals that it was written with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray, IntArray

_TINY: Final = 1e-9  # House definition: a lesser change is rounding
_FINEST: Final = 1e-4  # House definition: a finer step of the recorder does not show in any figure
_COARSEST: Final = 1.0  # House definition: a coarser one is a step of the signal itself
_SAMPLED: Final = 4096  # House definition: samples, evenly drawn, whose values show what is written
_SAME: Final = 1e-6  # House definition: steps that are alike differ by rounding
_ROUNDING: Final = 1e-7  # House definition: how far from whole multiples of what is written conversions leave values
_FEWEST_CHANGES: Final = 8  # House definition: fewer tell no step, unless it is a fine one
_FEW_TELL: Final = 0.05  # House definition: a finer step is nobody's own steps of a source or speed of a motor
_SEEN: Final = 0.2  # House definition: a coarser step is the recorder's only where the channel changes by just one
_FEWEST_FLICKERS: Final = 3  # House definition: jumps there and back, or of other sizes, that are no chance
_OTHERS: Final = 0.1  # House definition: the share of a motor's changes that are of other sizes than most, at most
_ONE_CODE: Final = 1.5  # House definition: of the step, the greatest change that is one code
_FINEST_SHARE: Final = 16  # bits of the finest lattice that is looked for in the span of the values
_PART: Final = 16  # House definition: the share of the span in which a finer lattice is looked for, one over
_LEAST_WRITTEN: Final = 1.6  # House definition: of what is written, the finest code that is another than that
_FIT: Final = 0.6  # House definition: of what is written, how far a value may lie from its code
_SELDOM: Final = 0.2  # House definition: share of the changes by one code that are greater than its step, at most
_PEAKS: Final = 4  # House definition: the most that are tried in an octave
_CHANCE: Final = 1e-4  # House definition: the greatest chance that values lie on a lattice that is none
_FEWEST_VALUES: Final = 5  # House definition: fewer lie on many lattices
_MOST_VALUES: Final = 300  # House definition: more, evenly drawn, show nothing new


@dataclass(frozen=True, slots=True)
class Code:
    """By what a channel jumps, in its own unit; 0: by nothing that can be seen."""

    step: float  # the greatest jump by one code, as written
    flickers: bool = False  # the channel at rest jumps back and forth by that step


def code_of(values: FloatArray) -> Code:
    """The recorder's step, and whether a channel at rest flickers by it.

    Parameters
    ----------
    values : array, shape (n,)
        Finite.

    Notes
    -----
    **House definition**: what was written is the greatest number that all values are apart by whole multiples of. The
    code of a converter is coarser than that where its codes, rounded to what was written, leave most values out: it is
    the widest lattice on which every value lies to within 0.6 of what was written, no two on one, where chance does
    that less than once in 10,000; a code finer than the span of the values over 65,536 is looked for in the sixteenth
    of the span that holds most of them. The step is that code, rounded up to what was written. What was written counts
    where the channel jumps back and forth by it, or changes by single changes, or by several sizes: 8 times, or as
    often as it will below 0.05; above 0.2 one change at least is that of one step.

    Examples
    --------
    >>> code_of(np.array([0.0, 0.1, 0.0, 0.1, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0]))
    Code(step=0.1, flickers=True)
    """
    changes = np.diff(values)
    moved = np.flatnonzero(np.abs(changes) > _TINY)
    if moved.size == 0:
        return Code(0.0)
    drawn = _drawn(values, moved)
    step, written = _step(drawn)
    if step == 0.0 or (moved.size < _FEWEST_CHANGES and step > _FEW_TELL):
        return Code(0.0)
    sizes, signs = np.abs(changes[moved]), np.sign(changes[moved])
    one = sizes <= _ONE_CODE * step
    flickers = int(np.count_nonzero((signs[1:] != signs[:-1]) & one[1:] & one[:-1])) >= _FEWEST_FLICKERS
    if step > _SEEN and not one.any():
        return Code(0.0)
    return Code(step, flickers) if flickers or _is_recorders(moved, sizes / written) else Code(0.0)


def _drawn(values: FloatArray, moved: IntArray) -> FloatArray:
    """Values of a channel, rising: evenly drawn, and those about its changes."""
    every = max(1, values.size // _SAMPLED)
    few = moved[:: max(1, moved.size // _SAMPLED)]
    drawn: FloatArray = np.sort(np.concatenate((values[::every], values[few], values[few + 1])))
    return drawn


def _is_recorders(moved: IntArray, multiples: FloatArray) -> bool:
    """Whether changes are those of a recorder: single ones, or of several sizes; a motor's are nearly all alike."""
    alone = moved.size == 1 or float(np.mean(np.diff(moved) > 1)) > 0.5
    others = multiples.size - int(np.unique(np.round(multiples), return_counts=True)[1].max())
    return alone or others >= max(_FEWEST_FLICKERS, _OTHERS * multiples.size)


def _written(known: FloatArray) -> float:
    """What all values are apart by whole multiples of; 0: nothing that shows."""
    apart = np.diff(known)
    found = float(apart.min())
    while found >= _FINEST / 2.0:
        left = np.abs(apart - found * np.round(apart / found))
        rest = left[left > _ROUNDING]
        if rest.size == 0:
            return found * float(np.mean(apart / (found * np.round(apart / found))))
        found = float(rest.min())
    return 0.0


def _step(drawn: FloatArray) -> tuple[float, float]:
    """The coarsest lattice on which values lie, as written, and what was written."""
    known = drawn[np.concatenate(([True], np.diff(drawn) > _TINY))]
    written = _written(known)
    span = float(known[-1] - known[0])
    code = _lattice(known, max(written, span / 2**_FINEST_SHARE))
    if code == 0.0 and 0.0 < written < span / 2**_FINEST_SHARE:
        known = _densest(known, span / _PART)
        code = _lattice(known, max(written, span / _PART / 2**_FINEST_SHARE))
    step = code or written
    if code > 0.0 and written > 0.0:
        step = float(np.ceil(code / written - _SELDOM)) * written
    return (step, written or step) if (1.0 - _SAME) * _FINEST <= step <= _COARSEST else (0.0, 0.0)


def _densest(known: FloatArray, width: float) -> FloatArray:
    """Of values, rising, those of the stretch of that width with most of them."""
    ends = np.searchsorted(known, known + width, side="right")
    first = int((ends - np.arange(known.size)).argmax())
    return known[first : ends[first]]


def _lattice(known: FloatArray, written: float) -> float:
    """The widest lattice on which values lie to within what was written; 0: none that chance could not make."""
    values = known[:: max(1, known.size // _MOST_VALUES)] - known[0]
    span = float(values[-1])
    if values.size < _FEWEST_VALUES or span < _LEAST_WRITTEN * written:
        return 0.0
    count = int(2 ** np.ceil(np.log2(span / written + 1.0)))
    marks = np.bincount(np.round(values / written).astype(np.intp), minlength=count)
    power = np.abs(np.fft.rfft(marks, 2 * count))
    low = max(int(2 * count * written / _COARSEST), 4)
    high = int(2 * count / _LEAST_WRITTEN)
    while low < high:
        places = np.arange(low, min(2 * low, high))
        octave = power[np.where(places < power.size, places, 2 * count - places)]
        for place in np.sort(places[np.argsort(octave)[-_PEAKS:]]).tolist():
            code = _fitted(values, 2 * count * written / place, written)
            likely = (2.0 * _FIT * written / code) ** (values.size - 2) * high if code > 0.0 else 1.0
            if likely < _CHANCE:
                return code
        low *= 2
    return 0.0


def _fitted(values: FloatArray, code: float, written: float) -> float:
    """The code of the straight line through values over their number; 0 where one lies too far off, or two on one."""
    for _ in range(2):
        number = np.round(values / code)
        if (np.diff(number) < 1.0).any():
            return 0.0
        away = number - number.mean()
        code = float(away @ values) / float(away @ away)
    off = values - code * number
    return code if float(np.ptp(off)) <= 2.0 * _FIT * written + _ROUNDING else 0.0
