"""What the small steps of a routine showed: motions counted from the command of the motion before."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from tests.making.valves.true_responses import Response

_SMALL_PCT: Final = 1.0


@dataclass(frozen=True, slots=True)
class SmallSteps:
    """Changes of command from one motion of the stem to the next, by steps of at most 1 % [% of command range].

    Each is up to one step greater than what a command without steps would need.
    """

    dead_bands_pct: tuple[float, ...]  # from the last motion one way to the first motion back
    resolutions_pct: tuple[float, ...]  # from a motion to the next the same way


def small_steps(responses: Sequence[Response]) -> SmallSteps:
    """Dead bands and resolutions, as the noise-free stem showed them.

    Parameters
    ----------
    responses : sequence of Response
        In the order of time. Where one does not follow at once on the one before, as after a ramp, and after a loss
        or a restoration of the signal, the count starts anew.

    Notes
    -----
    **House definition**, after the usual test: change the command slowly until the stem moves, note the command,
    change it back until the stem moves back, note it again; the difference is the dead band.
    """
    dead_bands: list[float] = []
    resolutions: list[float] = []
    last: tuple[float, float] | None = None  # command and way of the motion before
    ended_s = 0.0
    for response in responses:
        change = response.to_command_pct - response.from_command_pct
        if response.segment.from_s > ended_s or response.segment.what in ("signal_lost", "signal_restored"):
            last = None
        ended_s = response.segment.to_s
        if response.dead_time_s is None or change == 0.0:
            continue
        way = float(np.sign(change))
        if last is not None and response.segment.what == "step" and abs(change) <= _SMALL_PCT:
            found = resolutions if way == last[1] else dead_bands
            found.append(round(abs(response.to_command_pct - last[0]), 9))
        last = (response.to_command_pct, way)
    return SmallSteps(tuple(dead_bands), tuple(resolutions))
