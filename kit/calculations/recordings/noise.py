"""How noisy a channel is, and how finely it was digitised."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, pi, sqrt
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray, series
from kit.calculations.recordings.codes import code_of

OF_UNIFORM: Final = 12.0  # JCGM 100:2008, 4.3.7: square of a uniform distribution's width over its variance
MAD_TO_DEVIATION: Final = 1.4826  # standard deviation of normal values over their median distance to the median
JUST_OVER: Final = 1.05  # House definition: of the recorder's step, so that rounding does not take it for motion
_QUIET_SHARE: Final = 0.3  # House definition: the part of the time in which nothing but noise happens, at least
_NORMAL_QUANTILE: Final = 0.3853204664075676  # what 30 % of standard normal values stay below in magnitude
_NORMAL_MEAN: Final = 0.7978845608028654  # mean magnitude of standard normal values, root of 2 / pi
_BLOCK: Final = 50  # House definition: samples in which a valve that is hardly ever at rest may stand still
_LEAST_OF_MANY: Final = 1.3  # House definition: the least of many estimates is too small
_SECOND_DIFFERENCE: Final = 6.0**0.5  # root of 1 + 4 + 1
_DRAWN: Final = 20_000  # House definition: second differences, evenly drawn, that tell the noise to 1 %
_LONGEST_LAG_S: Final = 0.03  # House definition: filters of recorders are no slower
_LAGS: Final = (1, 2, 4, 8)  # House definition: in samples
_FEWEST: Final = 4  # House definition: two second differences
_BAND_DEVIATIONS: Final = 5.0  # House definition: normal noise leaves it once in 1.7 million samples
_WANDER_DEVIATIONS: Final = 2.0  # House definition: wander leaves twice that once in 20 rests
_LEAST_OF_STEP: Final = 0.1  # House definition: averaging goes no further below the recorder's step


@dataclass(frozen=True, slots=True)
class Noise:
    """What a channel at rest does, in its own unit: all that a figure drawn from it must allow for."""

    deviation: float  # standard deviation of single samples about a level, the recorder's step in it
    quantum: float  # greatest jump by one code of the recorder; 0: none was found
    flickers: bool = False  # the channel at rest jumps back and forth by that step
    wander: float = 0.0  # standard deviation of what is so slow that a mean over seconds does not lose it
    hum: float = 0.0  # amplitude of the slow beat of mains hum with the sampling, half of peak to peak
    hum_period_s: float = 0.0  # of that beat [s]; 0: there is none

    @property
    def flicker(self) -> float:
        """The step by which a channel at rest jumps; 0 where it does not."""
        return self.quantum if self.flickers else 0.0

    @property
    def band(self) -> float:
        """What a single sample at rest stays within, about the level of its rest.

        Notes
        -----
        House definition: five standard deviations, or just over one step of the recorder where it flickers, and the
        amplitude of the hum. Without the wander, which a valve's own slow swing looks like.
        """
        return max(_BAND_DEVIATIONS * self.deviation, JUST_OVER * self.flicker) + self.hum

    @property
    def reach(self) -> float:
        """What a single sample stays within about a level that was known some seconds before.

        Notes
        -----
        House definition: the band and twice the wander.
        """
        return self.band + _WANDER_DEVIATIONS * self.wander

    @property
    def of_step(self) -> float:
        """Standard deviation of what the recorder's step leaves open however many samples are averaged.

        References
        ----------
        Every sample may be off the same way by up to half a step: JCGM 100:2008, 4.3.7. Normal noise of standard
        deviation s beneath a step q takes away all but a sine of amplitude q / pi exp(-2 (pi s / q)^2): the first
        term of Fourier's series of the rounding (L. Schuchman, Dither signals and their effect on quantization noise,
        1964, from memory). **House definition**: never below 0.1 of what the step alone leaves.
        """
        alone = self.quantum / sqrt(OF_UNIFORM)
        if self.quantum == 0.0 or self.deviation <= alone:
            return alone
        beneath = (self.deviation**2 - alone**2) / self.quantum**2
        left = self.quantum / (pi * sqrt(2.0)) * exp(-2.0 * pi**2 * beneath)
        return min(alone, max(left, _LEAST_OF_STEP * alone))

    def of_mean(self, count: int) -> float:
        """Standard deviation of a mean of ``count`` samples in a row.

        Notes
        -----
        House definition: the root of the sum of squares of the samples' noise over the root of their number, of what
        the recorder's step leaves, of the wander, and of the hum, amplitude over root 2.
        """
        if count < 1:
            return float("inf")
        return sqrt(self.deviation**2 / count + self.of_step**2 + self.wander**2 + self.hum**2 / 2.0)

    def averaged(self, width: int) -> Noise:
        """Of means over ``width`` samples in a row: quieter, but for step, wander and hum."""
        left = self.of_step * sqrt(OF_UNIFORM)
        return replace(self, deviation=self.deviation / sqrt(width), quantum=left, flickers=False)

    def swing_in(self, seconds: float) -> float:
        """The most that the hum's beat moves the channel by within ``seconds``, in the unit of the channel."""
        if self.hum_period_s <= 0.0:
            return 0.0
        return 2.0 * self.hum * float(np.sin(pi * min(seconds / self.hum_period_s, 0.5)))


def noise_of(values: ArrayLike, interval_s: float) -> Noise:
    """Noise of the samples of a channel and the step of its recorder, whatever the valve does meanwhile.

    Parameters
    ----------
    values : array, shape (n,)
        The channel, in its own unit. A nan is skipped.
    interval_s : float
        Sampling interval [s].

    Returns
    -------
    Noise
        Zero for a channel without noise, and for fewer than four samples; without wander and hum.

    Notes
    -----
    **House definition**: the 30 % quantile of the magnitude of second differences (20,000 of them at most), which
    steady motion does not enter, scaled to the standard deviation of normal noise; the largest over lags of 1, 2, 4
    and 8 samples within 0.03 s, so that slightly filtered noise is seen. Where the channel flickers by its recorder's
    step, the values are spread evenly over that step first, and it is at least the step over root 12. A channel is
    taken to be at rest, or in steady motion, for more than that part of the time.

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
    code = code_of(usable)
    if code.flickers:
        usable = usable + code.step * (np.random.default_rng(0).random(usable.size, dtype=np.float32) - 0.5)
    lags = [lag for lag in _LAGS if lag == 1 or lag * interval_s <= _LONGEST_LAG_S]
    deviation = max(jitter_of(usable, lag) for lag in lags if usable.size > 2 * lag)
    if code.flickers:
        of_step = code.step**2 / OF_UNIFORM
        deviation = sqrt(max(deviation**2 - of_step, of_step))
    return Noise(deviation, code.step, code.flickers)


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
    return replace(noise, deviation=min(noise.deviation, max(_LEAST_OF_MANY * least, floor)))


def jitter_of(values: FloatArray, lag: int = 1) -> float:
    """Standard deviation of normal noise with the second differences of a channel.

    Parameters
    ----------
    values : array, shape (n,)
        Finite; more than twice the lag.
    lag : int
        Samples between the three that make a difference.

    Notes
    -----
    **House definition**: see :func:`noise_of`.

    Examples
    --------
    >>> jitter_of(np.arange(100.0))
    0.0
    """
    every = max(1, values.size // _DRAWN)
    second = np.abs(values[2 * lag :: every] - 2.0 * values[lag:-lag:every] + values[: -2 * lag : every])
    return float(np.quantile(second, _QUIET_SHARE)) / _NORMAL_QUANTILE / _SECOND_DIFFERENCE
