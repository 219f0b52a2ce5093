"""Loss of signal and restoration: where the valve went, how long it took, where it stood afterwards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray
from kit.basis.quantity import Component, Quantity, Reliance
from kit.basis.recording import Recording, Segment
from kit.calculations.recordings.at_rest import Rest, rest_of
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.crossings import last_entry
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.steps import END_BAND_PCT
from kit.calculations.recordings.terms import noise, sampling

_PCT: Final = "% of travel"


@dataclass(frozen=True, slots=True, eq=False)
class Loss:
    """One loss of signal, and its restoration where it was recorded."""

    segment: Segment
    lost_s: float  # when the signal went [s]
    restored_s: float | None  # when it came back [s]
    before: Quantity  # position before the loss [% of travel]
    position: Quantity  # where the valve came to rest [% of travel]
    time: Quantity  # from the loss to the end of travel [s]; None where the valve stayed
    restored_position: Quantity  # where it stood afterwards [% of travel]
    restored_command_pct: float  # command then; nan: not recorded
    time_s: FloatArray  # (k,) since the loss, for drawing
    travel_pct: FloatArray  # (k,)
    is_blank: bool = False  # no command was recorded: nothing shows that the signal went


def reduce_loss(recording: Recording, segment: Segment, restored: Segment | None, channels: Channels) -> Loss | None:
    """Reduce one loss of signal.

    Parameters
    ----------
    recording : Recording
    segment : Segment
        ``signal_lost``: the rest before the loss, and the loss.
    restored : Segment or None
        ``signal_restored``: what follows; None: it was not recorded.
    channels : Channels
        Noise of the recording.

    Returns
    -------
    Loss or None
        None where the signal is not lost in the segment.

    Notes
    -----
    **House definition**: the loss lies in the middle between the last sample with signal and the first without;
    the fail time runs to the last entry into 0.5 % of travel about where the valve came to rest.
    """
    lost = recording.signal_lost
    place = recording.place(segment.from_s, segment.to_s)
    if lost is None or not lost[place].any():
        return None
    first = place.start + int(lost[place].argmax())
    last = first + _length(lost[first:]) - 1 if restored is None else place.stop - 1
    times, travel = recording.time_s, recording.travel_pct
    edge = max(first - 1, 0)
    lost_s = 0.5 * float(times[edge] + times[first])
    half_width = 0.5 * float(times[first] - times[edge])
    lead = slice(place.start, first)
    before = rest_of(times[lead], travel[lead], channels.travel)
    span = slice(edge, last + 1)
    after = rest_of(times[first : last + 1], travel[first : last + 1], channels.travel)
    usable = np.isfinite(travel[span])
    position = _at(after, "the valve had not come to rest when the signal came back")
    return Loss(
        segment=segment,
        lost_s=lost_s,
        restored_s=None if restored is None else restored.from_s,
        before=_at(before, "the valve was not at rest before the loss"),
        position=position,
        time=_time(times[span][usable], travel[span][usable], before, after, channels.travel, lost_s, half_width),
        restored_position=_restored(recording, restored, channels),
        restored_command_pct=_command_after(recording, restored, channels),
        time_s=times[span][usable] - lost_s,
        travel_pct=travel[span][usable],
        is_blank=not np.isfinite(recording.command_pct[place][lost[place]]).any(),
    )


def _length(mask: np.ndarray[tuple[int], np.dtype[np.bool_]]) -> int:
    ends = np.flatnonzero(~mask)
    return int(ends[0]) if ends.size else int(mask.size)


def _at(rest: Rest | None, why_not: str) -> Quantity:
    if rest is None:
        return Quantity(None, why_not)
    components = (noise(rest.deviation, _PCT, "travel at rest"),) if rest.deviation > 0 else ()
    return Quantity(
        rest.value, at_s=rest.from_s, components=components, relies_on=(Reliance("travel", rest.value, 1.0),)
    )


def _time(
    times: FloatArray,
    travel: FloatArray,
    before: Rest | None,
    after: Rest | None,
    channel: Noise,
    lost_s: float,
    half_width: float,
) -> Quantity:
    if after is None:
        return Quantity(None, "the valve had not come to rest when the signal came back")
    start = float(travel[0]) if before is None else before.value
    band = max(END_BAND_PCT, channel.band)
    if abs(after.value - start) <= band:
        return Quantity(None, "the valve stayed where it was")
    found = last_entry(times, travel - after.value, band, channel)
    if found is None:
        return Quantity(None, "the valve was within the band all the time")
    components: tuple[Component, ...] = (sampling(half_width, "s", "loss of the signal"),)
    if found.half_width_s > 0:
        components += (sampling(found.half_width_s, "s", "entry into the band"),)
    if found.deviation_s > 0:
        components += (noise(found.deviation_s, "s", "entry into the band"),)
    value = found.time_s - lost_s
    return Quantity(
        value,
        at_s=found.time_s,
        components=components,
        relies_on=(Reliance("time", max(value, 0.0), 1.0),),
        beside={"band_pct": band},
    )


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
