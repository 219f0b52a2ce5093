"""How noisy a channel is, and how finely it was digitised."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, series

OF_UNIFORM: Final = 12.0  # JCGM 100:2008, 4.3.7: square of a uniform distribution's width over its variance
MAD_TO_DEVIATION: Final = 1.4826  # standard deviation of normal values over their median distance to the median
JUST_OVER: Final = 1.05  # House definition: of the recorder's step, so that rounding does not take it for motion
_QUIET_SHARE: Final = 0.3  # House definition: the part of the time in which nothing but noise happens, at least
_NORMAL_QUANTILE: Final = 0.3853204664075676  # what 30 % of standard normal values stay below in magnitude
_NORMAL_MEAN: Final = 0.7978845608028654  # mean magnitude of standard normal values, root of 2 / pi
_BLOCK: Final = 50  # House definition: samples in which a valve that is hardly ever at rest may stand still
_LEAST_OF_MANY: Final = 1.3  # House definition: the least of many estimates is too small
_SECOND_DIFFERENCE: Final = 6.0**0.5  # root of 1 + 4 + 1
_LONGEST_LAG_S: Final = 0.03  # House definition: filters of recorders are no slower
_LAGS: Final = (1, 2, 4, 8)  # House definition: in samples
_TINY: Final = 1e-9  # House definition: a lesser change is rounding
_FINEST: Final = 1e-3  # House definition: a finer step of the recorder does not show in any figure
_COARSEST: Final = 1.0  # House definition: a coarser one is a step of the signal itself
_FEWEST: Final = 4  # House definition: two second differences
_FEWEST_CHANGES: Final = 8  # House definition: fewer tell no step
_FEWEST_FLICKERS: Final = 3  # House definition: jumps there and back, or sizes of steps, that are no chance
_WHOLE: Final = 0.02  # House definition: how far from whole a multiple of the step may be
_MOST: Final = 0.9  # House definition: the share of the changes that must be whole multiples
_BAND_DEVIATIONS: Final = 5.0  # House definition: normal noise leaves it once in 1.7 million samples
_OF_STEP: Final = 1.01  # House definition: noise that is no more than the recorder's step makes of itself
_LEAST_OF_STEP: Final = 0.1  # House definition: averaging goes no further below the recorder's step


@dataclass(frozen=True, slots=True)
class Noise:
    """Standard deviation of a channel at rest and its smallest recorded step, in the channel's unit."""

    deviation: float
    quantum: float  # 0: none was found
    flickers: bool = False  # the channel at rest jumps back and forth by that step

    @property
    def flicker(self) -> float:
        """The step by which a channel at rest jumps; 0 where it does not."""
        return self.quantum if self.flickers else 0.0

    @property
    def band(self) -> float:
        """What a single sample at rest stays within.

        Notes
        -----
        House definition: five standard deviations, or just over one step of the recorder where it flickers.
        """
        return max(_BAND_DEVIATIONS * self.deviation, JUST_OVER * self.flicker)

    def of_mean(self, count: int) -> float:
        """Standard deviation of a mean of ``count`` samples; averaging does not go below 0.1 of a step.

        Notes
        -----
        House definition: without noise above the recorder's step, every sample may be off the same way.
        """
        if count < 1:
            return float("inf")
        step = self.quantum / sqrt(OF_UNIFORM)
        return max(self.deviation / sqrt(count), step if self.deviation <= _OF_STEP * step else _LEAST_OF_STEP * step)


def noise_of(values: ArrayLike, interval_s: float) -> Noise:
    """Noise of a channel, whatever the valve does meanwhile.

    Parameters
    ----------
    values : array, shape (n,)
        The channel, in its own unit. A nan is skipped.
    interval_s : float
        Sampling interval [s].

    Returns
    -------
    Noise
        Zero for a channel without noise, and for fewer than four samples.

    Notes
    -----
    **House definition**: the 30 % quantile of the magnitude of second differences, which steady motion does
    not enter, scaled to the standard deviation of normal noise; the largest over lags of 1, 2, 4 and 8
    samples within 0.03 s, so that slightly filtered noise is seen; at least the step of the recorder over
    root 12. A channel is taken to be at rest, or in steady motion, for more than that part of the time.

    Examples
    --------
    >>> found = noise_of([0.0, 0.1, 0.0, 0.1, 0.1, 0.0, 0.1, 0.0, 0.1, 0.0], 1.0)
    >>> found.quantum, found.flickers
    (0.1, True)
    """
    channel = series(values, "values")
    usable = channel[np.isfinite(channel)]
    if usable.size < _FEWEST:
        return Noise(0.0, 0.0)
    quantum, flickers = _quantum(usable)
    lags = [lag for lag in _LAGS if lag == 1 or lag * interval_s <= _LONGEST_LAG_S]
    deviation = max(_at_lag(usable, lag) for lag in lags if usable.size > 2 * lag)
    return Noise(max(deviation, quantum / OF_UNIFORM**0.5) if flickers else deviation, quantum, flickers)


def quietest_noise(values: ArrayLike, noise: Noise) -> Noise:
    """Noise of a channel in its quietest stretch, for a valve that is hardly ever at rest.

    Parameters
    ----------
    values : array, shape (n,)
        The channel. A nan is skipped.
    noise : Noise
        Of the whole channel, as :func:`noise_of` gives it: the result is at most that.

    Notes
    -----
    **House definition**: the least mean magnitude of second differences over blocks of 50 samples, scaled to the
    standard deviation of normal noise, 1.3 times over, since the least of many estimates is too small.
    """
    channel = series(values, "values")
    usable = channel[np.isfinite(channel)]
    count = usable.size // _BLOCK
    if count < 2:
        return noise
    blocks = usable[: count * _BLOCK].reshape(count, _BLOCK)
    second = np.abs(blocks[:, 2:] - 2.0 * blocks[:, 1:-1] + blocks[:, :-2])
    least = float(second.mean(axis=1).min()) / _NORMAL_MEAN / _SECOND_DIFFERENCE
    floor = noise.quantum / OF_UNIFORM**0.5 if noise.flickers else 0.0
    return Noise(min(noise.deviation, max(_LEAST_OF_MANY * least, floor)), noise.quantum, noise.flickers)


def _at_lag(values: FloatArray, lag: int) -> float:
    second = np.abs(values[2 * lag :] - 2.0 * values[lag:-lag] + values[: -2 * lag])
    return float(np.quantile(second, _QUIET_SHARE)) / _NORMAL_QUANTILE / _SECOND_DIFFERENCE


def _quantum(values: FloatArray) -> tuple[float, bool]:
    """The recorder's step, 0 where none is found, and whether the channel flickers by it."""
    changes = np.diff(values)
    moved = np.flatnonzero(np.abs(changes) > _TINY)
    if moved.size < _FEWEST_CHANGES:
        return 0.0, False
    sizes = np.abs(changes[moved])
    step = float(sizes.min())
    if not _FINEST <= step <= _COARSEST:
        return 0.0, False
    multiples = np.round(sizes / step)
    if float(np.quantile(np.abs(sizes / step - multiples), _MOST)) > _WHOLE:
        return 0.0, False
    signs = np.sign(changes[moved])
    back = (signs[1:] != signs[:-1]) & (multiples[1:] == 1.0) & (multiples[:-1] == 1.0)
    flickers = int(np.count_nonzero(back)) >= _FEWEST_FLICKERS
    alone = float(np.mean(np.diff(moved) > 1)) > 0.5
    return (step, flickers) if flickers or alone or np.unique(multiples).size >= _FEWEST_FLICKERS else (0.0, False)
