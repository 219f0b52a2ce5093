"""What of a recording no figure is made of, from when to when, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from kit.basis.recording import Recording, Segment, extents
from kit.calculations.recordings.levels import SAME_COMMAND_PCT, Change, ChangeKind, Level, Part
from kit.calculations.recordings.motion import Motion

UNSETTLED: Final = "the travel did not come to rest: hold it longer"
_LEAST_MOTION_S: Final = 0.5  # House definition: a shorter motion outside the segments is an edge of one
_CHANGES: Final[dict[ChangeKind, str]] = {
    "jogs": "the command went in small steps too quick for a level each: hold each for 3 s, or turn it evenly",
    "excursion": "the command was elsewhere and came back before it rested: no step and no response is made of it",
    "unclear": "the command neither rests, nor steps, nor ramps",
}
_OF_NO_SEGMENT: Final = "the valve moved, and no row of the table segments holds it"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A hold, or a stretch of time, that no figure is made of."""

    what: Literal["hold", "stretch"]
    from_s: float
    to_s: float
    why: str


def cut_left_out(stretches: Sequence[tuple[Sequence[Part], float]], segments: Sequence[Segment]) -> list[LeftOut]:
    """Levels and changes of the command that make no test.

    Parameters
    ----------
    stretches : sequence
        Parts of the command, as :func:`~kit.calculations.recordings.segments.parts_of_stretches` finds them.
    segments : sequence of Segment
        The tests that were made of them.

    Notes
    -----
    **House definition**: a level whose travel does not come to rest a second before its end is no hold; changes by less
    than 0.2 % that are neither step nor ramp are not told.
    """
    ends = {each.to_s for each in segments if each.what in ("hold", "rest")}
    found = []
    for parts, _ in stretches:
        for part in parts:
            if isinstance(part, Level):
                if part.to_s not in ends:
                    found.append(LeftOut("hold", part.from_s, part.to_s, UNSETTLED))
            elif part.kind in _CHANGES and _is_told(part):
                found.append(LeftOut("stretch", part.from_s, part.to_s, _CHANGES[part.kind]))
    return found


def motion_left_out(recording: Recording, segments: Sequence[Segment], motion: Motion) -> list[LeftOut]:
    """Stretches in which the valve moved outside every segment that a person set.

    Notes
    -----
    **House definition**: of half a second and more.
    """
    outside = motion.moving.copy()
    for each in segments:
        outside[recording.place(each.from_s, each.to_s)] = False
    times = recording.time_s
    return [
        LeftOut("stretch", float(times[first]), float(times[last]), _OF_NO_SEGMENT)
        for first, last in extents(np.asarray(outside, dtype=np.bool_))
        if times[last] - times[first] + recording.interval_s > _LEAST_MOTION_S
    ]


def _is_told(change: Change) -> bool:
    return change.kind != "unclear" or abs(change.change_pct) >= SAME_COMMAND_PCT
