"""Two levels of a channel, from two lots of samples of which neither need be of one level alone."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.calculations.recordings.noise import noise_of

_NOISE_KNOWN_TO: Final = 0.03  # House definition: of its variance, how well the noise of a lot is known
_CLEAR: Final = 3.0  # House definition: deviations by which a lot varies more than by noise
_LEANS: Final = 0.3  # House definition: of the skewness of two levels, what tells them from a level that drifts
_BETWEEN: Final = 0.1  # House definition: of what the lots hide of the fall, what samples between the levels may make
_BIT: Final = 0.01  # House definition: of a deviation, over which slopes are taken
_NEAR: Final = 3.0  # House definition: deviations about a level, within which its samples lie
_MOST: Final = 0.9  # House definition: of the samples, what lies near one of two levels
_FEWEST: Final = 30  # House definition: samples of a lot that tell how much it varies


@dataclass(frozen=True, slots=True)
class TwoLevels:
    """What two lots of samples tell of the levels that they are of, in the unit of the channel."""

    upper: float
    fall: float  # from the upper level to the lower; nan: it cannot be told
    deviation: float  # standard deviation of the fall: noise, how well it is known, samples between the levels


def two_levels(mostly_upper: FloatArray, mostly_lower: FloatArray) -> TwoLevels | None:
    """The levels behind two lots, where they vary by more than noise; None: each lot is of one level.

    Parameters
    ----------
    mostly_upper, mostly_lower : array, shape (n,), (m,)
        Samples, finite. Of the first less than half are of the lower level; of the second any part.

    Notes
    -----
    Of a mixture of two levels D apart with the part p at the lower one, the mean lies p D below the upper and the
    variance is p (1 - p) D^2 and that of the noise: any textbook. With M between the means of the lots, and a and b
    the variance of the lower and the upper lot beyond noise, that makes D^2 = (M + (a - b) / M)^2 + 4 b.
    **House definition**: the noise is that of the first lot from sample to sample; where that lot varies by more and
    leans to no side it is a level that drifts, and all of that is noise. Beyond noise is three deviations of the
    variance. Samples of which one in ten lies near neither level are not of two levels.

    Examples
    --------
    >>> noise = np.random.default_rng(1).normal(0.0, 0.1, (2, 4000))
    >>> runs = np.arange(4000) % 4 == 0
    >>> found = two_levels(24.0 + noise[0], 24.0 - 1.0 * runs + noise[1])
    >>> round(found.upper, 1), round(found.fall, 1)
    (24.0, 1.0)
    """
    if min(mostly_upper.size, mostly_lower.size) < _FEWEST:
        return None
    apart = float(mostly_upper.mean() - mostly_lower.mean())
    variance, varies = float(mostly_upper.var()), float(mostly_lower.var())
    noise = min(noise_of(mostly_upper, 1.0).deviation ** 2, variance)
    if noise == 0.0 or apart < 0.0:
        return None
    known_to = (_known_to(noise, mostly_upper.size), _known_to(noise, mostly_lower.size))
    of_upper = variance - noise if variance - noise > _CLEAR * known_to[0] else 0.0
    if of_upper and not _leans(mostly_upper, of_upper, apart):
        noise, of_upper = variance, 0.0
        known_to = (_known_to(noise, mostly_upper.size), _known_to(noise, mostly_lower.size))
    of_lower = varies - noise if varies - noise > _CLEAR * known_to[1] else 0.0
    if of_upper == 0.0 and of_lower == 0.0:
        return None
    of_apart = sqrt(noise * (1.0 / mostly_upper.size + 1.0 / mostly_lower.size))
    if apart <= _CLEAR * of_apart:
        return TwoLevels(float(mostly_upper.mean()), float("nan"), 0.0)
    fall = _fall(apart, of_lower, of_upper)
    part = 0.5 * (1.0 - sqrt(max(0.0, 1.0 - 4.0 * of_upper / fall**2)))
    upper = float(mostly_upper.mean()) + part * fall
    if not _is_of_two(mostly_lower, upper, fall, sqrt(noise)):
        return None
    deviations = (
        of_apart,
        hypot(known_to[1], 2.0 * sqrt(of_lower * noise / mostly_lower.size)),
        hypot(known_to[0], 2.0 * sqrt(of_upper * noise / mostly_upper.size)),
    )
    between = _BETWEEN * abs(fall - apart) / sqrt(3.0)
    return TwoLevels(upper, fall, hypot(_of_fall((apart, of_lower, of_upper), deviations), between))


def _is_of_two(values: FloatArray, upper: float, fall: float, deviation: float) -> bool:
    """Whether nearly all samples are near one of two levels, as those of a fall that is deepest at first are not."""
    near = (np.abs(values - upper) < _NEAR * deviation) | (np.abs(values - upper + fall) < _NEAR * deviation)
    return float(near.mean()) >= _MOST


def _known_to(noise: float, count: int) -> float:
    """Standard deviation of the variance of so many samples of a noise, and of what is known of the noise."""
    return noise * hypot(_NOISE_KNOWN_TO, sqrt(2.0 / count))


def _leans(values: FloatArray, varies: float, apart: float) -> bool:
    """Whether samples vary as those of two levels do, of which the lower has fewer."""
    fall = _fall(apart, 0.0, varies) if apart > 0.0 else 0.0
    share = 1.0 - 4.0 * varies / fall**2 if fall > 0.0 else 0.0
    skew = float(((values - values.mean()) ** 3).mean())
    return share > 0.0 and skew < -_LEANS * varies * sqrt(share) * fall


def _fall(apart: float, of_lower: float, of_upper: float) -> float:
    return hypot(apart + (of_lower - of_upper) / apart, 2.0 * sqrt(of_upper))


def _of_fall(given: tuple[float, float, float], deviations: tuple[float, float, float]) -> float:
    """Standard deviation of the fall, from those of what it is drawn from."""
    total = 0.0
    for place, deviation in enumerate(deviations):
        moved = [each + _BIT * deviation * (number == place) for number, each in enumerate(given)]
        total += ((_fall(*moved) - _fall(*given)) / _BIT) ** 2
    return sqrt(total)
