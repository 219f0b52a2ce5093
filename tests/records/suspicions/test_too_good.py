"""Readings better than instruments read, and what a coarse instrument explains."""

from __future__ import annotations

import pytest

from kit.basis.registers import Instrument
from kit.records.suspicions.too_good import find_too_good
from tests.records.suspicions.frames import seen

POINTS = (0, 10, 25, 40, 50, 60, 75, 90, 100, 90, 75, 60, 50, 40, 25, 10, 0)
VISIT = {"position_instrument": "P", "command_instrument": "C"}


def told(resolution: float | None, change, **more) -> list[str]:
    given = []
    for number, point in enumerate(POINTS):
        way = "up" if number < 9 else "down"
        row = {"direction": way, "command_pct": point, "position_pct": change(point, way), **more}
        given.append({name: value(point) if callable(value) else value for name, value in row.items()})
    instruments = [Instrument("P", "pct", resolution=resolution), Instrument("C", "pct", resolution=0.01)]
    return [each.problem.partition(".")[0] for each in find_too_good(seen(instruments, visits=[VISIT], readings=given))]


def ragged(point: float, way: str) -> float:
    return point + 0.07 + (0.11 if way == "down" else 0.0) + 0.001 * point


@pytest.mark.parametrize(("resolution", "asked"), [(0.1, True), (0.15, True), (1.0, False), (None, False)])
def test_positions_at_nominal_are_asked_about_where_the_instrument_reads_finer(resolution, asked) -> None:
    texts = told(resolution, lambda point, way: float(point))
    assert any("exactly what was asked for" in each for each in texts) == asked


def test_one_in_ten_off_nominal_is_still_asked_about_and_more_are_not() -> None:
    off = {40}
    assert not any("asked for" in each for each in told(0.01, lambda point, way: point + 0.2 * (point in off | {60})))


@pytest.mark.parametrize(("resolution", "asked"), [(0.01, True), (0.1, False)])
def test_no_lag_anywhere_is_asked_about_at_fine_resolution_alone(resolution, asked) -> None:
    texts = told(resolution, lambda point, way: ragged(point, "up"))
    assert any("Up and down agree" in each for each in texts) == asked
    assert told(resolution, ragged) == []


def test_no_readings_tell_nothing() -> None:
    assert find_too_good(seen()) == []
