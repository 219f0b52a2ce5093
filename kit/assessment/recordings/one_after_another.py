"""The recordings of a stage in the order of their start, and what two files say of the same time."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from math import inf
from typing import Final

import numpy as np

from kit.assessment.recordings.two_of_one_run import one_of_two, outside
from kit.basis.arrays import FloatArray
from kit.basis.recording import Recording
from kit.basis.records import RecordingFile
from kit.calculations.recordings.noise import noise_of
from kit.calculations.recordings.same_run import ALIKE_PCT, CHANNELS

_MOST: Final = 0.95  # House definition: of the samples, between which a moving valve is not compared at one time
_CLOCKS_S: Final = tuple(0.5 * number for number in range(-20, 21))  # House definition: how far apart two clocks may be
_FEWEST: Final = 3  # House definition: fewer samples in common tell nothing


def moment_of(source: RecordingFile) -> float | None:
    """When a recording starts [s, since 1970]; a stamp without a zone counts as UTC. None: it has times in s only."""
    try:
        start = datetime.fromisoformat(source.start)
    except ValueError:
        return None
    return (start if start.tzinfo is not None else start.replace(tzinfo=UTC)).timestamp()


def in_order(sources: Sequence[RecordingFile]) -> list[RecordingFile]:
    """By their start, where each has one; else as the files are named.

    Notes
    -----
    House definition.
    """
    moments = [moment_of(each) for each in sources]
    known = [each for each in moments if each is not None]
    if len(known) < len(moments):
        return list(sources)
    return [sources[place] for place in sorted(range(len(known)), key=known.__getitem__)]


def read_once(sources: Sequence[RecordingFile]) -> list[tuple[RecordingFile, str]]:
    """Recordings in order, each without what another says of the same time, and a sentence on that.

    Notes
    -----
    House definition: two files of one run are one recording, whatever their clocks and columns. Else a file loses what
    it shares with an earlier one where both agree within 0.5 % of travel and command in 95 % of the samples, the other
    has every channel that it has, and nobody set its segments; or both are used, and that is told: two clocks, or two
    occasions.
    """
    found: list[tuple[RecordingFile, str]] = []
    for source in sources:
        note = ""
        for place, (earlier, earlier_note) in enumerate(found):
            pair = one_of_two(earlier, source)
            if pair is not None:
                (earlier, of_earlier), (source, of_source) = pair
                found[place] = earlier, " ".join(filter(None, (earlier_note, of_earlier)))
                note = " ".join(filter(None, (note, of_source)))
                continue
            shared = _shared_s(earlier, source)
            if shared is None or source.recording is None:
                continue
            if not _may_go(earlier, source) or not _agree(earlier, source, shared):
                note = (
                    f"its times overlap those of {earlier.file} by {shared[1] - shared[0]:.0f} s, and the two do not "
                    "say the same or hold the same columns: both are used. See which clock is wrong."
                )
                continue
            note = f"its {shared[1] - shared[0]:.0f} s that {earlier.file} holds as well are read there alone."
            source = outside(source, -inf, shared[1])
        found.append((source, note))
    return found


def _shared_s(earlier: RecordingFile, source: RecordingFile) -> tuple[float, float] | None:
    """The time that two recordings share [s of the second]."""
    moments = moment_of(earlier), moment_of(source)
    one, two = earlier.recording, source.recording
    if moments[0] is None or moments[1] is None or one is None or two is None or not len(one) or not len(two):
        return None
    shift = moments[0] - moments[1]
    begins = max(float(one.time_s[0]) + shift, float(two.time_s[0]))
    ends = min(float(one.time_s[-1]) + shift, float(two.time_s[-1]))
    return (begins, ends) if ends > begins else None


def _may_go(earlier: RecordingFile, source: RecordingFile) -> bool:
    one, two = earlier.recording, source.recording
    if one is None or two is None or source.segments is not None:
        return False
    lacks = any(getattr(one, name) is None and getattr(two, name) is not None for name in CHANNELS)
    return not lacks and (one.has_command or not two.has_command)


def _agree(earlier: RecordingFile, source: RecordingFile, shared: tuple[float, float]) -> bool:
    """Whether two recordings say the same of the time they share, by clocks that may be some seconds apart."""
    one, two = earlier.recording, source.recording
    if one is None or two is None:
        return False
    place = two.place(*shared)
    at_s = two.time_s[place] - (moment_of(earlier) or 0.0) + (moment_of(source) or 0.0)
    pairs = (one.travel_pct, two.travel_pct[place]), (one.command_pct, two.command_pct[place])
    return any(all(_are_alike(one, at_s + late, *pair) for pair in pairs) for late in _CLOCKS_S)


def _are_alike(one: Recording, at_s: FloatArray, mine: FloatArray, yours: FloatArray) -> bool:
    known = np.isfinite(mine)
    if not known.any():
        return True
    inside = (at_s >= one.time_s[0]) & (at_s <= one.time_s[-1]) & np.isfinite(yours)
    apart = np.abs(np.interp(at_s[inside], one.time_s[known], mine[known]) - yours[inside])
    allowed = ALIKE_PCT + noise_of(mine, one.interval_s).band
    return apart.size >= _FEWEST and float(np.mean(apart <= allowed)) >= _MOST
