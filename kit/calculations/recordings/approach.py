"""From which side a hold was come to: by the command, and where that was called back by the travel."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.recording import Recording, Segment, extents
from kit.calculations.recordings.at_rest import Rest
from kit.calculations.recordings.channels import Channels

APPROACH_PCT: Final = 3.0  # House definition: a lesser change of command or travel takes up no play for certain
BLINK_S: Final = 0.2  # House definition: a command that is elsewhere for less moves no valve
_BESIDE_PCT: Final = 0.2  # House definition: a command is back, or a travel turned, by more than this
_OF_ASKED: Final = 0.5  # House definition: of the travel asked for, what shows the side where less than 3 % was asked
_RUN_BEGINS_PCT: Final = 5.0  # House definition: from an end of the command's range, where a run begins
_PLAY: Final = f"and less than {APPROACH_PCT:g} % may be play"


@dataclass(frozen=True, slots=True)
class Stand:
    """A hold in which the travel came to rest."""

    segment: Segment
    command_pct: float
    travel: Rest


@dataclass(frozen=True, slots=True)
class Approach:
    """The side that a hold was come to from; ``rising`` is None where nobody knows, and ``why_not`` says why."""

    rising: bool | None
    why_not: str = ""


def approach(
    recording: Recording,
    before: Stand | None,
    here: Stand,
    after: Stand | None,
    channels: Channels,
    ideal: Callable[[float], float],
) -> Approach:
    """From which side a hold was come to.

    Parameters
    ----------
    recording : Recording
    before, here, after : Stand or None
        The hold, and the holds beside it in which the travel came to rest.
    channels : Channels
        Noise of the recording.
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].

    Notes
    -----
    **House definition**: where the command went straight from the hold before, and by 3 % or more, its way is that of
    the hold. Where it was elsewhere on the way (a step abandoned or called back), the travel decides: the side on which
    it last was 3 % away (where less was asked for: half of that), unless it has been beyond the hold by
    more than 0.2 % since. The first hold of a recording, within 5 % of an end of the command, begins a run; elsewhere
    the travel must show how it came there.
    """
    if before is None:
        return _of_first(recording, here, after, channels)
    if _interrupted(recording, before.segment.to_s, here.segment.from_s):
        return Approach(None, "a gap or a loss of signal lies before it")
    reaches = _reaches(recording, before, here, channels)
    if reaches is not None:
        asked = abs(ideal(reaches[1]) - ideal(reaches[0]))
        return _by_travel(recording, before.travel.to_s, here, channels, min(APPROACH_PCT, _OF_ASKED * asked))
    step = here.command_pct - before.command_pct
    if abs(step) < APPROACH_PCT:
        return Approach(
            None, f"the command came to it by {abs(step):.2g} %, and less than {APPROACH_PCT:g} % may be play"
        )
    return Approach(step > 0)


def _of_first(recording: Recording, here: Stand, after: Stand | None, channels: Channels) -> Approach:
    start_s = max((end for _, end in recording.gaps if end <= here.travel.from_s), default=float(recording.time_s[0]))
    shown = _by_travel(recording, start_s, here, channels, APPROACH_PCT)
    if shown.rising is not None:
        return shown
    near_end = min(here.command_pct, 100.0 - here.command_pct) <= _RUN_BEGINS_PCT
    if after is None or not near_end or _interrupted(recording, here.segment.to_s, after.segment.from_s):
        return Approach(None, "it is the first of its run, and nothing shows from which side it was come to")
    step = after.command_pct - here.command_pct
    if abs(step) < APPROACH_PCT:
        return Approach(None, f"the command goes on from it by less than {APPROACH_PCT:g} %")
    return Approach(step > 0)


def _reaches(recording: Recording, before: Stand, here: Stand, channels: Channels) -> tuple[float, float] | None:
    """Least and greatest command on the way between two holds; None: it went straight."""
    place = recording.place(before.segment.to_s, here.travel.from_s)
    times, command = recording.time_s[place], recording.command_pct[place]
    known = np.isfinite(command)
    times, command = times[known], command[known]
    low, high = sorted((before.command_pct, here.command_pct))
    beside = channels.command.band + _BESIDE_PCT
    away = _lasting(times, command < low - beside) | _lasting(times, command > high + beside)
    if not away.any():
        return None
    return min(low, float(command[away].min())), max(high, float(command[away].max()))


def _lasting(times: FloatArray, marked: BoolArray) -> BoolArray:
    """Marks without those of less than a blink, or of one sample."""
    kept = np.zeros(marked.size, dtype=bool)
    for first, last in extents(marked):
        kept[first : last + 1] = last > first and times[last] - times[first] >= BLINK_S
    return kept


def _by_travel(recording: Recording, from_s: float, here: Stand, channels: Channels, least_pct: float) -> Approach:
    """The side from which the travel last came by so much."""
    place = recording.place(from_s, here.travel.from_s)
    travel = recording.travel_pct[place]
    away = travel[np.isfinite(travel)] - here.travel.value
    turned = channels.travel.band + _BESIDE_PCT
    far = np.flatnonzero(np.abs(away) >= max(least_pct, turned))
    if not far.size:
        return Approach(None, f"the command was called back before the travel had gone {max(least_pct, turned):.2g} %")
    rising = bool(away[far[-1]] < 0.0)
    beyond = float((away[far[-1] :] if rising else -away[far[-1] :]).max())
    if beyond > turned:
        return Approach(
            None, f"the travel came to it by turning back {beyond:.2g} %, and less than {APPROACH_PCT:g} % may be play"
        )
    return Approach(rising)


def _interrupted(recording: Recording, from_s: float, to_s: float) -> bool:
    lost = recording.signal_lost
    between = recording.place(from_s, to_s)
    return recording.has_gap(from_s, to_s) or bool(lost is not None and np.count_nonzero(lost[between]) > 1)
