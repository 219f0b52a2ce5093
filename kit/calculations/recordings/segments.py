"""A recording cut into tests: holds, strokes, steps, ramps, losses of signal, rest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from kit.basis.arrays import FloatArray, IntArray
from kit.basis.recording import Recording, Segment, What
from kit.calculations.recordings.at_rest import rest_of
from kit.calculations.recordings.channels import Channels, channels_of
from kit.calculations.recordings.levels import LEAST_HOLD_S, Change, Level, Part, command_parts
from kit.calculations.recordings.noise import Noise
from kit.calculations.recordings.outages import Outage, outages_of

Ideal = Callable[[float], float]
Stretches = Sequence[tuple[Sequence[Part], float]]  # of each: its parts, and where it ends [s]

FULL_STROKE_PCT: Final = 90.0  # House definition: of the travel; commands of 5 and 95 % make a stroke too
REST_S: Final = 60.0  # House definition: long enough to show hunting
LEAD_S: Final = 5.0  # House definition: before a change, to show what it started from
_NEARLY: Final = 0.98  # House definition: a level is cut short by the samples at its ends
_SETTLED_PCT: Final = 0.2  # House definition: from its rest, within which the travel has arrived


def cut_recording(
    recording: Recording, ideal: Ideal, channels: Channels | None = None, stretches: Stretches | None = None
) -> tuple[Segment, ...]:
    """Find the tests in a recording.

    Parameters
    ----------
    recording : Recording
    ideal : callable
        Ideal position [% of travel] for a command [% of command range].
    channels : Channels or None
        Noise of the recording; None: estimated here.
    stretches : sequence or None
        Parts of the command, as :func:`parts_of_stretches` finds them; None: found here.

    Returns
    -------
    tuple of Segment
        In order of time. A step, a stroke and a loss begin up to 5 s before the change, so that each holds
        what it started from, and last until the command changes again; the hold or rest at
        the end of a step begins where the travel came to rest.

    Notes
    -----
    **House definition**: levels and changes of the command as
    :func:`~kit.calculations.recordings.levels.command_parts` finds them, in each stretch without gap and loss; a step
    that asks for 90 % of the travel or more is a full stroke; a level of 60 s or more is a rest.
    """
    noise = channels or channels_of(recording)
    found: list[Segment] = [Segment("gap", start, end) for start, end in recording.gaps]
    for outage in outages_of(recording):
        found += _loss(recording, outage, noise)
    for parts, end_s in parts_of_stretches(recording, noise) if stretches is None else stretches:
        found += _segments(recording, parts, ideal, noise, end_s)
    return tuple(sorted(found, key=lambda each: (each.from_s, each.to_s, each.what)))


def parts_of_stretches(recording: Recording, channels: Channels) -> Stretches:
    """Levels and changes of the command in each stretch without gap and loss, with the end of the stretch [s].

    House definition.
    """
    found = []
    for first, last in stretches_of(recording):
        usable = first + np.flatnonzero(np.isfinite(recording.command_pct[first : last + 1]))
        if usable.size:
            parts = command_parts(recording.time_s[usable], recording.command_pct[usable], channels.command)
            found.append((parts, float(recording.time_s[last])))
    return found


def stretches_of(recording: Recording) -> list[tuple[int, int]]:
    """First and last sample of each stretch without gap and loss of signal.

    Notes
    -----
    **House definition**: no test reaches across a gap or a loss.
    """
    losses = [(each.from_place, each.to_place) for each in outages_of(recording)]
    whole = np.ones(len(recording), dtype=bool)
    for first, last in losses:
        whole[first : last + 1] = False
    if recording.signal_lost is not None:
        whole &= ~recording.signal_lost
    broken = np.zeros(len(recording), dtype=bool)
    for start, _ in recording.gaps:
        place = int(np.searchsorted(recording.time_s, start, side="right"))
        if place < len(recording):
            broken[place] = True
    stretches = []
    edges = [0, *np.flatnonzero(broken).tolist(), len(recording)]
    for left, right in pairwise(edges):
        kept = np.flatnonzero(whole[left:right]) + left
        if kept.size == 0:
            continue
        bounds = [0, *_splits(kept, losses), kept.size]
        stretches += [(int(kept[a]), int(kept[b - 1])) for a, b in pairwise(bounds) if b > a]
    return stretches


def _splits(kept: IntArray, losses: Sequence[tuple[int, int]]) -> list[int]:
    """Where kept samples lie on both sides of a loss."""
    places = {int(np.searchsorted(kept, first)) for first, _ in losses}
    return sorted(place for place in places if 0 < place < kept.size)


def _loss(recording: Recording, outage: Outage, noise: Channels) -> list[Segment]:
    """A loss, and what follows; of signal and supply at once it is the supply that counts."""
    times, last = recording.time_s, outage.to_place
    start, end = max(float(times[0]), float(times[outage.from_place]) - LEAD_S), float(times[last])
    found = [Segment("supply_lost" if outage.of_supply else "signal_lost", start, end)]
    if last + 1 < len(recording):
        restored: What = "supply_restored" if outage.of_supply else "signal_restored"
        found.append(Segment(restored, end, _next_change(recording, last + 1, noise)))
    return found


def _next_change(recording: Recording, first: int, noise: Channels) -> float:
    """When the command changes, is lost or breaks off after a restoration, or the supply goes."""
    times = recording.time_s
    end = len(recording) - 1
    if recording.signal_lost is not None:
        lost = np.flatnonzero(recording.signal_lost[first:])
        end = first + int(lost[0]) - 1 if lost.size else end
    later = [each.from_place for each in outages_of(recording) if each.from_place > first]
    end = min([end, *(each - 1 for each in later)])
    for start, _ in recording.gaps:
        if start >= times[first]:
            end = min(end, int(np.searchsorted(times, start, side="right")) - 1)
    usable = first + np.flatnonzero(np.isfinite(recording.command_pct[first : end + 1]))
    parts = command_parts(times[usable], recording.command_pct[usable], noise.command)
    levels = [part for part in parts if isinstance(part, Level)]
    return levels[0].to_s if levels else float(times[max(end, first)])


def _segments(
    recording: Recording, parts: Sequence[Part], ideal: Ideal, noise: Channels, end_s: float
) -> list[Segment]:
    found: list[Segment] = []
    for number, part in enumerate(parts):
        if isinstance(part, Level):
            found += _level(recording, part, noise.travel)
            continue
        before = parts[number - 1] if number else None
        after = parts[number + 1] if number + 1 < len(parts) else None
        if part.kind == "step" and isinstance(before, Level) and isinstance(after, Level):
            lead = max(before.from_s, part.from_s - LEAD_S)
            found.append(Segment(_step_kind(part, ideal), lead, after.to_s))
        elif part.kind in ("ramp_up", "ramp_down"):
            what: What = "ramp_up" if part.kind == "ramp_up" else "ramp_down"
            found.append(Segment(what, part.from_s, min(part.to_s, end_s)))
    return found


def _step_kind(change: Change, ideal: Ideal) -> What:
    asked = ideal(change.to_pct) - ideal(change.from_pct)
    if abs(asked) < FULL_STROKE_PCT:
        return "step"
    return "stroke_open" if asked > 0 else "stroke_close"


def _level(recording: Recording, level: Level, noise: Noise) -> list[Segment]:
    """The hold or rest at a level, from where the travel came to rest."""
    what: What = "rest" if level.duration_s >= REST_S * _NEARLY else "hold"
    place = recording.place(level.from_s, level.to_s)
    start = _settled_s(recording.time_s[place], recording.travel_pct[place], noise)
    start = level.from_s if start is None else start
    if level.to_s - start < LEAST_HOLD_S / 2:
        return []
    return [Segment(what, start, level.to_s)]


def _settled_s(time_s: FloatArray, travel: FloatArray, noise: Noise) -> float | None:
    rest = rest_of(time_s, travel, noise)
    if rest is None:
        return None
    with np.errstate(invalid="ignore"):
        away = np.flatnonzero(np.abs(travel - rest.value) > max(noise.band, _SETTLED_PCT))
    return float(time_s[0]) if away.size == 0 else float(time_s[min(int(away[-1]) + 1, time_s.size - 1)])
