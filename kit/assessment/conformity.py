"""Decision rules: from a value, its limits and its uncertainty to a verdict."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Final, Literal

from scipy.special import ndtr

from kit.basis.settings import DecisionRule
from kit.basis.verdicts import CheckVerdict

Rule = Literal["simple", "guarded"]

TUR_TARGET: Final = 4.0  # common practice, no single source: 4:1
FEWEST_FOR_RATIO: Final = 9.0
"""Degrees of freedom from which on a scatter is known well enough for a ratio: House definition."""
_ROUNDING: Final = 1e-9  # relative; a value that differs from a limit only by binary rounding is on it


@dataclass(frozen=True, slots=True)
class Tolerance:
    """The limits of one check; None: no limit on that side."""

    lower: float | None
    upper: float | None

    @property
    def half_width(self) -> float | None:
        """Half the tolerance interval; None for a one-sided limit."""
        return None if self.lower is None or self.upper is None else (self.upper - self.lower) / 2

    def room(self, value: float) -> float:
        """How far ``value`` lies inside the nearest limit; negative outside, exactly 0 on it."""
        sides = [limit - value for limit in (self.upper,) if limit is not None]
        sides += [value - limit for limit in (self.lower,) if limit is not None]
        room = min(sides)
        scale = max(1.0, abs(value), *(abs(limit) for limit in (self.lower, self.upper) if limit is not None))
        return 0.0 if abs(room) <= _ROUNDING * scale else room

    def contains(self, low: float, high: float) -> bool:
        """Whether everything between two values, one of which may be infinite, lies inside the limits or on them."""
        above = self.lower is None or low >= self.lower
        return above and (self.upper is None or high <= self.upper)

    def excludes(self, low: float, high: float) -> bool:
        """Whether nothing between two values lies inside: ``> 60`` against at most 60 lies outside."""
        beyond = low >= high and self.room(low) < 0
        above = self.upper is not None and low < high and low >= self.upper
        return beyond or above or (self.lower is not None and low < high and high <= self.lower)


NO_LIMITS: Final = Tolerance(None, None)


def probability_of_conformity(value: float, standard_uncertainty: float, tolerance: Tolerance) -> float:
    """Probability that the quantity itself lies within the limits, for an error that is normal.

    Parameters
    ----------
    value, standard_uncertainty : float
        Measured value and its standard uncertainty, in the unit of the limits. A standard
        uncertainty of 0 gives 1 inside or on the limits and 0 outside.

    References
    ----------
    JCGM 106:2012, Evaluation of measurement data - The role of measurement uncertainty in
    conformity assessment, clauses 7.2 to 7.4.

    Examples
    --------
    >>> round(probability_of_conformity(-5.47, 0.05, Tolerance(None, -5.40)), 2)
    0.92
    """
    if standard_uncertainty == 0:
        return 1.0 if tolerance.room(value) >= 0 else 0.0
    return probability_within(value, tolerance, lambda distance: float(ndtr(-distance / standard_uncertainty)))


def probability_within(value: float, tolerance: Tolerance, beyond: Callable[[float], float]) -> float:
    """Probability that the quantity itself lies within the limits.

    Parameters
    ----------
    value : float
        Measured value, in the unit of the limits.
    beyond : callable
        Probability that the error exceeds a distance, which may be negative; symmetric about 0.

    References
    ----------
    JCGM 106:2012, 7.2 to 7.4. JCGM 101:2008, 5.1.1, for the distribution.

    Examples
    --------
    >>> probability_within(0.9, Tolerance(None, 1.0), lambda distance: 0.5 - distance)
    0.6
    """
    above = 0.0 if tolerance.upper is None else beyond(tolerance.upper - value)
    below = 0.0 if tolerance.lower is None else beyond(value - tolerance.lower)
    return max(0.0, 1.0 - above - below)


def uncertainty_ratio(tolerance: Tolerance, expanded_uncertainty: float) -> float | None:
    """Test uncertainty ratio: half the tolerance interval over U; None for a one-sided limit or without U.

    References
    ----------
    ANSI/NCSL Z540.3-2006, the definition of the test uncertainty ratio (from memory).

    Examples
    --------
    >>> uncertainty_ratio(Tolerance(-1.0, 1.0), 0.25)
    4.0
    """
    half_width = tolerance.half_width
    return None if half_width is None or expanded_uncertainty <= 0 else half_width / expanded_uncertainty


def simple_verdict(value: float, tolerance: Tolerance) -> CheckVerdict:
    """Pass inside or on the limit, fail outside.

    References
    ----------
    ILAC-G8:09/2019, clause 4.2.1, binary statement for the simple acceptance rule.

    Examples
    --------
    >>> simple_verdict(1.5, Tolerance(-1.5, 1.5)), simple_verdict(1.6, Tolerance(-1.5, 1.5))
    ('pass', 'fail')
    """
    return "pass" if tolerance.room(value) >= 0 else "fail"


def guarded_verdict(value: float, tolerance: Tolerance, expanded_uncertainty: float) -> CheckVerdict:
    """Four-way statement with a guard band as wide as the expanded uncertainty at 95.45 %.

    The limit itself belongs to the conditional pass, the inner edge of the guard band too.

    References
    ----------
    ILAC-G8:09/2019, clause 4.2.3, non-binary statement with guard band w = U. **House definition**: the guard band
    is never so narrow that a pass has more than 2.275 % of its distribution beyond a limit.

    Examples
    --------
    >>> [guarded_verdict(x, Tolerance(None, 1.0), 0.2) for x in (0.7, 0.9, 1.1, 1.3)]
    ['pass', 'conditional_pass', 'conditional_fail', 'fail']
    """
    room = tolerance.room(value)
    beyond_band = abs(room) - expanded_uncertainty > _ROUNDING * max(1.0, abs(room))
    if room >= 0:
        return "pass" if beyond_band else "conditional_pass"
    return "fail" if beyond_band else "conditional_fail"


def applied_rule(choice: DecisionRule, tur: float | None, scatter_freedom: float = inf) -> Rule:
    """The rule that a choice comes to: ``by_ratio`` is simple where the TUR is 4 or more, else guarded.

    Notes
    -----
    House definition, after ILAC-G8:09/2019 and the 4:1 of common practice. A one-sided limit has
    no ratio and is guarded. So is a check whose scatter has fewer than 9 degrees of freedom of its own, whose U may
    be small by luck.

    Examples
    --------
    >>> applied_rule("by_ratio", 4.0), applied_rule("by_ratio", 3.9), applied_rule("by_ratio", None)
    ('simple', 'guarded', 'guarded')
    """
    if choice != "by_ratio":
        return choice
    return "simple" if reaches_target(tur) and scatter_freedom >= FEWEST_FOR_RATIO else "guarded"


def reaches_target(tur: float | None) -> bool:
    """Whether a TUR is 4 or more, binary rounding aside; where there is none it does not."""
    return tur is not None and tur >= TUR_TARGET * (1 - _ROUNDING)
