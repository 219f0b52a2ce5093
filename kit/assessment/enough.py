"""Whether enough was recorded for a check to pass; where not, what is short and what to record."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from math import inf
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from kit.assessment.budgets import Day
from kit.assessment.limits import limit_set_for
from kit.basis.arrays import FloatArray
from kit.basis.checks import CheckName
from kit.basis.evidence import NEEDS, NEEDS_ON_OFF, Need
from kit.calculations.both_ways import commands_both_ways
from kit.calculations.points import WITHIN_PCT, group_commands
from kit.calculations.position import Runs

Needs = Mapping[Need, float]

_ENDS_PCT: Final = (0.0, 100.0)
_ROUNDING_PCT: Final = 1e-9
_LEAST_GAP_PCT: Final = 1.0  # House definition: no evidence asks for readings closer than two test points lie
_MANY: Final = 8  # places that a sentence names at most


def needs_for(check: CheckName, day: Day) -> Needs:
    """What a tag's check needs: the defaults for its duty, and what its limit set says otherwise.

    Notes
    -----
    House definition: a duty that is blank or cannot be read counts as modulating; the cycles that a limit on
    repeatability names come before those of the evidence.
    """
    defaults = NEEDS_ON_OFF.get(check) if day.tag.duty == "on_off" else None
    limit_set = limit_set_for(day.tag, day.settings).limit_set
    if limit_set is None:
        return defaults or NEEDS.get(check, {})
    needs = {**(defaults or NEEDS.get(check, {})), **limit_set.evidence.get(check, {})}
    limit = limit_set.limits.get(check)
    if limit is not None and limit.cycles is not None:
        needs["cycles"] = limit.cycles
    return needs


def shortfall_of_runs(check: CheckName, runs: Runs, day: Day, *, what: str = "readings") -> str:
    """What static readings lack for a check of them; "": nothing."""
    needs = needs_for(check, day)
    found = [
        _line(runs.point_command_pct, needs, "command", what) if "commands" in needs and "cycles" not in needs else "",
        _both_ways(runs, needs, what) if "both_ways" in needs else "",
        _cycles(runs, needs, what) if "cycles" in needs else "",
    ]
    return "; ".join(each for each in found if each)


def shortfall_of_ends(position_pct: ArrayLike, needs: Needs, what: str) -> str:
    """What positions over the travel lack to show both of its ends."""
    inside = np.clip(np.asarray(position_pct, dtype=float), *_ENDS_PCT)  # beyond an end is as good as at it
    missing = _ends_missing(inside, needs["end_within_pct"])
    if not missing:
        return ""
    return f"no {what} within {needs['end_within_pct']:g} % of {_listed(missing)} % travel: take one there too"


def shortfall_of_positions(position_pct: ArrayLike, needs: Needs, what: str) -> str:
    """What positions over the travel lack in number."""
    points = _points(position_pct)
    least = int(needs["positions"])
    if points.size >= least:
        return ""
    missing = _ends_missing(points, WITHIN_PCT)
    further = sorted([*missing, *_further(np.sort(np.append(points, missing)), least, inf)])
    return (
        f"{what} at {_counted(points.size, 'position')}, {least} are needed: take it at {_listed(further)} % travel too"
    )


def shortfall_of_outputs(output_pct: ArrayLike, needs: Needs, what: str) -> str:
    """What the outputs of a loop check lack, both ends among them."""
    points = _points(output_pct)
    return _line(points, {"commands": needs["outputs"], "end_within_pct": needs["end_within_pct"]}, "output", what)


def _line(points_pct: FloatArray, needs: Needs, place: str, what: str) -> str:
    """What rising, separate points lack in ends, number and closeness, in one line."""
    within, least = needs["end_within_pct"], int(needs["commands"])
    widest = max(needs.get("gap_pct", inf), _LEAST_GAP_PCT)
    inside = points_pct[(points_pct >= -within - _ROUNDING_PCT) & (points_pct <= 100.0 + within + _ROUNDING_PCT)]
    missing = _ends_missing(inside, within)
    whole = np.sort(np.append(inside, missing))
    further = _further(whole, least, widest)
    if not missing and not further:
        return ""
    if inside.size < least:
        fault = f"{what} at {_counted(inside.size, place)}, {least} are needed"
    elif missing:
        fault = f"no {what} within {within:g} % of {_listed(missing)} % {place}"
    else:
        fault = f"{what} leave a gap of {float(np.diff(inside).max()):.3g} % {place}, {widest:g} % is the most"
    return f"{fault}: read {_listed(sorted([*missing, *further]))} % too"


def _both_ways(runs: Runs, needs: Needs, what: str) -> str:
    least, found = int(needs["both_ways"]), commands_both_ways(runs, end_within_pct=needs["end_within_pct"])
    if found >= least:
        return ""
    return (
        f"{what} both ways at {_counted(found, 'command')} between the ends, {least} are needed: "
        f"read {_listed(_one_way(runs, least))} too"
    )


def _one_way(runs: Runs, least: int) -> list[str]:
    """Commands between the ends to be read the other way, or anew."""
    inner = (runs.point_command_pct > 1.0) & (runs.point_command_pct < 99.0)
    found = [
        f"{runs.point_command_pct[point]:.3g} % {'down' if runs.down_count[point] == 0 else 'up'}"
        for point in np.flatnonzero(inner & ((runs.up_count == 0) | (runs.down_count == 0)))
    ]
    if len(found) + np.count_nonzero(inner & (runs.up_count > 0) & (runs.down_count > 0)) >= least:
        return found
    return [f"{each:g} % both ways" for each in (25, 50, 75)]


def _cycles(runs: Runs, needs: Needs, what: str) -> str:
    """House definition: a reading without a cycle is a cycle of its own; cycles equal in every value are one."""
    least_commands, least = int(needs.get("commands", 1)), int(needs["cycles"])
    times: Counter[tuple[int, bool]] = Counter()
    seen: set[tuple[int, bool, float]] = set()
    cycles = _different_cycles(runs)
    for point, rising, cycle in zip(runs.point.tolist(), runs.rising.tolist(), cycles, strict=True):
        # A nan equals nothing: every blank cycle counts.
        if (point, rising, cycle) not in seen:
            seen.add((point, rising, cycle))
            times[point, rising] += 1
    found = len({point for (point, _), count in times.items() if count >= least})
    if found >= least_commands:
        return ""
    return (
        f"{what} of {_counted(least, 'cycle')} at {_counted(found, 'command')}, {least_commands} are needed: "
        f"read each in {_counted(least, 'cycle')}, numbered in the column cycle"
    )


def _different_cycles(runs: Runs) -> list[float]:
    """The cycle of each reading, with that of its first copy for one that is equal in every value."""
    values: dict[float, list[tuple[bool, float, float]]] = {}
    cycles = runs.cycle.tolist()
    readings = zip(runs.rising.tolist(), runs.input_pct.tolist(), runs.error_pct.tolist(), strict=True)
    for cycle, reading in zip(cycles, readings, strict=True):
        values.setdefault(cycle, []).append(reading)
    first: dict[tuple[tuple[bool, float, float], ...], float] = {}
    same = {cycle: first.setdefault(tuple(sorted(own)), cycle) for cycle, own in values.items() if cycle == cycle}
    return [same.get(cycle, cycle) for cycle in cycles]


def _points(places_pct: ArrayLike) -> FloatArray:
    """Places within 0.5 % of each other brought to one, rising; nan is left out."""
    places = np.asarray(places_pct, dtype=float)
    places = places[np.isfinite(places)]
    point = group_commands(places)
    means: FloatArray = np.bincount(point, weights=places) / np.bincount(point) if places.size else places
    return means


def _ends_missing(places_pct: FloatArray, within_pct: float) -> list[float]:
    return [end for end in _ENDS_PCT if not (np.abs(places_pct - end) <= within_pct + _ROUNDING_PCT).any()]


def _further(points_pct: FloatArray, least: int, widest_pct: float) -> list[float]:
    """Where more points would make ``least`` of two or more without a gap above ``widest_pct``: the middles of gaps."""
    points: list[float] = points_pct.tolist()
    found: list[float] = []
    while True:
        gap, start = max((later - before, before) for before, later in pairwise(points))
        if gap <= widest_pct + _ROUNDING_PCT and _points(points).size >= least:
            return sorted(found)
        middle = float(round(start + gap / 2)) if gap > 2 else start + gap / 2
        found.append(middle)
        points = sorted([*points, middle])


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _listed(parts: Iterable[float | str]) -> str:
    texts: Sequence[str] = [f"{each:g}" if isinstance(each, float) else str(each) for each in parts]
    if len(texts) > _MANY:
        texts = [*texts[:_MANY], "more"]
    return f"{', '.join(texts[:-1])} and {texts[-1]}" if len(texts) > 1 else "".join(texts)
