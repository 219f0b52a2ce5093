"""The marks: as large as asked, about their place, and no others."""

from __future__ import annotations

import numpy as np
import pytest

from kit.views.svg.errors import DrawingError
from kit.views.svg.paths import marks_path
from kit.views.svg.symbols import _DRAWN, symbol
from tests.views.svg.reader import subpaths

LINES = {"line-ew-open": (11.2, 0.0), "line-ns-open": (0.0, 11.2)}


@pytest.mark.parametrize("name", [each for each in _DRAWN if each != "circle"])
def test_a_mark_lies_about_its_place_and_the_next_one_about_its_own(name: str) -> None:
    places = np.array([[200.0, 300.0], [900.0, 120.0]])
    corners = subpaths(marks_path(places[:, 0], places[:, 1], symbol(name, 8)))
    each = np.array_split(np.arange(len(corners)), 2)
    for part, place in zip(each, places / 10, strict=True):
        points = np.concatenate([corners[index] for index in part])
        size = np.ptp(points, axis=0)
        wanted = LINES.get(name)
        assert np.all(np.abs(points - place) <= 6)
        assert size == pytest.approx(wanted, abs=0.11) if wanted else 6 <= size[0] <= 11
        assert points[:, 0].mean() == pytest.approx(place[0], abs=4.1)


def test_a_full_dot_is_the_round_end_of_a_line_of_no_length() -> None:
    dot = symbol("circle", 7)
    assert dot.is_dot
    assert subpaths(marks_path(np.array([50.0]), np.array([60.0]), dot)) == [[(5, 6), (5, 6)]]


def test_up_points_up_and_down_points_down() -> None:
    for name, sign in (("triangle-up", -1), ("triangle-down-open", 1)):
        ((first, second, tip, _),) = subpaths(marks_path(np.array([0.0]), np.array([0.0]), symbol(name, 8)))
        assert first[1] == second[1]
        assert (tip[1] - first[1]) * sign > 0


def test_an_unknown_mark_is_refused() -> None:
    with pytest.raises(DrawingError, match="'star' is not among those drawn"):
        symbol("star", 8)
