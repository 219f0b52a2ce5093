"""Dead band and resolution: the smallest commands that the valve answers, from every trial of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from kit.basis.quantity import Component, Quantity, Reliance
from kit.calculations.recordings.terms import noise, sampling
from kit.calculations.recordings.trials import Found, Trial
from kit.calculations.uncertainty import rectangular, type_a

_OFF_SLOPE: Final = (
    0.2  # House definition: of the slope asked for; travel that is farther off has another characteristic
)
_HELD: Final = "the ideal position is held where it was tried: the command there asks for no travel"
_WRONG_SLOPE: Final = (
    "where it was tried the travel does not change with the command as the register's characteristic asks: "
    "check characteristic and rangeability in the register"
)
_RANGE: Final = "% of command range"
_SPAN: Final = "% of travel span"
_REMEDY: Final = "; step the command by 0.1 % and wait 5 s each, up, down and up again"
_NO_STEPS: Final = "neither small steps nor ramps of the command that the valve answered after a reversal" + _REMEDY
_NO_MORE: Final = "no small steps or ramps that the valve answered twice" + _REMEDY


def smallest_command(
    trials: Sequence[Trial], what: Found, *, slope: Callable[[float], float] | None = None
) -> Quantity:
    """Dead band or resolution from every trial of it.

    Parameters
    ----------
    trials : sequence of Trial
    what : "dead_band" or "resolution"
    slope : callable or None
        Slope of the ideal characteristic at a command [% of travel span per % of command range], by which each trial
        is converted at its own place. None: no conversion.

    Returns
    -------
    Quantity
        [% of travel span] by a slope, else [% of command range]; from small steps where there are any, else from
        ramps. None without a trial, or where the ideal position is held at the place of each. The greatest of the
        trials stands beside it, and the figure from the other kind, where there is one; ``at_most`` where each step
        was answered, so that it is no more than an upper bound.

    Notes
    -----
    **House definition**: the mean of the middles of the brackets; half a bracket is the sampling half width.
    Small steps come before ramps, on which a first motion too small to be seen makes the figure too great. Repeats
    scatter by what their middles differ by beyond their own brackets and jumps.
    """
    own = [each for each in trials if each.what == what]
    if not own:
        return Quantity(None, _NO_STEPS if what == "dead_band" else _NO_MORE)
    scaled = [(each, 1.0 if slope is None else abs(slope(each.place_pct))) for each in own]
    steep = [(each, steepness) for each, steepness in scaled if steepness > 0.0]
    known = [pair for pair in steep if slope is None or _follows(pair[0])]
    groups = {means: [pair for pair in known if pair[0].means == means] for means in ("small_steps", "ramp")}
    figures = {means: _figure(pairs, _RANGE if slope is None else _SPAN) for means, pairs in groups.items() if pairs}
    if not figures:
        return Quantity(None, _HELD if not steep else _WRONG_SLOPE)
    best = "small_steps" if "small_steps" in figures else "ramp"
    chosen = [each.middle_pct * steepness for each, steepness in groups[best]]
    beside = {"greatest": max(chosen), "trials": float(len(chosen))}
    beside |= {f"by_{means}": figure.value for means, figure in figures.items() if figure.value is not None}
    if all(each.low_pct == 0.0 for each, _ in groups[best]):
        beside["at_most"] = max(each.high_pct * steepness for each, steepness in groups[best])
    return replace(figures[best], beside=beside)


def _follows(trial: Trial) -> bool:
    """Whether the travel changes with the command as the characteristic asks, as far as is known."""
    return trial.gain is None or abs(trial.gain - 1.0) <= _OFF_SLOPE


def _figure(pairs: Sequence[tuple[Trial, float]], unit: str) -> Quantity:
    """The brackets repeat themselves, so that averaging does not narrow them; scatter and noise it does."""
    middles = np.array([each.middle_pct * steepness for each, steepness in pairs])
    half = np.array([each.half_width_pct * steepness for each, steepness in pairs])
    jumps = np.array([each.jump_pct * steepness for each, steepness in pairs])
    components = [sampling(float(half.mean()), unit, "between the last command without answer and the first with one")]
    count = middles.size
    by_noise = float(np.mean([(each.deviation_pct * steepness) ** 2 for each, steepness in pairs]) / count) ** 0.5
    if by_noise > 0.0:
        components.append(noise(by_noise, unit, "command levels, start of the motion"))
    if float(jumps.max()) > 0.0:
        components.append(rectangular("the valve's own jumps", float(jumps.mean()), unit))
    off = max((abs(each.gain - 1.0) for each, _ in pairs if each.gain is not None), default=0.0)
    if unit == _SPAN and off > 0.0:
        components.append(rectangular("slope of the characteristic", off * float(middles.mean()), unit))
    components += _scatter(middles, half + jumps, unit)
    (first, steepness), width = pairs[0], float(np.mean([each.middle_pct for each, _ in pairs]))
    relies = (
        Reliance("command", first.command_pct, steepness, 0),
        Reliance("command", first.command_pct - width, -steepness, 0),
    )
    return Quantity(float(middles.mean()), at_s=first.at_s, components=tuple(components), relies_on=relies)


def _scatter(middles: np.ndarray, explained: np.ndarray, unit: str) -> list[Component]:
    """What repeats differ by beyond what each is known to within."""
    if middles.size < 2:
        return []
    beyond = np.maximum(np.abs(middles - middles.mean()) - explained, 0.0)
    scatter = float(np.sqrt((beyond**2).sum() / (middles.size - 1) / middles.size))
    if scatter == 0.0:
        return []
    return [type_a("scatter of the repeats, standard deviation of the mean", scatter, unit, middles.size - 1)]
