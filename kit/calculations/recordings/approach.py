"""From which side a hold was come to: by the command, and where that was called back by the travel."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from kit.basis.arrays import BoolArray, FloatArray
from kit.basis.recording import Recording, Segment, extents
from kit.calculations.recordings.at_rest import Rest
from kit.calculations.recordings.channels import Channels
from kit.calculations.recordings.levels import BLINK_S
from kit.calculations.recordings.outages import Outage

APPROACH_PCT: Final = 3.0  # House definition: a lesser change of command or travel takes up no play for certain
_BESIDE_PCT: Final = 0.2  # House definition: a command is back, or a travel turned, by more than this
_OF_ASKED: Final = 0.5  # House definition: of the travel asked for, what shows the side where less than 3 % was asked
_ANSWERS_S: Final = 10.0  # House definition: a valve that has not moved by then is stuck, and before it may be slow
_RUN_BEGINS_PCT: Final = 5.0  # House definition: from an end of the command's range, where a run begins
_PLAY: Final = f"and less than {APPROACH_PCT:g} % may be play"
_SMALL_PCT: Final = 1.5  # House definition: of command range; greater steps are of no dead-band test
BY_SMALL_STEP: Final = "come to by a small step of the command"


@dataclass(frozen=True, slots=True)
class Stand:
    """A hold in which the travel came to rest."""

    segment: Segment
    since_s: float  # the command has been there, within two minutes
    command_pct: float
    travel: Rest


@dataclass(frozen=True, slots=True)
class Approach:
    """The side of the command that a hold was come to from; ``rising`` is None where nobody knows: see ``why_not``."""

    rising: bool | None
    why_not: str = ""
    begins_run: bool = False  # nothing shows the side: it is the one on which the run goes on


def approach(
    recording: Recording,
    before: Stand | None,
    here: Stand,
    after: Stand | None,
    channels: Channels,
    ideal: Callable[[float], float],
    outages: Sequence[Outage],
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
    outages : sequence of Outage
        Of the recording.

    Notes
    -----
    **House definition**: where the command went straight from the hold before, and by 3 % or more, its way is that of
    the hold. Where it was elsewhere on the way (a step abandoned or called back), or the travel went 3 % beyond both
    holds, the travel decides: the side on which it last was 3 % away (where less was asked for: half of that), unless
    it has been beyond the hold by more than 0.2 % since, or was less far short of it when the command was called back;
    of a valve that closes as the command rises, a travel that fell is of a rising command.
    A valve that has not moved within 10 s of the command may yet do so, and gives no reading before. The first hold of
    a recording, within 5 % of an end of the command, begins a run; elsewhere the travel must show how
    it came there.
    """
    is_reverse = ideal(100.0) < ideal(0.0)
    if before is None:
        return _of_first(recording, here, after, channels, outages, is_reverse=is_reverse)
    if _interrupted(recording, outages, before.segment.to_s, here.segment.from_s):
        return Approach(None, "come to over a gap or a loss of signal or supply")
    called = _called_back(recording, before, here, channels)
    if called is not None:
        least_pct = min(APPROACH_PCT, _OF_ASKED * abs(ideal(called.high_pct) - ideal(called.low_pct)))
        return _by_travel(recording, before.travel.to_s, here, channels, least_pct, called, is_reverse=is_reverse)
    step = here.command_pct - before.command_pct
    if abs(step) < APPROACH_PCT:
        return Approach(None, BY_SMALL_STEP if abs(step) < _SMALL_PCT else f"come to by {abs(step):.2g} %, {_PLAY}")
    moved = abs(here.travel.value - before.travel.value)
    if moved <= channels.travel.band + _BESIDE_PCT and here.segment.to_s - here.since_s < _ANSWERS_S:
        return Approach(None, "the travel had not answered yet: hold it longer")
    return Approach(step > 0)


def _of_first(
    recording: Recording,
    here: Stand,
    after: Stand | None,
    channels: Channels,
    outages: Sequence[Outage],
    *,
    is_reverse: bool,
) -> Approach:
    start_s = max((end for _, end in recording.gaps if end <= here.travel.from_s), default=float(recording.time_s[0]))
    shown = _by_travel(recording, start_s, here, channels, APPROACH_PCT, is_reverse=is_reverse)
    if shown.rising is not None:
        return shown
    near_end = min(here.command_pct, 100.0 - here.command_pct) <= _RUN_BEGINS_PCT
    if after is None or not near_end or _interrupted(recording, outages, here.segment.to_s, after.segment.from_s):
        return Approach(None, "the first of a run, and nothing shows from which side it was come to")
    step = after.command_pct - here.command_pct
    if abs(step) < APPROACH_PCT:
        return Approach(None, f"left by a small step of the command, {_PLAY}")
    return Approach(step > 0, begins_run=True)


@dataclass(frozen=True, slots=True)
class _CalledBack:
    """Least and greatest command on the way between two holds, and when it was last beyond both of them."""

    low_pct: float
    high_pct: float
    below_until_s: float | None
    above_until_s: float | None


def _called_back(recording: Recording, before: Stand, here: Stand, channels: Channels) -> _CalledBack | None:
    """How the command, or the travel, went elsewhere on its way between two holds; None: it went straight."""
    place = recording.place(before.segment.to_s, here.travel.from_s)
    times, command = recording.time_s[place], recording.command_pct[place]
    known = np.isfinite(command)
    times, command = times[known], command[known]
    low, high = sorted((before.command_pct, here.command_pct))
    beside, interval = channels.command.band + _BESIDE_PCT, recording.interval_s
    below, above = (
        np.flatnonzero(_lasting(times, marked, interval))
        for marked in (command < low - beside, command > high + beside)
    )
    if not below.size and not above.size and not _turns(recording.travel_pct[place], before, here):
        return None
    return _CalledBack(
        min(low, float(command[below].min(initial=low))),
        max(high, float(command[above].max(initial=high))),
        float(times[below[-1]]) if below.size else None,
        float(times[above[-1]]) if above.size else None,
    )


def _turns(travel: FloatArray, before: Stand, here: Stand) -> bool:
    """Whether the travel went beyond two holds by what takes up any play."""
    known = travel[np.isfinite(travel)]
    low, high = sorted((before.travel.value, here.travel.value))
    return known.size > 0 and bool(known.min() < low - APPROACH_PCT or known.max() > high + APPROACH_PCT)


def _lasting(times: FloatArray, marked: BoolArray, interval_s: float) -> BoolArray:
    """Marks without those of less than a blink."""
    kept = np.zeros(marked.size, dtype=bool)
    for first, last in extents(marked):
        kept[first : last + 1] = times[last] - times[first] + interval_s > BLINK_S
    return kept


def _by_travel(
    recording: Recording,
    from_s: float,
    here: Stand,
    channels: Channels,
    least_pct: float,
    called: _CalledBack | None = None,
    *,
    is_reverse: bool,
) -> Approach:
    """The side of the command for which the travel last came by so much."""
    place = recording.place(from_s, here.travel.from_s)
    usable = np.isfinite(recording.travel_pct[place])
    times, away = recording.time_s[place][usable], recording.travel_pct[place][usable] - here.travel.value
    turned = channels.travel.band + _BESIDE_PCT
    far = np.flatnonzero(np.abs(away) >= max(least_pct, turned))
    if not far.size:
        return Approach(None, "the command was called back before the travel had gone far enough to take up any play")
    opening = bool(away[far[-1]] < 0.0)
    rising, beyond = opening != is_reverse, away if opening else -away
    until_s = None if called is None else called.above_until_s if rising else called.below_until_s
    called_at = 0 if until_s is None else max(int(np.searchsorted(times, until_s, side="right")) - 1, 0)
    short = until_s is None or float(beyond[called_at]) <= -max(least_pct, turned)
    if not short or float(beyond[far[-1] :].max()) > turned:
        return Approach(None, f"the travel may have turned back to it, {_PLAY}")
    return Approach(rising)


def _interrupted(recording: Recording, outages: Sequence[Outage], from_s: float, to_s: float) -> bool:
    lost, times = recording.signal_lost, recording.time_s
    between = recording.place(from_s, to_s)
    went = any(times[each.from_place] <= to_s and times[each.to_place] >= from_s for each in outages)
    return recording.has_gap(from_s, to_s) or went or bool(lost is not None and np.count_nonzero(lost[between]) > 1)
