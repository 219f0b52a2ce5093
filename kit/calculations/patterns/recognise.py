"""Which plain fault the means over a calibration resemble most, and which comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray
from kit.calculations.patterns.position_templates import AS_ASKED, POSITION_TEMPLATES
from kit.calculations.patterns.template import FREE, Fitted, Stops, Template

TRIM_PCT: Final = 0.15  # House definition: what a sound valve's zero, and its span, are off by (standard deviation)
READING_SCATTER_PCT: Final = 0.3  # House definition: standard deviation of one reading by eye or inclinometer
USUAL_FREEDOM: Final = 4.0  # House definition: degrees of freedom with which that is known
_A_PARAMETER: Final = 8.0  # House definition: what one more fitted parameter must gain; by chance once in a hundred
CLOSE: Final = 10.0  # House definition: a runner-up within this much of the best score is named
_SURE: Final = 6.0  # House definition: by which a fault is better than none


@dataclass(frozen=True, slots=True)
class Match:
    """The template that fits best, and how well."""

    template: Template
    fitted: Fitted
    stops: Stops  # between which it was fitted [% of travel]
    residual_pct: float  # root mean square of what the template leaves [% of travel]
    runner_up: str  # "" when nothing else comes near
    is_fault: bool  # it is none that is as asked, and that is not near either

    @property
    def pattern(self) -> str:
        return self.template.pattern

    @property
    def parameter(self) -> float | None:
        """The one fitted parameter; None where there is none, or more."""
        return self.fitted[0] if len(self.fitted) == 1 else None

    @property
    def reads(self) -> str:
        """The fitted parameters in words, "" for a template without one."""
        return self.template.reads(self.fitted)

    def part_pct(self, asked_pct: ArrayLike) -> FloatArray:
        """What the fault adds to what is asked for, shape as given [% of travel]."""
        asked = np.asarray(asked_pct, dtype=float)
        part: FloatArray = self.template.at(asked, self.fitted, self.stops) - asked
        return part


def recognise(
    asked_pct: ArrayLike,
    position_pct: ArrayLike,
    *,
    scatter_pct: ArrayLike = READING_SCATTER_PCT,
    freedom: float = USUAL_FREEDOM,
    trim_pct: float = 0.0,
    templates: Sequence[Template] = POSITION_TEMPLATES,
    has_stops: bool = True,
) -> Match | None:
    """The plain fault that mean positions resemble most; None with fewer than three points.

    Parameters
    ----------
    asked_pct : array, shape (n,)
        Ideal position for each command [% of travel]. A pair with a nan is skipped.
    position_pct : array, shape (n,)
        Mean of the up and down positions there [% of travel].
    scatter_pct : float or array, shape (n,)
        Standard deviation of each mean [% of travel].
    freedom : float
        Degrees of freedom with which that is known.
    trim_pct : float
        Standard deviation of the zero, and of the span, that all points share beside the fault [% of travel].
    templates : sequence of Template
        What may be resembled; the one called "as asked" is no fault.
    has_stops : bool
        Whether what is shown ends at 0 and 100 %, or where it was read beyond them; a signal does not.

    Notes
    -----
    **House definition**: each template is fitted by weighted least squares, held between the stops, and scored by
    (n + v) ln(1 + Q/v) plus 8 for each fitted parameter, Q = r' inv(V) r of what is left, V the covariance of the means
    (their own scatter, and a shared zero and span of ``trim_pct`` each), and v the degrees of freedom:
    twice the negative logarithm of the likelihood where the scatter itself is known with v degrees of freedom
    (A. Gelman and others, Bayesian Data Analysis, 3rd edition, 2013, 3.2, from memory). The lowest score wins. The
    templates are arithmetic on ideal devices. A match is a probable cause, to be confirmed on site, and is asked
    for only where a limit is exceeded: on a healthy valve the small faults are noise.

    Examples
    --------
    >>> recognise([0, 25, 50, 75, 100], [20, 40, 60, 80, 100]).pattern
    'signal with live zero into a receiver ranged without'
    """
    asked, position = (np.asarray(each, dtype=float) for each in (asked_pct, position_pct))
    deviation = np.broadcast_to(np.asarray(scatter_pct, dtype=float), asked.shape)
    kept = np.isfinite(asked) & np.isfinite(position)
    asked, position, deviation = asked[kept], position[kept], deviation[kept]
    if np.unique(asked).size < 3:
        return None
    stops = (min(0.0, float(position.min())), max(100.0, float(position.max()))) if has_stops else FREE
    fits = _fits(templates, asked, position, _whitened(asked, deviation, trim_pct), freedom, stops)
    best = fits[0]
    as_asked = next((each.score for each in fits if each.template.pattern == AS_ASKED), np.inf)
    second = next((each for each in fits[1:] if not each.template.is_general), None)
    is_near = second is not None and second.score - best.score < CLOSE
    left = best.template.at(asked, best.fitted, stops) - position
    return Match(
        template=best.template,
        fitted=best.fitted,
        stops=stops,
        residual_pct=float(np.mean(left**2)) ** 0.5,
        runner_up=second.template.pattern if second is not None and is_near else "",
        is_fault=as_asked - best.score >= _SURE,
    )


@dataclass(frozen=True, slots=True)
class _Fit:
    score: float
    template: Template
    fitted: Fitted


def _fits(
    templates: Sequence[Template],
    asked: FloatArray,
    position: FloatArray,
    whitened: FloatArray,
    freedom: float,
    stops: Stops,
) -> list[_Fit]:
    """Every template that can be fitted, the best first."""
    found = []
    for each in templates:
        fitted = each.fit(asked, position, whitened, stops)
        if fitted is not None:
            squares = float(((whitened @ (each.at(asked, fitted, stops) - position)) ** 2).sum())
            score = (asked.size + freedom) * float(np.log1p(squares / freedom)) + _A_PARAMETER * each.parameters
            found.append(_Fit(score, each, fitted))
    return sorted(found, key=lambda fit: fit.score)


def _whitened(asked: FloatArray, deviation: FloatArray, trim_pct: float) -> FloatArray:
    """What makes the points' departures independent and of deviation 1, shape (n, n).

    Each point scatters by its own, and all of them share the zero and the span of a valve that is no ideal device.
    """
    shared = trim_pct * np.vstack([np.ones_like(asked), asked / 100.0])
    whitened: FloatArray = np.linalg.inv(np.linalg.cholesky(np.diag(deviation**2) + shared.T @ shared))
    return whitened
