"""Patterns in the mean positions over the command: which plain fault they resemble most."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.basis.arrays import FloatArray

READING_SCATTER_PCT: Final = 0.3  # House definition: standard deviation of one reading by eye or inclinometer
_GRID: Final = 121  # coarse search; the best cell is then narrowed
_NARROWINGS: Final = 4
_CLOSE: Final = 6.0  # House definition: a runner-up within this much of the best score is named


@dataclass(frozen=True, slots=True)
class Template:
    """One plain fault: position as a function of the asked-for position and one parameter."""

    pattern: str
    model: Callable[[FloatArray, float | FloatArray], FloatArray]
    low: float = 0.0
    high: float = 0.0  # equal to low: nothing to fit
    parameter: str = ""  # how the fitted parameter reads, "{:.1f} % of travel"


@dataclass(frozen=True, slots=True)
class Match:
    """The template that fits best, and how well."""

    pattern: str
    parameter: float | None
    reads: str  # the parameter in words, "" for a template without one
    residual_pct: float  # root mean square of what the template leaves [% of travel]
    runner_up: str  # "" when nothing else comes near


def _clip(position: FloatArray) -> FloatArray:
    return np.clip(position, 0.0, 100.0)


# Live zero of 4-20 mA and 2-10 V: 0 % stands at a quarter of the span, so a gain ahead of its
# subtraction turns the line about -25 % command.
TEMPLATES: Final = (
    Template("as asked", lambda asked, _: asked),
    Template("zero shift", lambda asked, shift: _clip(asked + shift), -40, 40, "{:+.1f} % of travel"),
    Template("span error about the closed end", lambda asked, gain: _clip(gain * asked), 0.3, 2.5, "slope {:.3f}"),
    Template(
        "span error about the open end", lambda asked, gain: _clip(100 - gain * (100 - asked)), 0.3, 2.5, "slope {:.3f}"
    ),
    Template(
        "gain error ahead of the live zero",
        lambda asked, gain: _clip(gain * (asked + 25) - 25),
        0.3,
        2.5,
        "gain {:.3f}",
    ),
    Template("signal with live zero into a receiver ranged without", lambda asked, _: _clip(20 + 0.8 * asked)),
    Template("signal without live zero into a receiver ranged with", lambda asked, _: _clip((asked - 20) / 0.8)),
    Template("action reversed", lambda asked, _: 100 - asked),
    Template("characteristic left on: equal percentage", lambda asked, _: 100 * 50.0 ** (asked / 100 - 1)),
    Template("characteristic left on: quick opening", lambda asked, _: 10 * np.sqrt(np.clip(asked, 0, None))),
    Template(
        "bow", lambda asked, rise: asked + rise * asked * (100 - asked) / 2500, -15, 15, "{:+.1f} % at mid travel"
    ),
    Template(
        "S-shape", lambda asked, rise: asked + rise * np.sin(asked * np.pi / 50), -15, 15, "{:+.1f} % at quarter travel"
    ),
    Template("stops short of open", lambda asked, top: np.minimum(asked, top), 30, 99.5, "at {:.1f} % of travel"),
    Template("stops short of closed", lambda asked, foot: np.maximum(asked, foot), 0.5, 70, "at {:.1f} % of travel"),
)


def recognise(
    asked_pct: ArrayLike, position_pct: ArrayLike, *, scatter_pct: float = READING_SCATTER_PCT
) -> Match | None:
    """The plain fault that mean positions resemble most; None with fewer than three points.

    Parameters
    ----------
    asked_pct : array, shape (n,)
        Ideal position for each command [% of travel]. A pair with a nan is skipped.
    position_pct : array, shape (n,)
        Mean of the up and down positions there [% of travel].
    scatter_pct : float
        Standard deviation of one reading [% of travel].

    Notes
    -----
    **House definition**: each template is fitted by least squares, clipped to the travel and scored by
    n ln(SSE/n + scatter^2/2) plus ln n for a fitted parameter; the lowest score wins. The templates are
    arithmetic on ideal devices. A match is a probable cause, to be confirmed on site, and is asked
    for only where a limit is exceeded: on a healthy valve the small faults are noise.

    Examples
    --------
    >>> recognise([0, 25, 50, 75, 100], [20, 40, 60, 80, 100]).pattern
    'signal with live zero into a receiver ranged without'
    """
    asked, position = (np.asarray(each, dtype=float) for each in (asked_pct, position_pct))
    kept = np.isfinite(asked) & np.isfinite(position)
    asked, position = asked[kept], position[kept]
    if np.unique(asked).size < 3:
        return None
    fits = sorted((_score(template, asked, position, scatter_pct) for template in TEMPLATES), key=lambda fit: fit[0])
    (best_score, best, parameter, residual), (next_score, runner_up, _, _) = fits[0], fits[1]
    fitted = best.high > best.low
    return Match(
        pattern=best.pattern,
        parameter=parameter if fitted else None,
        reads=best.parameter.format(parameter) if fitted else "",
        residual_pct=residual,
        runner_up=runner_up.pattern if next_score - best_score < _CLOSE else "",
    )


def _score(
    template: Template, asked: FloatArray, position: FloatArray, scatter_pct: float
) -> tuple[float, Template, float, float]:
    parameter = _fit(template, asked, position)
    mean_square = float(np.mean((template.model(asked, parameter) - position) ** 2))
    penalty = np.log(asked.size) if template.high > template.low else 0.0
    score = asked.size * float(np.log(mean_square + scatter_pct**2 / 2)) + float(penalty)
    return score, template, parameter, mean_square**0.5


def _fit(template: Template, asked: FloatArray, position: FloatArray) -> float:
    """Least squares by narrowing a grid, since clipping leaves kinks in the sum of squares."""
    low, high = template.low, template.high
    best = low
    for _ in range(_NARROWINGS if high > low else 0):
        tried = np.linspace(low, high, _GRID)
        squares = ((template.model(asked, tried[:, np.newaxis]) - position) ** 2).sum(axis=1)
        best = float(tried[int(np.argmin(squares))])
        step = float(tried[1] - tried[0])
        low, high = max(template.low, best - step), min(template.high, best + step)
    return best
