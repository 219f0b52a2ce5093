"""What figures of a recording draw: steps in % of their own change, the restless rest, when a switch was made."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

import numpy as np

from kit.assessment.shown.curves import Points
from kit.calculations.recordings.hunting import Kind, Stillness, worst_rest
from kit.calculations.recordings.reduce import Reduction
from kit.calculations.recordings.steps import T63_SHARE, T86_SHARE, StepResponse
from kit.calculations.recordings.switches import End

T63_PCT: Final = 100 * T63_SHARE  # of the change of travel
T86_PCT: Final = 100 * T86_SHARE
RESTLESS: Final[frozenset[Kind]] = frozenset({"hunting", "stick_slip", "drift", "beat"})
_MADE: Final = 0.5  # a switch's column holds 0 and 1


def drawable(steps: Sequence[StepResponse]) -> list[StepResponse]:
    """The responses that came to rest on both sides, so that they can be drawn in % of their own change."""
    return [
        each for each in steps if np.isfinite(each.from_travel_pct + each.to_travel_pct) and each.t63.value is not None
    ]


def one_of_each(steps: Sequence[StepResponse], most: int) -> list[StepResponse]:
    """The first drawable response of each size and way, greatest first, ``most`` at most."""
    first: dict[int, StepResponse] = {}
    for each in drawable(steps):
        first.setdefault(round(each.asked_pct), each)
    return sorted(first.values(), key=lambda each: (-round(abs(each.asked_pct)), not each.opens))[:most]


def step_curve(step: StepResponse, from_s: float, to_s: float) -> Points:
    """Travel in % of its whole change over the time since the step [s], between two times. The step is drawable."""
    shown = (step.time_s >= from_s) & (step.time_s <= to_s)
    change = step.to_travel_pct - step.from_travel_pct
    return Points(step.time_s[shown], 100.0 * (step.travel_pct[shown] - step.from_travel_pct) / change)


def restless(rests: Sequence[Stillness]) -> Stillness | None:
    """The rest in which the travel moves most; None: it stays where it is in all."""
    return worst_rest([each for each in rests if each.kind in RESTLESS])


def made_spans(reduction: Reduction, end: End) -> list[tuple[float, float]] | None:
    """From each make to the next break [s], the recording's ends included; None: the switch was not recorded."""
    recording = reduction.recording
    column = recording.closed_switch if end == "closed" else recording.open_switch
    if column is None:
        return None
    known = column[np.isfinite(column)]
    edges = [(each.at_s, each.makes) for each in reduction.switch_events if each.end == end]
    if known.size and known[0] > _MADE:
        edges.insert(0, (float(recording.time_s[0]), True))
    edges.append((float(recording.time_s[-1]), False))
    return [(start, stop) for (start, makes), (stop, _) in pairwise(edges) if makes]
