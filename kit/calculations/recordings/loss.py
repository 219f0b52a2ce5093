"""Loss of signal or supply and restoration: where the valve went, how long it took, where it stood afterwards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, sqrt
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.checks import Cause
from kit.basis.quantity import Component, Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.noise import OF_UNIFORM, Noise
from kit.calculations.recordings.outages import Outage, outages_of
from kit.calculations.recordings.response_times import Arrival, arrival
from kit.calculations.recordings.settled import half_swing_s
from kit.calculations.recordings.steps import END_BAND_PCT
from kit.calculations.recordings.terms import noise, sampling

LEAST_LOSS_S: Final = 10.0  # House definition: longer than a positioner waits, and than a slow valve needs to be seen
_LEAST_REST_S: Final = 0.85  # House definition: a second, cut short by the samples at its ends; a shorter rest is none
_FEWEST_AT_REST: Final = 20  # House definition: samples that show what noise there is to a third
_OF_FEW: Final = 1.3  # House definition: by which so few may show too little
_LEAST_EDGE: Final = 0.1  # House definition: of the band, to which its edge is shifted inwards at most
_PCT: Final = "% of travel"
_STILL_ON_ITS_WAY: Final = "the valve had not come to rest when the {} came back"
_NO_FEEDBACK: Final = "the feedback, which stands for the travel, lost its supply too"


@dataclass(frozen=True, slots=True, eq=False)
class Loss:
    """One loss of signal or supply, and its restoration where it was recorded."""

    segment: Segment
    lost_s: float  # when the signal or the supply went [s]
    restored_s: float | None  # when it came back [s]
    before: Quantity  # position before the loss [% of travel]
    position: Quantity  # where the valve came to rest [% of travel]
    time: Quantity  # from the loss to the end of travel [s]; None where the valve stayed
    restored_position: Quantity  # where it stood afterwards [% of travel]
    restored_command_pct: float  # command then; nan: not recorded
    time_s: FloatArray  # (k,) since the loss, for drawing
    travel_pct: FloatArray  # (k,)
    causes: tuple[Cause, ...] = ("signal_open",)  # what it may have been, the likeliest first
    is_blank: bool = False  # no command was recorded: nothing shows that the signal went
    lasted_s: float = float("inf")  # without a break [s]
    at_loss_pct: float = float("nan")  # where the valve was when the signal had gone; nan: where it stood before

    @property
    def is_too_short(self) -> bool:
        """Whether it ended before it proved anything.

        Notes
        -----
        House definition: a loss proves something where it lasted 10 s, or where the valve came to rest at another
        place. A contact that bounces for half a second moves no valve, whatever its fail action.
        """
        if self.lasted_s >= LEAST_LOSS_S:
            return False
        before, after = self.before.value, self.position.value
        return before is None or after is None or abs(after - before) <= END_BAND_PCT


def reduce_loss(recording: Recording, segment: Segment, restored: Segment | None, channels: Channels) -> Loss | None:
    """Reduce one loss of signal or supply.

    Parameters
    ----------
    recording : Recording
    segment : Segment
        ``signal_lost`` or ``supply_lost``: the rest before the loss, and the loss.
    restored : Segment or None
        ``signal_restored`` or ``supply_restored``: what follows; None: it was not recorded.
    channels : Channels
        Noise of the recording.

    Returns
    -------
    Loss or None
        None where neither is lost in the segment.

    Notes
    -----
    **House definition**: the loss lies in the middle between the last sample with signal (or supply) and the first
    without; where it sinks, or its contact bounces, that is where it crosses its failure level (0.85 of the usual
    supply) for good, and the time from where it began to go is in the uncertainty. The position before is that before
    it began to go. A rest lasts a second, and after the restoration 1.5 times as long as the half of a swing before it.
    The fail time runs to the last entry into 0.5 % of travel about where the valve came to rest.
    """
    place = recording.place(segment.from_s, segment.to_s)
    outage = next((each for each in outages_of(recording) if place.start <= each.first < place.stop), None)
    if outage is None:
        return None
    first, last = outage.first, outage.last if restored is None else min(outage.last, place.stop - 1)
    times, travel = recording.time_s, recording.travel_pct
    edge = max(first - 1, 0)
    lost_s = 0.5 * float(times[edge] + times[first])
    lead = slice(place.start, max(outage.from_place, place.start))
    before = rest_of(times[lead], travel[lead], channels.travel)
    span = slice(edge, last + 1)
    after = _long_enough(rest_of(times[first : last + 1], travel[first : last + 1], channels.travel))
    usable = np.isfinite(travel[span])
    why_not = _STILL_ON_ITS_WAY.format("supply" if outage.of_supply else "signal")
    position = _at(after, why_not)
    time = _time(times[span][usable], travel[span][usable], before, after, channels.travel, why_not)
    if recording.travel_is_feedback and outage.of_supply:
        position = time = Quantity(None, _NO_FEEDBACK)
    return Loss(
        segment=segment,
        lost_s=lost_s,
        restored_s=None if restored is None else restored.from_s,
        before=_at(before, "the valve was not at rest before the loss"),
        position=position,
        time=_since(time, lost_s, 0.5 * float(times[first] - times[edge]), outage),
        restored_position=_restored(recording, restored, channels),
        restored_command_pct=_command_after(recording, restored, channels),
        time_s=times[span][usable] - lost_s,
        travel_pct=travel[span][usable],
        causes=outage.causes,
        is_blank=outage.is_blank,
        lasted_s=float(times[last]) - lost_s,
        at_loss_pct=float(travel[edge]) if outage.from_place < first else float("nan"),
    )


def _long_enough(rest: Rest | None) -> Rest | None:
    """A rest; none where it is so short that a valve on its way may look like one."""
    return None if rest is None or rest.to_s - rest.from_s < _LEAST_REST_S else rest


def _at(rest: Rest | None, why_not: str) -> Quantity:
    if rest is None:
        return Quantity(None, why_not)
    components = (noise(rest.deviation, _PCT, "travel at rest"),) if rest.deviation > 0 else ()
    return Quantity(
        rest.value, at_s=rest.from_s, components=components, relies_on=(Reliance("travel", rest.value, 1.0),)
    )


def _time(
    times: FloatArray, travel: FloatArray, before: Rest | None, after: Rest | None, channel: Noise, why_not: str
) -> Quantity:
    """When the valve came to rest [s of the recording].

    Notes
    -----
    **House definition**: hum and wander may stand elsewhere at the arrival than at the rest that it is counted from.
    """
    if after is None:
        return Quantity(None, why_not)
    start = float(travel[0]) if before is None else before.value
    channel = _at_that_rest(times, travel, after, channel)
    if abs(after.value - start) <= max(END_BAND_PCT, channel.band):
        return Quantity(None, "the valve stayed where it was")
    distance = _without_single(travel) - after.value
    found = arrival(times, distance, END_BAND_PCT, channel, float(np.median(np.diff(times))))
    if found is None:
        return Quantity(None, "the valve was within the band all the time")
    level = sqrt(after.deviation**2 + channel.wander**2 + channel.hum**2 / 2.0)
    hidden_s = 0.5 * found.hidden_s
    at_s, half_width_s = found.at.time_s + hidden_s, found.at.half_width_s + hidden_s
    deviation_s = hypot(found.at.deviation_s, _by_level_s(times, distance, found, level, channel))
    components: tuple[Component, ...] = ()
    if half_width_s > 0:
        components += (sampling(half_width_s, "s", "entry into the band"),)
    if deviation_s > 0:
        components += (noise(deviation_s, "s", "entry into the band"),)
    return Quantity(at_s, at_s=at_s, components=components, beside={"band_pct": found.band})


def _at_that_rest(times: FloatArray, travel: FloatArray, rest: Rest, channel: Noise) -> Noise:
    """The noise of a channel as a rest shows it, where that is less: a valve that hunts otherwise rests in a loss."""
    own = travel[(times >= rest.from_s) & (times <= rest.to_s)]
    if own.size < _FEWEST_AT_REST:
        return channel
    shown = max(_OF_FEW * float(own.std()), channel.quantum / sqrt(OF_UNIFORM))
    return replace(channel, deviation=min(channel.deviation, shown))


def _by_level_s(times: FloatArray, distance: FloatArray, found: Arrival, level: float, channel: Noise) -> float:
    """What a level that is known so well leaves open in the arrival there, a standard deviation [s].

    Notes
    -----
    **House definition**: half of the longer way to where the travel first passes the band's edge shifted by two
    deviations, out or in; inwards no longer than an exponential approach takes that comes in from there at that pace,
    since hum may hold the travel off its level afterwards.
    """
    away, loose = np.abs(distance), 2.0 * level
    far = np.flatnonzero(away > found.band + loose + channel.band)
    start = int(far[-1]) if far.size else 0
    least = np.minimum.accumulate(away[start:])
    edges = np.array([found.band + loose, found.band, max(found.band - loose, _LEAST_EDGE * found.band)])
    outer_s, inner_s = np.diff(np.interp(-edges, -least, times[start:])).tolist()
    ways = np.diff(np.log(edges))
    return float(0.5 * max(outer_s, min(inner_s, outer_s * float(ways[1] / ways[0]))))


def _without_single(travel: FloatArray) -> FloatArray:
    """The travel without samples that go and come back alone: medians of three, which leave any motion one way."""
    if travel.size <= 2:
        return travel
    medians = travel.copy()
    medians[1:-1] = np.median(np.lib.stride_tricks.sliding_window_view(travel, 3), axis=1)
    return medians


def _since(arrival: Quantity, lost_s: float, half_width_s: float, outage: Outage) -> Quantity:
    """The time from a loss to an arrival."""
    if arrival.value is None:
        return arrival
    value = arrival.value - lost_s
    begin: tuple[Component, ...] = (
        sampling(half_width_s, "s", "loss of the signal" if outage.of_signal else "loss of the supply"),
    )
    if outage.unsure_s > 0:
        begin += (sampling(outage.unsure_s, "s", "from where it began to go"),)
    relies = (Reliance("time", max(value, 0.0), 1.0),)
    return replace(arrival, value=value, components=begin + arrival.components, relies_on=relies)


def _restored(recording: Recording, restored: Segment | None, channels: Channels) -> Quantity:
    if restored is None:
        return Quantity(None, "the signal did not come back while it was recorded")
    place = recording.place(restored.from_s, restored.to_s)
    times, travel = recording.time_s[place], recording.travel_pct[place]
    rest = _long_enough(rest_of(times, travel, channels.travel))
    half_s = half_swing_s(times, travel, rest, channels.travel)
    if half_s > 0.0:
        return Quantity(None, f"the valve went to and fro after the restoration, every {2.0 * half_s:.2g} s")
    return _at(rest, "the valve had not come to rest after the restoration")


def _command_after(recording: Recording, restored: Segment | None, channels: Channels) -> float:
    if restored is None:
        return float("nan")
    place = recording.place(restored.from_s, restored.to_s)
    command = recording.command_pct[place]
    if recording.signal_lost is not None:
        command = np.where(recording.signal_lost[place], np.nan, command)
    rest = rest_of(recording.time_s[place], command, channels.command, restless=True)
    return float("nan") if rest is None else rest.value
