"""The distribution of an error that several sources make up: rectangles of instruments, scatter of repeats."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import fsum, inf, isfinite, log, log1p, pi, sqrt
from typing import Final

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from kit.basis.arrays import CalculationInputError, FloatArray
from kit.basis.quantity import Component

_ROOT_THREE: Final = sqrt(3.0)
_ROOT_TWO_PI: Final = sqrt(2.0 * pi)
_NODES: Final = 48  # of one scatter; several share their product
_MOST_NODES: Final = 600
_SMALL: Final = 0.02  # of the whole: below it the shape of a rectangle shows nowhere
_KNOWN: Final = 200.0  # degrees of freedom from which on a t distribution is taken as normal
_LEAST_LOG: Final = 14.0  # natural logarithm of how much of the scatter's own distribution may be cut off
_LEAST_TAIL: Final = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class ErrorDistribution:
    """Distribution of a sum of independent errors, symmetric about 0.

    The two widest rectangles are integrated exactly, the others by Gauss's points; a scatter with few degrees of
    freedom is a mixture of normal distributions.
    """

    widths: tuple[float, ...]  # half widths of the two widest rectangles, or fewer [unit of the error]
    offset: FloatArray  # (i,) points over the others together [unit of the error]
    share: FloatArray  # (i,) their weights [-]
    deviation: FloatArray  # (j,) standard deviations of the normal distributions [unit of the error]
    weight: FloatArray  # (j,) their weights [-]

    def beyond(self, distance: float) -> float:
        """Probability that the error exceeds ``distance`` [unit of the error], which may be negative [-]."""
        if distance < 0.0:
            return 1.0 - self.beyond(-distance)
        places, factors = np.array([distance]), np.array([1.0])
        for width in self.widths:
            places = np.concatenate((places + width, places - width))
            factors = np.concatenate((factors, -factors)) / (2.0 * width)
        at = places[:, None, None] - self.offset[:, None]
        tails = _integrated_tail(at, self.deviation, len(self.widths))
        found = float(factors @ (tails @ self.weight) @ self.share)
        return min(max(found, 0.0), 0.5)

    def half_width(self, probability: float) -> float:
        """What the error exceeds either way with 1 - ``probability`` [unit of the error].

        References
        ----------
        JCGM 101:2008, 7.7: the coverage interval, probabilistically symmetric.
        """
        wanted = 0.5 * (1.0 - probability)
        high = max(fsum(self.widths) + float(np.sqrt(self.weight @ self.deviation**2)), _LEAST_TAIL)
        while self.beyond(high) > wanted:
            high *= 2.0

        def missed(distance: float) -> float:
            return log(max(self.beyond(distance), _LEAST_TAIL)) - log(wanted)

        return float(brentq(missed, 0.0, high, xtol=1e-7 * high, rtol=1e-7))


def distribution_of(components: Sequence[Component]) -> ErrorDistribution:
    """Distribution of the error that a budget's components make up.

    Parameters
    ----------
    components : sequence of Component
        Uncorrelated. Accuracy and resolution are rectangles; scatter is a t distribution with its own degrees of
        freedom, normal where these are infinite.

    References
    ----------
    JCGM 101:2008, 6.4.2 (rectangular), 6.4.9.2 (t for an average of repeats) and 5.2 (propagation). **House
    definition**: by quadrature, to about 1e-4; a rectangle below 2 % of the whole enters as a normal distribution.

    Examples
    --------
    >>> from kit.calculations.uncertainty import rectangular, type_a
    >>> round(distribution_of([rectangular("a", 1.0, "%")]).beyond(0.5), 6)
    0.25
    >>> round(distribution_of([type_a("b", 1.0, "%", 1)]).half_width(0.9545), 2)
    13.97
    """
    if not components:
        raise CalculationInputError("Errors without a component have no distribution; give at least one.")
    parts = [(each.standard_uncertainty, each) for each in components if each.standard_uncertainty > 0.0]
    least = _SMALL * sqrt(sum(part**2 for part, _ in parts))
    wide = sorted((part * _ROOT_THREE for part, each in parts if _is_wide(each, part, least)), reverse=True)
    scatters = [(part, each.degrees_of_freedom) for part, each in parts if each.degrees_of_freedom < _KNOWN]
    normal = sum(
        part**2 for part, each in parts if not _is_wide(each, part, least) and each.degrees_of_freedom >= _KNOWN
    )
    deviation, weight = _mixture(scatters, normal)
    offset, share = _points(wide[2:])
    return ErrorDistribution(tuple(wide[:2]), offset, share, deviation, weight)


def _is_wide(component: Component, part: float, least: float) -> bool:
    return component.distribution != "normal" and part > least


def _integrated_tail(at: FloatArray, deviation: FloatArray, times: int) -> FloatArray:
    """P(normal > at), integrated over ``at`` none, one or two times; shape of ``at`` by that of ``deviation``."""
    if not deviation.any():
        step = np.broadcast_to(np.minimum(at, 0.0), np.broadcast_shapes(at.shape, deviation.shape))
        return (step < 0.0).astype(float) if times == 0 else step if times == 1 else 0.5 * step**2
    scaled = at / deviation
    tail: FloatArray = ndtr(-scaled)
    if times == 0:
        return tail
    density = np.exp(-0.5 * scaled**2) / _ROOT_TWO_PI
    if times == 1:
        return deviation * (scaled * tail - density)
    return 0.5 * deviation**2 * ((scaled**2 + 1.0) * tail - scaled * density)


def _mixture(scatters: Sequence[tuple[float, float]], normal: float) -> tuple[FloatArray, FloatArray]:
    """Normal distributions that scatters and what is normal anyway come to: deviations and weights."""
    variance, weight = np.array([normal]), np.array([1.0])
    nodes = _NODES if len(scatters) < 2 else max(8, int(_MOST_NODES ** (1.0 / len(scatters))))
    for deviation, freedom in scatters:
        precision, own = _precisions(freedom, nodes)
        variance = np.add.outer(variance, deviation**2 / precision).ravel()
        weight = np.multiply.outer(weight, own).ravel()
    return np.sqrt(variance), weight


@lru_cache(maxsize=256)
def _precisions(freedom: float, nodes: int) -> tuple[FloatArray, FloatArray]:
    """Chi-squared over its degrees of freedom: places, evenly over its logarithm, and their weights."""
    half = 0.5 * freedom
    reach = _LEAST_LOG / half + sqrt(2.0 * _LEAST_LOG / half)
    place = np.linspace(-reach, log1p(reach), nodes)
    weight = np.exp(half * (place - np.expm1(place)))
    return np.exp(place), weight / weight.sum()


def _points(half_widths: Sequence[float]) -> tuple[FloatArray, FloatArray]:
    """Gauss's points over rectangles that add up, the widest with the most: offsets and weights."""
    offset, share = np.zeros(1), np.ones(1)
    for number, half_width in enumerate(half_widths):
        node, weight = _gauss(max(2, 5 - number))
        offset = np.add.outer(offset, half_width * node).ravel()
        share = np.multiply.outer(share, 0.5 * weight).ravel()
    return offset, share


@lru_cache(maxsize=8)
def _gauss(count: int) -> tuple[FloatArray, FloatArray]:
    return np.polynomial.legendre.leggauss(count)


def least_freedom(components: Sequence[Component]) -> float:
    """Fewest degrees of freedom of any component that counts; infinity where none are finite. House definition.

    Examples
    --------
    >>> from kit.calculations.uncertainty import rectangular, type_a
    >>> least_freedom([rectangular("a", 1.0, "%"), type_a("b", 1.0, "%", 3)])
    3
    """
    return min(
        (
            each.degrees_of_freedom
            for each in components
            if isfinite(each.degrees_of_freedom) and each.standard_uncertainty > 0.0
        ),
        default=inf,
    )
