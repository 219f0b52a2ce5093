"""Strokes, wipers and supplies that one slip or another unit explains."""

from __future__ import annotations

import pytest

from kit.records.suspicions.further_tables import find_odd_values
from tests.records.suspicions.frames import seen


def strokes(*times: float) -> list[str]:
    given = [{"direction": "open" if place % 2 == 0 else "close", "time_s": time} for place, time in enumerate(times)]
    return [each.problem.partition("?")[0] for each in find_odd_values(seen(strokes=given))]


@pytest.mark.parametrize(
    ("time_s", "said"),
    [
        (0.5, "Was 30 meant (minutes typed as s)"),
        (301.0, "Was 30.1 meant (the decimal point slipped)"),
        (4.4, ""),
        (39.0, "Was 30.9 meant (two digits exchanged)"),
        (41.0, ""),
        (36.0, ""),
    ],
)
def test_a_stroke_far_from_the_others_is_asked_about_where_a_slip_explains_it(time_s, said) -> None:
    assert strokes(time_s, 30.0, 30.2, 29.9) == ([said] if said else [])


def test_slow_strokes_all_alike_tell_nothing_and_one_alone_neither() -> None:
    assert strokes(39.0, 39.2, 39.1, 39.0) == []
    assert strokes(0.5) == []


def wipers(*ohms: float) -> list[str]:
    points = (0.0, 25.0, 50.0, 75.0, 100.0)
    given = [
        {"position_pct": point, "wiper_ohm": ohm, "track_ohm": 1000.0} for point, ohm in zip(points, ohms, strict=True)
    ]
    return [each.problem.partition("?")[0].partition(".")[0] for each in find_odd_values(seen(potentiometer=given))]


def test_a_wiper_off_the_line_of_the_others_is_asked_about_where_a_slip_explains_it() -> None:
    assert wipers(100, 300, 500, 700, 900) == []
    assert wipers(100, 310, 520, 270, 930) == ["Was 720 meant (two digits exchanged)"]
    assert wipers(100, 300, 400, 700, 900) == []
    assert wipers(0.1, 0.3, 0.5, 0.7, 0.9) == ["These look like kΩ typed as Ω"]


@pytest.mark.parametrize(("running", "asked"), [(23.6, False), (2.36, True), (236.0, True), (19.0, False)])
def test_a_supply_ten_times_off_is_asked_about(running, asked) -> None:
    given = [{"supply_nominal_v": 24.0, "supply_running_v": running}]
    assert bool(find_odd_values(seen(electrical=given))) == asked
