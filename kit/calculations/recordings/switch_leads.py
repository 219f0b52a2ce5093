"""How far before its travel stop a limit switch makes, where a recording shows the stop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.quantity import Quantity, Reliance
from kit.basis.recording import Recording
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.motion import Motion
from kit.calculations.recordings.supply import running_supply
from kit.calculations.recordings.switches import End, SwitchEvent, switch_figure

_SAME_STOP_PCT: Final = 0.3  # House definition: rests farther apart are on no stop
_RUN_ON_S: Final = 0.3  # House definition: a motor that the switch stops coasts no longer
_FEWEST: Final = 5  # House definition: samples beyond a switch, to show a rest
_FEWEST_RESTING: Final = 3  # House definition: of them at the rest
_FARTHEST: Final = 0.02  # House definition: the quantile of the travel that stands for its end
_RESTING_PCT: Final = 0.05  # House definition: within which of the end the travel rests
_APART: Final = 4.0  # House definition: standard deviations between idle and running that tell a motor that stalls
_THROUGHOUT: Final = 0.9  # House definition: of the samples, in which noise may hide that the motor runs
_STALLS_S: Final = 0.5  # House definition: a motor that was switched off is without its current by then
_NO_STOP: Final = (
    "nothing shows that the travel beyond the {} switch rests on its stop and not where it was told to: record the "
    "supply, or type stop_at_pct"
)


def switch_lead(
    recording: Recording,
    events: Sequence[SwitchEvent],
    motion: Motion,
    channels: Channels,
    end: End,
) -> Quantity:
    """How far before the stop a switch makes; of several, the smallest.

    Parameters
    ----------
    recording, motion, channels
        The recording, its motions and its noise.
    events : sequence of SwitchEvent
        Of the recording.
    end : "closed" or "open"

    Returns
    -------
    Quantity
        [% of travel], positive where the switch makes first. None unless something shows that the travel rests on its
        stop.

    Notes
    -----
    **House definition**: the travel rests on the stop where it goes on for 0.3 s and two samples after the switch
    made, so that the switch did not stop the motor; where its rests beyond the switch agree within 0.3 %; and where
    the supply stays as low as it is in motion from there to half a second after the travel came to rest, and the travel
    stays there meanwhile, so that the motor stalls. A motor that coasts beyond its switch or turns back, and a
    positioner that stops where it was told to, do not show the stop, and nothing is said.
    """
    sign = 1.0 if end == "closed" else -1.0
    beyond = _rests_beyond(recording, events, motion, channels, end)
    if not beyond:
        return Quantity(None, f"the travel was not recorded at rest beyond the {end} switch")
    least = max(_RUN_ON_S, 2.0 * recording.interval_s)
    if not any(each.run_on_s >= least for each in beyond):
        return Quantity(None, f"the motor stops where the {end} switch makes: the recording does not show the stop")
    stops = np.array([each.rest_pct for each in beyond])
    if float(np.ptp(stops)) > max(_SAME_STOP_PCT, 2.0 * channels.travel.band):
        return Quantity(
            None, f"beyond the {end} switch the travel rests at different places: it does not show the stop"
        )
    if not _is_stalled(recording, beyond, motion, channels):
        return Quantity(None, _NO_STOP.format(end))
    least_lead = min(beyond, key=lambda each: sign * (each.event.travel_pct - each.rest_pct))
    event, stop = least_lead.event, least_lead.rest_pct
    lead = sign * (event.travel_pct - stop)
    relies = (Reliance("travel", event.travel_pct, sign, 0), Reliance("travel", stop, -sign, 1))
    beside = {"makes_at_pct": event.travel_pct, "rests_at_pct": stop}
    return Quantity(lead, at_s=event.at_s, components=switch_figure(event).components, relies_on=relies, beside=beside)


@dataclass(frozen=True, slots=True)
class _Beyond:
    """A switch that made, and the travel beyond it."""

    event: SwitchEvent
    rest_pct: float
    rests_from_s: float
    until_s: float  # the switch breaks, or the recording ends

    @property
    def run_on_s(self) -> float:
        """For how long the travel still moved."""
        return self.rests_from_s - self.event.at_s


def _is_stalled(recording: Recording, beyond: Sequence[_Beyond], motion: Motion, channels: Channels) -> bool:
    """Whether the supply shows a motor that runs against its stop."""
    _, dip = running_supply(recording, motion)
    if recording.supply_v is None or dip.value is None:
        return False
    idle, running = dip.beside["idle_v"], dip.beside["running_v"]
    if idle - running < _APART * max(channels.supply.deviation, channels.supply.quantum):
        return False
    for each in beyond:
        start = each.rests_from_s + recording.interval_s
        end = min(start + _STALLS_S, each.until_s)
        resting = recording.place(start, end)
        if resting.stop - resting.start < _FEWEST_RESTING:
            continue
        if ((motion.from_s < end) & (motion.to_s > start)).any() or not _stays(recording, each, start, end, channels):
            continue
        volts = recording.supply_v[recording.place(each.event.at_s, end)]
        volts = volts[np.isfinite(volts)]
        if volts.size >= _FEWEST_RESTING and float(np.quantile(volts, _THROUGHOUT)) < 0.5 * (idle + running):
            return True
    return False


def _stays(recording: Recording, beyond: _Beyond, from_s: float, to_s: float, channels: Channels) -> bool:
    """Whether the travel is at its farthest all the while: a motor that turns back runs too."""
    travel = recording.travel_pct[recording.place(from_s, to_s)]
    known = travel[np.isfinite(travel)]
    return bool((np.abs(known - beyond.rest_pct) <= max(2.0 * channels.travel.band, _RESTING_PCT)).all())


def _rests_beyond(
    recording: Recording, events: Sequence[SwitchEvent], motion: Motion, channels: Channels, end: End
) -> list[_Beyond]:
    """Each make of a switch after which the travel came to rest."""
    own = [event for event in events if event.end == end]
    found = []
    for number, event in enumerate(own):
        if not event.makes:
            continue
        until = next((each.at_s for each in own[number + 1 :] if not each.makes), None)
        rest = _extreme(recording, event.at_s, until, 1.0 if end == "closed" else -1.0, channels)
        if rest is None:
            continue
        on = [each for each in range(len(motion)) if motion.from_s[each] <= event.at_s <= motion.to_s[each]]
        from_s = float(motion.to_s[on[-1]]) if on else event.at_s
        found.append(_Beyond(event, rest, from_s, float(recording.time_s[-1]) if until is None else until))
    return found


def _extreme(
    recording: Recording, from_s: float, until_s: float | None, sign: float, channels: Channels
) -> float | None:
    """Where the travel rested farthest beyond a switch."""
    place = recording.place(from_s, float(recording.time_s[-1]) if until_s is None else until_s)
    usable = np.isfinite(recording.travel_pct[place])
    travel = sign * recording.travel_pct[place][usable]
    if travel.size < _FEWEST:
        return None
    least = float(np.quantile(travel, _FARTHEST))
    near = travel[travel <= least + max(2.0 * channels.travel.band, _RESTING_PCT)]
    return sign * float(np.median(near)) if near.size >= _FEWEST_RESTING else None
