"""The figure of a unit's progress."""

from __future__ import annotations

from kit.assessment.shown.unit_progress import Day
from kit.views.figures.progress_figure import progress_figure


def test_a_day_stands_until_the_next_and_begins_at_nothing():
    figure = progress_figure([Day("2026-03-01", 2, 1), Day("2026-03-04", 3, 3)], 5)
    tested, passed, register = figure.data
    assert (tested["x"], tested["y"]) == ([0, 0, 3, 3, 4], [0, 2, 2, 3, 3])
    assert (passed["y"], register["y"]) == ([0, 1, 1, 3, 3], [5, 5])
    assert "3 of 5 tags tested and 3 passed by 2026-03-04" in figure.caption


def test_the_days_that_are_named_do_not_run_into_one_another():
    days = [Day(f"2026-03-{day:02d}", day, day) for day in range(1, 30)]
    axis = progress_figure(days, 29).layout["xaxis"]
    assert axis["ticktext"] == ["2026-03-01", "2026-03-08", "2026-03-15", "2026-03-22", "2026-03-29"]
    assert progress_figure(days[:1], 1).layout["xaxis"]["ticktext"] == ["2026-03-01"]
