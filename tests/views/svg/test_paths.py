"""Lines and marks as path data: near enough to every point, small, each place once."""

from __future__ import annotations

import itertools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from kit.views.svg.paths import kept_places, line_path, marks_path
from kit.views.svg.symbols import symbol
from tests.views.svg.reader import subpaths

STEPS = st.lists(st.tuples(st.integers(0, 40), st.integers(-300, 300)), min_size=2, max_size=120)


def distance(point: tuple[float, float], line: list[tuple[float, float]]) -> float:
    """From a point to the nearest place of a polyline."""
    p, corners = np.array(point), np.array(line)
    nearest = np.inf
    for start, end in itertools.pairwise(corners):
        along = end - start
        share = np.clip(np.dot(p - start, along) / max(float(np.dot(along, along)), 1e-12), 0, 1)
        nearest = min(nearest, float(np.hypot(*(p - start - share * along))))
    return nearest


@given(STEPS)
def test_a_line_as_drawn_passes_within_half_a_pixel_of_every_point(steps: list[tuple[int, int]]) -> None:
    x, y = np.cumsum(np.array(steps, dtype=float), axis=0).T
    (line,) = subpaths(line_path(x, y))
    if len(line) == 1:
        line = line * 2
    assert max(distance(point, line) for point in zip(x / 10, y / 10, strict=True)) <= 0.5


@given(STEPS)
def test_a_line_keeps_its_ends_and_its_extremes(steps: list[tuple[int, int]]) -> None:
    x, y = np.cumsum(np.array(steps, dtype=float), axis=0).T
    kept = kept_places(x.tolist(), y.tolist())
    assert (kept[0], kept[-1]) == (0, len(steps) - 1)
    assert abs(max(y[kept]) - max(y)) <= 5
    assert abs(min(y[kept]) - min(y)) <= 5


def test_a_straight_line_needs_two_points_and_a_spike_is_kept() -> None:
    x = np.arange(1000.0)
    assert kept_places(x.tolist(), (0.3 * x).tolist()) == [0, 999]
    y = np.zeros(1000)
    y[500] = 80
    kept = kept_places(x.tolist(), y.tolist())
    assert kept[:3] == [0, 499, 500]
    assert len(kept) == 5


def test_a_spike_without_width_is_kept() -> None:
    assert kept_places([0.0, 10, 10, 10, 20], [0.0, 0, 90, 0, 0]) == [0, 1, 2, 3, 4]


def test_a_lost_sample_breaks_the_line_and_a_lone_one_is_a_dot() -> None:
    x, y = np.array([0.0, 10, 20, 30, 40]), np.array([7.0, np.nan, 0, 50, np.nan])
    path = line_path(x, y)
    assert subpaths(path) == [[(0, 0.7), (0, 0.7)], [(2, 0), (3, 5)]]
    assert path.count("h0") == 1


def test_each_place_is_marked_once_and_every_mark_is_centred_on_its_place() -> None:
    x, y = np.array([100.0, 250, 100, np.nan]), np.array([50.0, 80, 50, 10])
    drawn = subpaths(marks_path(x, y, symbol("diamond-open", 8)))
    assert len(drawn) == 2
    middles = [tuple(np.mean([np.min(mark, axis=0), np.max(mark, axis=0)], axis=0)) for mark in drawn]
    assert np.allclose(middles, [(10, 5), (25, 8)])
