"""Size and period of a swing, and what is said where there is none."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import Final

import numpy as np
from scipy.special import stdtrit

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Component, Quantity, Reliance
from kit.calculations.recordings.clock import with_clock
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.spells import FEWEST_REVERSALS, REGULAR, mean_swing_pct, samples_a_period
from kit.calculations.recordings.terms import noise, sampling
from kit.calculations.recordings.turns import Turns

SAMPLES_A_PERIOD: Final = 5.0  # House definition: with fewer, turns fall between the samples
_CLEAR: Final = 1.5  # House definition: of the least swing that shows; of lesser ones noise hides some
_PCT: Final = "% of travel"


def no_swing(travel: FloatArray, least: float) -> Quantity:
    """No swing: 0, known to within the least one that would have been seen. House definition."""
    relies = (Reliance("travel", float(travel.mean()), 1.0, 0), Reliance("travel", float(travel.mean()), -1.0, 0))
    return Quantity(
        0.0,
        components=(sampling(least, _PCT, "least swing that would be seen"),),
        relies_on=relies,
        beside={"least_seen_pct": least},
    )


def swing_of(spells: Sequence[Turns], interval_s: float, mean_s: float, hides_pct: float) -> Quantity:
    """Mean swing, peak to peak; where noise hides the lesser ones, known to no better than those. House definition."""
    swings = np.concatenate([each.swings_pct for each in spells])
    if samples_a_period(spells, interval_s) < SAMPLES_A_PERIOD - 1:
        return Quantity(None, too_slow(spells, interval_s))
    amplitude, top = float(swings.mean()), float(max(each.height_pct.max() for each in spells))
    parts: list[Component] = [
        sampling(2.0 * max(each.cut_pct for each in spells), _PCT, "travel between the samples at the turns"),
        noise(sqrt(2.0) * max(each.noise_pct for each in spells), _PCT, "travel at the turns"),
        noise(_of_mean(swings), _PCT, "scatter of the swings"),
    ]
    if amplitude < _CLEAR * hides_pct or samples_a_period(spells, mean_s) < SAMPLES_A_PERIOD:
        parts.append(sampling(hides_pct, _PCT, "swings that noise hides"))
    relies = (Reliance("travel", top, 1.0, 0), Reliance("travel", top - amplitude, -1.0, 0))
    beside = {"reversals": float(sum(map(len, spells)))}
    return Quantity(amplitude, at_s=float(spells[0].at_s[0]), components=tuple(parts), relies_on=relies, beside=beside)


def period_of(
    spells: Sequence[Turns], mean_s: float, channel: Noise, hides_pct: float, resolution_s: float = 0.0
) -> Quantity:
    """Mean time between middles passed the same way; of few, between turns of a kind. House definition."""
    swing = mean_swing_pct(spells)
    if samples_a_period(spells, mean_s) < SAMPLES_A_PERIOD:
        return Quantity(None, too_slow(spells, mean_s))
    if swing < _CLEAR * hides_pct:
        return Quantity(None, f"noise hides swings of less than {hides_pct:.2g} %: record faster, or with less noise")
    marks = [each.middle_s if len(each) > FEWEST_REVERSALS + 1 else each.at_s for each in spells]
    periods = np.concatenate([each[2:] - each[:-2] for each in marks])
    period = float(periods.mean())
    each_way = max(1.0, periods.size / 2.0)
    late = mean_s + (channel.deviation * period / (2.0 * swing) if swing > 0 else 0.0)
    times = [sampling(late / each_way, "s", "first and last turn"), noise(_of_periods(periods), "s", "turns")]
    told = Quantity(
        period,
        at_s=float(spells[0].at_s[0]),
        components=tuple(times),
        relies_on=(Reliance("time", period, 1.0),),
    )
    return with_clock(told, resolution_s / each_way)


def too_slow(spells: Sequence[Turns], interval_s: float) -> str:
    """Why a swing of so few samples has no figure. House definition."""
    count = samples_a_period(spells, interval_s)
    return (
        f"{count:.1f} samples, or means over noise, a swing show neither its size nor its period, and it may be the "
        "alias of a quicker one: record ten times as fast"
    )


def _of_mean(values: FloatArray) -> float:
    """Standard deviation of a mean, widened as Student's t is: JCGM 100:2008, G.3."""
    if values.size < 2:
        return REGULAR * float(np.abs(values).mean())
    freedom = float(values.size - 1)
    return float(values.std(ddof=1)) / sqrt(values.size) * float(stdtrit(freedom, 0.97725)) / 2.0


def _of_periods(periods: FloatArray) -> float:
    """The same for periods that overlap by half: as many as half of them are independent."""
    if periods.size < 3:
        return REGULAR / 2.0 * float(periods.mean())
    count = periods.size / 2.0
    return float(periods.std(ddof=1)) / sqrt(count) * float(stdtrit(max(1.0, count - 1.0), 0.97725)) / 2.0
