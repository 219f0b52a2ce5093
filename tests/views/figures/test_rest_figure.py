"""What the valve does with the command at rest."""

from __future__ import annotations

import numpy as np
import pytest

from kit.assessment.shown.recording_curves import restless
from kit.basis.quantity import Quantity
from kit.basis.recording import Segment
from kit.calculations.recordings.hunting import Stillness
from kit.views.figures.rest_figure import rest_words
from tests.views import made_recordings
from tests.views.reader import figures_of, shown_of_recordings


def test_hunting_is_drawn_with_its_turning_points_and_a_bar_as_long_as_a_period():
    records = made_recordings.records("hunting")
    (figure,) = figures_of(shown_of_recordings("rests", records))
    rest = restless(made_recordings.reduction("hunting").rests)
    assert rest is not None
    bar = next(trace for trace in figure.data if trace["name"] == "One period")
    assert bar["x"][1] - bar["x"][0] == pytest.approx(rest.period.value, abs=2e-3)
    turns = next(trace for trace in figure.data if trace["name"] == "Turning point")
    assert turns["x"] == pytest.approx(rest.turn_s[: len(turns["x"])], rel=1e-5)


def test_no_more_than_twelve_periods_are_drawn_and_it_is_said():
    (figure,) = figures_of(shown_of_recordings("rests", made_recordings.records("hunting")))
    rest = restless(made_recordings.reduction("hunting").rests)
    assert rest is not None
    travel = next(trace for trace in figure.data if trace["name"] == "Travel")
    assert travel["x"][0] == pytest.approx(rest.segment.from_s, abs=0.2)
    assert travel["x"][-1] == pytest.approx(float(rest.turn_s[0]) + 12 * (rest.period.value or 0.0), abs=0.2)
    assert "The first 12 periods are drawn." in figure.caption


def test_a_rest_in_words_has_size_period_and_count():
    none = np.empty(0)
    rest = Stillness(Segment("rest", 0, 60), "hunting", Quantity(1.2), Quantity(5.1), 22, none, none)
    assert rest_words(rest) == "hunting, 1.20 % peak to peak, period 5.1 s, 22 reversals in 60 s"
    quiet = Stillness(
        Segment("rest", 0, 60), "at_rest", Quantity(0.0), Quantity(None, "none"), 0, np.empty(0), np.empty(0)
    )
    assert rest_words(quiet) == "at rest"
