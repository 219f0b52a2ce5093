"""How a travel follows what the command asks for: how late, and how far off after that."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import sqrt
from typing import Final

import numpy as np
from scipy.special import stdtrit

from kit.basis.arrays import FloatArray, IntArray
from kit.basis.quantity import Quantity
from kit.calculations.recordings.terms import noise as type_a
from kit.calculations.recordings.terms import sampling

_TOLD_AT: Final = 10_000  # House definition: samples of the travel at which its error is told at most
_LONGEST_LAG_S: Final = 60.0  # House definition: a valve that lags more does not follow
_OF_LENGTH: Final = 0.25  # House definition: of what is looked at, the longest lag that it tells
_TRIED: Final = 100  # House definition: lags that are tried, and twenty more about the best
_FINER: Final = 10
_PARTS: Final = 8  # House definition: parts of the recording whose scatter tells how well a figure is known
_FEWEST_PARTS: Final = 3  # House definition: with fewer nobody knows
_LEAST_SPREAD_PCT: Final = 0.3  # House definition: a command that moves by less in a part tells no lag
_LEFT: Final = 0.5  # House definition: of the travel's variance, what a travel that follows leaves at most
_TWO_SIGMA: Final = 0.97725  # standard normal distribution at 2
_MOSTLY: Final = 0.95  # of the samples, whose error is no greater
_OF_BEND: Final = 0.125  # of a parabola's second difference, what lies at most between it and the nearest of its places
_PCT: Final = "% of travel"


@dataclass(frozen=True, slots=True, eq=False)
class Follows:
    """A travel and what was asked for, sample by sample as recorded: means would blunt the steps of a command."""

    time_s: FloatArray  # (n,) [s]
    asked_pct: FloatArray  # (n,) [% of travel]
    travel_pct: FloatArray  # (n,) [% of travel]
    told_at: IntArray  # (k,) samples at which the error is told, in order
    middles_s: FloatArray  # (n - 1,) between the samples [s]
    interval_s: float  # of the samples [s]

    @property
    def parts(self) -> list[Follows]:
        """Eighths of it."""
        return [replace(self, told_at=each) for each in np.array_split(self.told_at, _PARTS) if each.size > 1]


@dataclass(frozen=True, slots=True, eq=False)
class _Late:
    """The travel less what was asked for some time before."""

    lag_s: float  # mean of that time, as it was sampled [s]
    error_pct: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class _Least:
    """The lag that leaves the least variance, and the errors at it and at the lags on either side that were sampled."""

    lag_s: float
    errors: tuple[_Late, _Late, _Late]


def follows(time_s: FloatArray, asked_pct: FloatArray, travel_pct: FloatArray) -> Follows:
    """A travel and what was asked for, shape (n,): finite, in order of time. Told at 10,000 samples at most.

    House definition.
    """
    told_at = np.arange(0, time_s.size, -(-time_s.size // _TOLD_AT))
    middles = 0.5 * (time_s[1:] + time_s[:-1])
    return Follows(time_s, asked_pct, travel_pct, told_at, middles, float(np.median(np.diff(time_s))))


def lag_and_errors(given: Follows, noise_pct: float, step_pct: float) -> tuple[Quantity, Quantity, Quantity, Quantity]:
    """Lag of a travel [s], and mean, root mean square and 95 % quantile of its error after that [% of travel].

    Parameters
    ----------
    given : Follows
    noise_pct : float
        Standard deviation of single samples of travel and command together, as far as it is known [% of travel].
    step_pct : float
        Standard deviation of what the recorder's steps leave in a mean [% of travel].

    Notes
    -----
    **House definition**: the lag leaves the least variance of travel less what was asked for. Each travel is held
    against the sample of the command nearest to that time before it, since half-way between two samples a command
    that is stepped is not half-way; between the lags so sampled every figure goes by a parabola, what it bends by in
    uncertainty. Noise makes an error greater; how great it is nobody knows while command and travel move, so that of
    its variance half is taken off, by drawing the errors together about their mean, and the other half is the
    uncertainty. Each figure is known as well as eighths of the recording agree on it, by Student's t.
    """
    best = _least(given)
    if best is None:
        none = Quantity(None, f"the travel does not follow the command within {_LONGEST_LAG_S:.0f} s")
        return none, none, none, none
    lag = _lag(given, best)
    if lag.value is None:
        none = Quantity(None, lag.why_not)
        return lag, none, none, none
    by: tuple[Callable[[FloatArray], float], ...] = (
        lambda error: float(error.mean()),
        lambda error: sqrt(float((error**2).mean())),
        lambda error: float(np.quantile(np.abs(error), _MOSTLY)),
    )
    mean, rms, most = (_error(best, each, noise_pct, step_pct) for each in by)
    return lag, mean, rms, most


def _late(given: Follows, lag_s: float) -> _Late:
    """At a lag, as near as the samples come to it; without what was asked for before the recording, or in a gap."""
    at = given.told_at[given.time_s[given.told_at] - lag_s >= given.time_s[0]]
    before = np.searchsorted(given.middles_s, given.time_s[at] - lag_s)
    late_s = given.time_s[at] - given.time_s[before]
    near = np.abs(late_s - lag_s) <= given.interval_s
    error: FloatArray = given.travel_pct[at[near]] - given.asked_pct[before[near]]
    return _Late(float(late_s[near].mean()) if near.any() else lag_s, error)


def _least(given: Follows) -> _Least | None:
    """None: no lag in reach, or it leaves too much."""
    step, told = given.interval_s, given.time_s[given.told_at]
    reach = min(_LONGEST_LAG_S, _OF_LENGTH * float(told[-1] - told[0]))
    rough = step * max(1, round(reach / _TRIED / step))
    lags = np.arange(0.0, reach + rough, rough)
    left = [float(_late(given, each).error_pct.var()) for each in lags.tolist()]
    place = int(np.argmin(left))
    if place == lags.size - 1 or left[place] > _LEFT * float(given.travel_pct[given.told_at].var()):
        return None
    fine = step * max(1, round(rough / _FINER / step))
    near = np.arange(max(0.0, float(lags[place]) - rough - fine), float(lags[place]) + rough + 1.5 * fine, fine)
    tried = [_late(given, each) for each in near.tolist()]
    left = [float(each.error_pct.var()) for each in tried]
    place = int(np.clip(np.argmin(left), 1, near.size - 2))
    before, here, after = tried[place - 1 : place + 2]
    bend = left[place - 1] - 2.0 * left[place] + left[place + 1]
    part = 0.5 * (left[place - 1] - left[place + 1]) / bend if bend > 0.0 else 0.0
    return _Least(here.lag_s + float(np.clip(part, -1.0, 1.0)) * fine, (before, here, after))


def _lag(given: Follows, best: _Least) -> Quantity:
    parts = [each for each in given.parts if float(np.ptp(each.asked_pct[each.told_at])) > _LEAST_SPREAD_PCT]
    found = [each.lag_s for each in map(_least, parts) if each is not None]
    if len(found) < _FEWEST_PARTS:
        return Quantity(None, "the command moves too little to tell the lag: record for longer")
    return Quantity(
        best.lag_s,
        at_s=float(given.time_s[0]),
        components=(
            sampling(0.5 * given.interval_s, "s", "command and travel between samples"),
            type_a(_of_parts(found), "s", "scatter between parts of the recording"),
        ),
    )


def _error(best: _Least, figure: Callable[[FloatArray], float], noise_pct: float, step_pct: float) -> Quantity:
    raw = [figure(each.error_pct) for each in best.errors]
    quiet = [figure(_drawn_together(each.error_pct, noise_pct)) for each in best.errors]
    half = [0.5 * (one + other) for one, other in zip(raw, quiet, strict=True)]
    parts = [figure(each) for each in np.array_split(best.errors[1].error_pct, _PARTS)]
    return Quantity(
        _between(best, half),
        components=(
            type_a(_of_parts(parts), _PCT, "scatter between parts of the recording"),
            sampling(_OF_BEND * abs(half[0] - 2.0 * half[1] + half[2]), _PCT, "command and travel between samples"),
            sampling(0.5 * abs(raw[1] - quiet[1]), _PCT, "noise in the error"),
            type_a(step_pct, _PCT, "the recorder's step"),
        ),
    )


def _drawn_together(error: FloatArray, noise_pct: float) -> FloatArray:
    """Errors without a noise, nearer to their mean: their variance is less by its variance."""
    mean, variance = float(error.mean()), float(error.var())
    share = sqrt(max(0.0, 1.0 - noise_pct**2 / variance)) if variance > 0.0 else 1.0
    return mean + share * (error - mean)


def _between(best: _Least, values: list[float]) -> float:
    """A figure at the lag found, by the parabola through those at the three lags sampled."""
    lags = np.array([each.lag_s for each in best.errors])
    if np.unique(lags).size < lags.size:
        return values[1]
    return float(np.polyval(np.polyfit(lags - lags[1], values, 2), best.lag_s - lags[1]))


def _of_parts(values: list[float]) -> float:
    """Standard deviation of the mean of parts, widened as Student's t is: JCGM 100:2008, G.3."""
    widened = float(stdtrit(len(values) - 1.0, _TWO_SIGMA)) / 2.0
    return widened * float(np.std(values, ddof=1)) / sqrt(len(values))
