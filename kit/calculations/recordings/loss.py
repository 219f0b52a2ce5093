"""Loss of signal or supply and restoration: where the valve went, how long it took, where it stood afterwards."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.checks import Cause
from kit.basis.quantity import Component, Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.crossings import last_entry
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.outages import Outage, outages_of
from kit.calculations.recordings.steps import END_BAND_PCT
from kit.calculations.recordings.terms import noise, sampling

LEAST_LOSS_S: Final = 10.0  # House definition: longer than a positioner waits, and than a slow valve needs to be seen
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
    it began to go. The fail time runs to the last entry into 0.5 % of travel about where the valve came to rest.
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
    after = rest_of(times[first : last + 1], travel[first : last + 1], channels.travel)
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
    """When the valve came to rest [s of the recording]."""
    if after is None:
        return Quantity(None, why_not)
    start = float(travel[0]) if before is None else before.value
    band = max(END_BAND_PCT, channel.band)
    if abs(after.value - start) <= band:
        return Quantity(None, "the valve stayed where it was")
    found = last_entry(times, _without_single(travel) - after.value, band, channel)
    if found is None:
        return Quantity(None, "the valve was within the band all the time")
    components: tuple[Component, ...] = ()
    if found.half_width_s > 0:
        components += (sampling(found.half_width_s, "s", "entry into the band"),)
    if found.deviation_s > 0:
        components += (noise(found.deviation_s, "s", "entry into the band"),)
    return Quantity(found.time_s, at_s=found.time_s, components=components, beside={"band_pct": band})


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
    rest = rest_of(recording.time_s[place], recording.travel_pct[place], channels.travel)
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
