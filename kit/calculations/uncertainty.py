"""Uncertainty: components, budgets, and how the readings' weights carry accuracy, resolution and scatter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, isfinite, isnan, sqrt
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtri, stdtrit

from kit.basis.arrays import CalculationInputError, FloatArray, floats, series
from kit.basis.quantity import Component
from kit.calculations.distribution import ErrorDistribution, distribution_of, least_freedom

FEWEST_FOR_T: Final = 4.0
"""Degrees of freedom of the scatter itself from which on Welch and Satterthwaite's formula holds: House definition."""
GUARD_COVERAGE: Final = 0.9545  # of TUR and guard bands
_ROOT_THREE: Final = sqrt(3.0)


@dataclass(frozen=True, slots=True)
class Budget:
    """An uncertainty budget: components and what they combine to, in the unit of the result."""

    components: tuple[Component, ...]
    standard_uncertainty: float
    degrees_of_freedom: float
    coverage_probability: float
    coverage_factor: float
    expanded_uncertainty: float

    @property
    def scatter_freedom(self) -> float:
        """Fewest degrees of freedom of any scatter in it; infinity where there is none."""
        return least_freedom(self.components)

    @property
    def distribution(self) -> ErrorDistribution:
        """Distribution of the error, as JCGM 101:2008 gives it."""
        return distribution_of(self.components)

    @property
    def two_sigma(self) -> float:
        """Expanded uncertainty at 95.45 %, which TUR and guard bands rest on whatever the coverage of U is."""
        if self.coverage_probability == GUARD_COVERAGE:
            return self.expanded_uncertainty
        return combine(self.components, coverage_probability=GUARD_COVERAGE).expanded_uncertainty

    @property
    def guard_band(self) -> float:
        """Half width of the guard band; beyond it no more than 2.275 % of the distribution lie either way.

        Notes
        -----
        **House definition**: the greater of U at 95.45 % and of the distribution's own half width: Welch and
        Satterthwaite's formula may fall short of it by up to 11 % at 4 degrees of freedom and 1 % at 20.
        """
        expanded, errors = self.two_sigma, self.distribution
        within = not FEWEST_FOR_T <= self.scatter_freedom < inf
        if within or errors.beyond(expanded) <= 0.5 * (1.0 - GUARD_COVERAGE):
            return expanded
        return errors.half_width(GUARD_COVERAGE)


def rectangular(
    name: str, half_width: float, unit: str, *, instrument: str = "", sensitivity: float = 1.0
) -> Component:
    """Component of a quantity known to lie within plus or minus ``half_width``.

    References
    ----------
    JCGM 100:2008, 4.3.7: u = a / sqrt(3).

    Examples
    --------
    >>> round(rectangular("voltmeter", 15.0, "uV").standard_uncertainty, 2)
    8.66
    """
    return Component(name, instrument, half_width, unit, "rectangular", _ROOT_THREE, sensitivity)


def resolution(name: str, step: float, unit: str, *, instrument: str = "", sensitivity: float = 1.0) -> Component:
    """Component of an indication read in steps of ``step``.

    References
    ----------
    JCGM 100:2008, F.2.2.1: u = 0.29 of the step, which is step / (2 sqrt(3)).

    Examples
    --------
    >>> round(resolution("voltmeter", 1.0, "mV").standard_uncertainty, 2)
    0.29
    """
    return Component(name, instrument, step, unit, "resolution", 2.0 * _ROOT_THREE, sensitivity)


def type_a(
    name: str, standard_deviation: float, unit: str, degrees_of_freedom: float, *, sensitivity: float = 1.0
) -> Component:
    """Component from the scatter of repeats, as the standard deviation of their (weighted) mean.

    References
    ----------
    JCGM 100:2008, 4.2.3.

    Examples
    --------
    >>> type_a("scatter", 0.33, "degC", 19).standard_uncertainty
    0.33
    """
    return Component(name, "", standard_deviation, unit, "normal", 1.0, sensitivity, degrees_of_freedom)


def accuracy_half_width(
    reading: ArrayLike,
    *,
    pct_reading: float | None = None,
    pct_range: float | None = None,
    range_span: float | None = None,
    fixed: float | None = None,
) -> FloatArray:
    """Half width of an instrument's accuracy statement at each reading.

    Parameters
    ----------
    reading : array, any shape
        Readings [unit of the instrument]. A nan or an infinity gives nan.
    pct_reading, pct_range : float or None
        Terms of the statement [% of reading, % of range]; None: no such term.
    range_span : float or None
        Span of the range [unit of the instrument]; ``pct_range`` needs it.
    fixed : float or None
        Fixed term [unit of the instrument]; None: no such term.

    Returns
    -------
    array
        Same shape [unit of the instrument]: the sum of the terms. A statement without any term is an error,
        since it would leave the readings without an uncertainty.

    References
    ----------
    JCGM 100:2008, 4.3.7, example 2: the terms add up to one bound.

    Examples
    --------
    >>> width = accuracy_half_width(0.928571, pct_reading=14e-4, pct_range=2e-4, range_span=1.0)
    >>> round(float(width) * 1e6, 1)
    15.0
    """
    if pct_reading is None and pct_range is None and fixed is None:
        raise CalculationInputError(
            "The accuracy statement has no term; give % of reading, % of range or a fixed term."
        )
    readings = floats(reading)
    constant = 0.0 if fixed is None else fixed
    if pct_range is not None:
        if range_span is None:
            raise CalculationInputError(f"An accuracy of {pct_range:g} % of range needs the range; give its span.")
        constant += pct_range / 100.0 * abs(range_span)
    width = np.where(np.isfinite(readings), constant, np.nan)
    return width if pct_reading is None else width + np.abs(readings) * pct_reading / 100.0


def spread_of_accuracy(weights: ArrayLike, point: ArrayLike, half_width: ArrayLike) -> float:
    """Half width of a figure from the accuracy of the readings that it rests on.

    Parameters
    ----------
    weights : array, shape (n,)
        d(figure)/d(reading).
    point : array of int, shape (n,)
        Test point of each reading.
    half_width : float or array, shape (n,)
        Half width of the accuracy at each reading. One that carries no weight may be nan.

    Returns
    -------
    float
        The greater of sqrt(sum over the points of (sum of w a)^2) and of the plain sum of w a over all of them, to be
        divided by sqrt(3) for the standard uncertainty.

    Notes
    -----
    **House definition**: one instrument's accuracy error is common to the readings of one point (JCGM
    100:2008, 5.2.2, r = 1), so that it cancels in a difference at one point. From point to point it is independent
    in a difference (r = 0), where that is the worse of the two, and common in a mean (r = 1), which averages
    it no further down.

    Examples
    --------
    >>> spread_of_accuracy([1, -1], [4, 4], 0.3), round(spread_of_accuracy([1, -1], [0, 4], 0.3), 4)
    (0.0, 0.4243)
    >>> spread_of_accuracy([0.5, 0.5], [0, 4], 0.3)
    0.3
    """
    carried = series(weights, "weights")
    width = np.where(carried != 0.0, floats(half_width), 0.0)
    sums = np.bincount(np.atleast_1d(np.asarray(point, dtype=np.intp)), weights=carried * width)
    return max(sqrt(float(sums @ sums)), abs(float(sums.sum())))


def spread_of_resolution(weights: ArrayLike, point: ArrayLike) -> float:
    """How the resolution of the readings shows in a figure that rests on them.

    Parameters
    ----------
    weights : array, shape (n,)
        d(figure)/d(reading).
    point : array of int, shape (n,)
        Test point of each reading.

    Returns
    -------
    float
        sqrt(sum over the points of (sum of positive w)^2 + (sum of negative w)^2), the sensitivity to
        one resolution.

    Notes
    -----
    **House definition**: repeats at one point may all round the same way, so that a mean does not average
    the resolution down; a difference carries it twice.

    Examples
    --------
    >>> spread_of_resolution([0.5, 0.5], [4, 4]), round(spread_of_resolution([1, -1], [4, 4]), 4)
    (1.0, 1.4142)
    """
    carried = series(weights, "weights")
    points = np.atleast_1d(np.asarray(point, dtype=np.intp))
    sums = np.bincount(2 * points + (carried < 0.0), weights=carried)
    return sqrt(float(sums @ sums))


def effective_degrees_of_freedom(standard_uncertainties: Sequence[float], degrees_of_freedom: Sequence[float]) -> float:
    """Degrees of freedom of a combined standard uncertainty.

    Parameters
    ----------
    standard_uncertainties : sequence of float
        Of the components, in the unit of the result.
    degrees_of_freedom : sequence of float
        Of the same components, above 0; infinity allowed.

    Returns
    -------
    float
        Real-valued, not truncated. Infinity where no component with finite degrees of freedom counts.

    References
    ----------
    JCGM 100:2008, G.4.1, equation (G.2b), Welch-Satterthwaite.

    Examples
    --------
    >>> round(effective_degrees_of_freedom([3.0, 4.0], [5, float("inf")]), 2)
    38.58
    """
    pairs = list(zip(standard_uncertainties, degrees_of_freedom, strict=True))
    for _, freedom in pairs:
        _require_freedom(freedom)
    combined = sum(uncertainty**2 for uncertainty, _ in pairs)
    # Shares of the whole, so that the fourth powers of tiny uncertainties do not vanish.
    finite = sum((uncertainty**2 / combined) ** 2 / freedom for uncertainty, freedom in pairs) if combined else 0.0
    return 1.0 / finite if finite else inf


def coverage_factor(probability: float, degrees_of_freedom: float) -> float:
    """Factor k that makes k times the standard uncertainty cover ``probability``.

    Parameters
    ----------
    probability : float
        Coverage probability, two-sided, between 0 and 1 [-].
    degrees_of_freedom : float
        Above 0; real values and infinity allowed [-].

    References
    ----------
    JCGM 100:2008, G.3 and Table G.2: quantile of the t distribution. **House definition**: degrees of freedom
    are not truncated to an integer.

    Examples
    --------
    >>> round(coverage_factor(0.9545, 10), 2), round(coverage_factor(0.9545, float("inf")), 2)
    (2.28, 2.0)
    """
    if not 0.0 < probability < 1.0:
        raise CalculationInputError(f"A coverage probability of {probability:g} is none; give one between 0 and 1.")
    _require_freedom(degrees_of_freedom)
    quantile = 0.5 * (1.0 + probability)
    return float(stdtrit(degrees_of_freedom, quantile)) if isfinite(degrees_of_freedom) else float(ndtri(quantile))


def combine(components: Sequence[Component], *, coverage_probability: float) -> Budget:
    """Budget of uncorrelated components.

    Parameters
    ----------
    components : sequence of Component
        At least one; none may be nan.
    coverage_probability : float
        Between 0 and 1 [-].

    References
    ----------
    JCGM 100:2008, 5.1.2, equation (10), and G.4.1. **House definition**: where a scatter has fewer than 4 degrees of
    freedom of its own, Welch and Satterthwaite's formula gives a factor too small by up to 70 %; the factor
    is then that of the coverage interval of JCGM 101:2008, and never below the normal one.

    Examples
    --------
    >>> budget = combine([rectangular("a", 3.0, "%"), resolution("b", 0.1, "%")], coverage_probability=0.9545)
    >>> round(budget.standard_uncertainty, 4), round(budget.expanded_uncertainty, 3)
    (1.7323, 3.465)
    >>> few = combine([rectangular("a", 1.0, "%"), type_a("b", 0.3, "%", 1)], coverage_probability=0.9545)
    >>> round(few.coverage_factor, 1)
    6.6
    """
    if not components:
        raise CalculationInputError("A budget without a component has no uncertainty; give at least one.")
    parts = [component.standard_uncertainty for component in components]
    for component, part in zip(components, parts, strict=True):
        if isnan(part):
            raise CalculationInputError(f"The component {component.name!r} is nan; leave the budget out altogether.")
    standard = sqrt(sum(part**2 for part in parts))
    freedom = effective_degrees_of_freedom(parts, [component.degrees_of_freedom for component in components])
    factor = coverage_factor(coverage_probability, freedom)
    if least_freedom(components) < FEWEST_FOR_T:
        normal = coverage_factor(coverage_probability, inf)
        factor = max(normal, distribution_of(components).half_width(coverage_probability) / standard)
    return Budget(tuple(components), standard, freedom, coverage_probability, factor, factor * standard)


def _require_freedom(degrees_of_freedom: float) -> None:
    if not degrees_of_freedom > 0.0:
        raise CalculationInputError(f"{degrees_of_freedom:g} degrees of freedom are none; give a number above 0.")
