"""Times of a step response, from the step of the command on, and when a recording is too coarse to show them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log2
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Component, Quantity, Reliance
from kit.calculations.recordings.at_rest import Rest
from kit.calculations.recordings.crossings import Instant, crossing, last_entry
from kit.calculations.recordings.leaving import response_start
from kit.calculations.recordings.levels import Change
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.terms import noise, sampling

NO_RESPONSE: Final = "the valve did not answer the step"
UNFINISHED: Final = "the travel had not come to rest when the command changed again or the recording ended"
_FAST_ENOUGH_S: Final = 0.105  # House definition: 10 Hz, with what a clock is off by; what a faster one shows is shown
_MOST_OPEN: Final = 2.0 / 3.0  # House definition: of a time, what sampling may leave open
_FEWEST_ON_WAY: Final = 3  # House definition: samples on the way, of which fewer do not tell how the travel arrived
_ON_WAY: Final = (0.05, 0.95)  # House definition: of the change, what is on the way
_TINY_SHARE: Final = 1e-6  # House definition: of the change, less than which is rounding
_SMOOTH_S: Final = 0.5  # House definition: longer means would shift the entry into the band
_BLURS: Final = 0.375  # House definition: of the time that a mean takes in, what it may shift a sudden stop by
_FEWEST: Final = 3  # House definition: samples of a mean
_PAUSED: Final = 2.0  # House definition: of what a crossing is known to, a longer stand at its level is a pause
_HIDDEN: Final = "way that noise and hum hide within"
_WIDEST_PCT: Final = 1.5  # House definition: of travel, to which noise may widen a band; three times that of a stroke
_SWINGS: Final = "the travel goes {:.2g} % to and fro: stop its hunting, or keep the noise out of its signal"
_SPEED_S: Final = 0.1  # House definition: to either side, for the speed at a time


@dataclass(frozen=True, slots=True, eq=False)
class Answer:
    """What every figure of one step is drawn from, counted in the direction of the response."""

    change: Change
    start: Rest
    end: Rest
    sign: float
    size: float  # whole change of travel, above 0 unless nothing moved
    time_s: FloatArray  # from the last sample before the step on
    along: FloatArray  # travel from its start, in the direction of the response
    noise: Noise
    interval_s: float
    begins: str = "step of the command"  # what the times count from

    @property
    def is_coarse(self) -> bool:
        """Whether it was recorded more slowly than at 10 Hz."""
        return self.interval_s > _FAST_ENOUGH_S

    @property
    def was_under_way(self) -> bool:
        """Whether the travel had left its start when the command changed: nothing can be timed from the step."""
        least = max(self.noise.band, _TINY_SHARE * self.size)
        return float(self.time_s[0]) <= self.change.from_s and bool((self.along[:2] > least).all())

    @property
    def arrival_is_hidden(self) -> bool:
        """Whether too few samples lie on the way to tell how the travel arrived."""
        low, high = (share * self.size for share in _ON_WAY)
        arrived = np.flatnonzero(self.along >= high)
        way = self.along[: int(arrived[0])] if arrived.size else self.along
        return self.is_coarse and int(np.count_nonzero(way > low)) < _FEWEST_ON_WAY


def too_coarse(answer: Answer, what: str) -> Quantity:
    """No figure, and what would show it. House definition."""
    rate = f"{1.0 / answer.interval_s:.2g} samples a second"
    return Quantity(None, f"{rate} cannot show {what}: record at 10 Hz or faster")


def dead_time(answer: Answer) -> Quantity:
    """From the step to the start of the travel [s].

    Notes
    -----
    **House definition**: a start that lies before the step is at the step.
    """
    found = response_start(answer.time_s, answer.along, answer.size, answer.noise)
    if found is None:
        return Quantity(None, NO_RESPONSE)
    figure = _time(answer, found, answer.start.deviation, "start of the response")
    return _shown(answer, replace(figure, value=max(figure.value or 0.0, 0.0)))


def reaches(answer: Answer, share: float) -> Quantity:
    """From the step to a share of the whole change [s]: T63 and T86 of ISA-75.25.01 and IEC 60534-9, from memory."""
    found = crossing(answer.time_s, answer.along, share * answer.size, answer.noise)
    if found is None:
        return Quantity(None, "the travel jumped past the level between the step and the next sample")
    base = ((1.0 - share) ** 2 * answer.start.deviation**2 + share**2 * answer.end.deviation**2) ** 0.5
    paused = _paused_s(answer, share * answer.size, (base**2 + answer.noise.deviation**2) ** 0.5, found)
    if paused > _PAUSED * max(found.half_width_s, found.deviation_s, answer.interval_s):
        found = replace(found, half_width_s=paused)
    return _shown(answer, _time(answer, found, base, f"{100 * share:.1f} % of the change"))


def stays(answer: Answer, band: float) -> Quantity:
    """From the step to the last entry into a band about the final value [s].

    Notes
    -----
    **House definition**: where noise and hum leave the band, means over half a second at most are taken, and then the
    band is as wide as they need. From that on the travel takes as long into the narrower band as an exponential
    approach, such as a servo's or a filter's, would take at most, whose time constant shows in the time from twice the
    wider band to once that. Noise and hum may also push a travel out of the band that has long come to stay in it. So
    the figure is half-way from the first entry, after the travel was last twice as far off, to the later of the last
    entry and the end of that approach, give or take that half. A band of more than 1.5 % of
    travel is of no recorder's noise: the valve swings there, and never came to stay.
    """
    distance = answer.along - answer.size
    found = arrival(
        answer.time_s, distance, band, answer.noise, answer.interval_s, level_deviation=answer.end.deviation
    )
    if found is None:
        return Quantity(None, "the travel was within the band all the time")
    if found.band > max(band, _WIDEST_PCT):
        return Quantity(None, f"where it should rest, {_SWINGS.format(found.band)}")
    hidden_s = 0.5 * (found.latest_s - found.earliest_s)
    figure = _time(answer, replace(found.at, time_s=found.earliest_s + hidden_s), 0.0, "entry into the band")
    if hidden_s > 0.0:
        hidden = sampling(hidden_s, "s", f"{_HIDDEN} {found.band:.2g} %")
        figure = replace(figure, components=(*figure.components, hidden))
    return _shown(answer, replace(figure, beside={"band_pct": found.band}))


@dataclass(frozen=True, slots=True)
class Arrival:
    """When a travel came to stay in a band, half its width, and between when it did in the narrower one asked for."""

    at: Instant
    band: float
    earliest_s: float
    latest_s: float

    @property
    def hidden_s(self) -> float:
        """How far the arrival in the band asked for may lie from that in the wider one [s]."""
        return max(self.latest_s - self.at.time_s, self.at.time_s - self.earliest_s)


def arrival(
    time_s: FloatArray,
    distance: FloatArray,
    band: float,
    channel: Noise,
    interval_s: float,
    *,
    level_deviation: float = 0.0,
) -> Arrival | None:
    """When a travel comes to stay within a band about its final value; None: it was never outside, or never stays.

    Parameters
    ----------
    time_s, distance : array, shape (n,)
        Time [s] and signed distance from the final value [% of travel].
    band : float
        Half the width of the band that is asked for [% of travel].
    channel : Noise
        Of the travel.
    interval_s : float
        Sampling interval [s].
    level_deviation : float
        Standard uncertainty of the final value [% of travel].

    Notes
    -----
    **House definition**: where the noise is wider than the band the travel is averaged over up to 0.5 s; where it still
    is, the band is as wide as it.
    """
    width = 1
    if channel.band > band:
        distance, channel, width = _smoothed(distance, channel, band, interval_s)
    held = max(band, channel.band)
    found = last_entry(time_s, distance, held, channel, level_deviation=level_deviation)
    if found is None:
        return None
    if width > 1:
        found = replace(found, half_width_s=found.half_width_s + _BLURS * width * interval_s)
    return Arrival(found, held, *_between_s(time_s, distance, found.time_s, held, band))


def _between_s(time_s: FloatArray, distance: FloatArray, at_s: float, held: float, band: float) -> tuple[float, float]:
    """Between when a travel that came within a band that noise widened came within the narrower one asked for [s].

    Notes
    -----
    **House definition**: no earlier than it first came within the wider one, after it was last twice as far off; no
    later than it came there for good, or an exponential approach ends there whose time constant shows in the time from
    twice the wider band to once that.
    """
    if held <= band:
        return at_s, at_s
    far = np.flatnonzero(np.abs(distance) > 2.0 * held)
    begin = int(far[-1]) if far.size else 0
    first_s = float(time_s[begin + int((np.abs(distance[begin:]) <= held).argmax())])
    halves_s = first_s - float(time_s[begin])
    return min(first_s, at_s), max(at_s, first_s + halves_s * log2(held / band))


def _shown(answer: Answer, figure: Quantity) -> Quantity:
    """A time that the sampling can show.

    Notes
    -----
    **House definition**: below 10 Hz there is no time of which the sampling alone leaves more than two thirds open
    (expanded, k = 2).
    """
    value = figure.value or 0.0
    left = sum(each.standard_uncertainty**2 for each in figure.components if each.distribution == "rectangular")
    if answer.is_coarse and 2.0 * left**0.5 > _MOST_OPEN * value:
        return too_coarse(answer, f"a time of {value:.2g} s")
    return figure


def _paused_s(answer: Answer, level: float, deviation: float, found: Instant) -> float:
    """How far from a crossing the travel may have crossed a level that is known to within two deviations."""
    passed = np.flatnonzero(answer.along >= level + answer.noise.band + 2.0 * deviation)
    way = answer.along[: int(passed[0])] if passed.size else answer.along
    near = np.flatnonzero(np.abs(way - level) <= 2.0 * deviation)
    if near.size == 0:
        return 0.0
    first, last = float(answer.time_s[near[0]]), float(answer.time_s[near[-1]])
    return max(found.time_s - first, last - found.time_s)


def _smoothed(values: FloatArray, channel: Noise, band: float, interval_s: float) -> tuple[FloatArray, Noise, int]:
    """Means of as many samples as bring the noise within a band, over half a second at most, and of how many."""
    most = max(1, round(_SMOOTH_S / interval_s)) if interval_s > 0 else 1
    width = min(int(np.ceil((channel.band / band) ** 2)), most)
    width += 1 - width % 2
    if width < _FEWEST or width > most + 1 or values.size <= width:
        return values, channel, 1
    total = np.cumsum(np.concatenate(([0.0], values)))
    means = np.pad((total[width:] - total[:-width]) / width, width // 2, mode="edge")
    return means, channel.averaged(width), width


def _time(answer: Answer, found: Instant, level_deviation: float, what: str) -> Quantity:
    """Time from the step, with what sampling, noise and the levels at rest leave open."""
    value = found.time_s - answer.change.half_way_s
    speed = _speed_at(answer, found.time_s)
    deviation = (found.deviation_s**2 + ((level_deviation / speed) ** 2 if speed > 0 else 0.0)) ** 0.5
    components: tuple[Component, ...] = (sampling(answer.change.half_width_s, "s", answer.begins),)
    if found.half_width_s > 0.0:
        components += (sampling(found.half_width_s, "s", what),)
    if deviation > 0.0:
        components += (noise(deviation, "s", what),)
    return Quantity(
        value, at_s=found.time_s, components=components, relies_on=(Reliance("time", max(value, 0.0), 1.0),)
    )


def _speed_at(answer: Answer, time_s: float) -> float:
    """How fast the travel moves about a time [% of travel per s]."""
    reach = max(2, round(_SPEED_S / answer.interval_s)) if answer.interval_s > 0 else 2
    place = int(np.searchsorted(answer.time_s, time_s))
    low, high = max(place - reach, 0), min(place + reach, answer.time_s.size - 1)
    rise = float(answer.along[high] - answer.along[low])
    return abs(rise) / float(answer.time_s[high] - answer.time_s[low]) if high > low else 0.0
