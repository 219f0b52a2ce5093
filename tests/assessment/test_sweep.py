"""The rows of a potentiometer as a sweep."""

from __future__ import annotations

import pytest

from kit.assessment.sweep import is_track_measured, mean_track_ohm, sweep_of
from kit.basis.registers import Tag
from tests.assessment.builders import rows

REGISTERED = Tag("T", track_ohm=2000.0)


def sweep_rows(*track_ohm):
    """The wiper at 500 ohm at every position; None: the track was not measured."""
    blank = float("nan")
    cells = [{"track_ohm": blank if each is None else each} for each in track_ohm]
    return rows("potentiometer", [{"position_pct": 50.0 * n, "wiper_ohm": 500.0} | c for n, c in enumerate(cells)])


def test_the_track_as_measured_comes_before_the_one_registered():
    """500 ohm of 1000 ohm are 50 %; one potentiometer has one track, measured once or in every row."""
    given = sweep_rows(1000.0, None, 900.0)
    for tag in (REGISTERED, Tag("T")):
        assert sweep_of(given, tag).ratio_pct == pytest.approx([50.0, 50_000.0 / 950.0, 50_000.0 / 900.0])
        assert mean_track_ohm(given, tag) == pytest.approx(950.0)
    assert sweep_of(sweep_rows(None, None), REGISTERED).ratio_pct.tolist() == [25.0, 25.0]


def test_a_track_is_measured_where_some_row_says_so():
    assert is_track_measured(sweep_rows(None, 1000.0))
    assert not is_track_measured(sweep_rows(None, None))
    assert not is_track_measured(sweep_rows())


def test_without_any_track_there_is_no_resistance_and_without_rows_no_sweep():
    assert mean_track_ohm(sweep_rows(None), Tag("T")) is None
    assert mean_track_ohm(sweep_rows(), REGISTERED) is None
    assert sweep_of(sweep_rows(), REGISTERED) is None
