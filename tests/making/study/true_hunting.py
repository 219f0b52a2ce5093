"""What a stem truly did in the swings in which hunting was found."""

from __future__ import annotations

from typing import Final

import numpy as np

from kit.calculations.recordings.hunting import Stillness
from tests.making.valves import Hunting, Motion, TrueSegment
from tests.making.valves.truth import hunting_between

_NEAR_A_TURN: Final = 0.2  # of the time between turns, by which a turn in means may be off


def true_swings(motion: Motion, found: Stillness) -> Hunting | None:
    """The swings of the stem from the first turn found to the last; None: it turned less than three times.

    A turn is found anywhere in its stand, and set off from at its end: between just these two times the truth would
    lack the last.
    """
    near_s = _NEAR_A_TURN * float(np.median(np.diff(found.turn_s)))
    from_s, to_s = float(found.turn_s[0]) - near_s, float(found.turn_s[-1]) + near_s
    return hunting_between(motion, TrueSegment("rest", from_s, to_s), from_s, to_s)
