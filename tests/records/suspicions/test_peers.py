"""Repeats far calmer than those of the unit."""

from __future__ import annotations

import numpy as np
import pytest

from kit.basis.registers import Instrument
from kit.records.suspicions.peers import find_calm_repeats
from tests.records.suspicions.frames import run, seen


def told(calm: float, peers: int = 12, usual: float = 0.1, step: float | None = 0.001) -> list[int | None]:
    draw = np.random.default_rng(1)
    readings = []
    for visit in range(peers + 1):
        scatter = calm if visit == 0 else usual
        for cycle in ("1", "2", "3"):
            positions = [point + draw.normal(0, scatter) for point in (20.0, 40.0, 60.0, 80.0)]
            readings += run([20.0, 40.0, 60.0, 80.0], positions, visit=str(visit), cycle=cycle)
    visits = [{"visit": str(visit), "position_instrument": "P"} for visit in range(peers + 1)]
    instruments = [Instrument("P", "pct", resolution=step)]
    return [each.row for each in find_calm_repeats(seen(instruments, visits=visits, readings=readings))]


@pytest.mark.parametrize(("calm", "asked"), [(0.004, True), (0.0, True), (0.03, False), (0.1, False)])
def test_repeats_a_seventh_of_the_usual_are_asked_about(calm, asked) -> None:
    assert told(calm) == ([2] if asked else [])


def test_a_small_unit_has_no_peers_and_no_readings_tell_nothing() -> None:
    assert told(0.0, peers=6) == []
    assert find_calm_repeats(seen()) == []


@pytest.mark.parametrize("step", [None, 0.2])
def test_where_rounding_may_hide_the_scatter_nothing_is_asked(step) -> None:
    assert told(0.0, step=step) == []
