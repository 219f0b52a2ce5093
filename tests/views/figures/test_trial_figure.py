"""Trials of dead band and resolution, each a bar in the lane of its kind."""

from __future__ import annotations

import numpy as np
import pytest

from kit.calculations.recordings.trials import Trial
from kit.views.figures.trial_figure import trials_figure
from tests.views import made, made_recordings

TAG = made.tag()


def test_every_trial_lies_in_the_lane_of_its_kind():
    trials = made_recordings.reduction("healthy").trials
    figure = trials_figure(trials, TAG, "Dead band and resolution")
    for trace in figure.data:
        what, means = trace["name"].split(", ")
        own = [each for each in trials if each.what == what.lower().replace(" ", "_")]
        own = [each for each in own if (each.means == "ramp") == (means == "ramps")]
        assert trace["x"] == pytest.approx([each.middle_pct for each in own], rel=1e-5)
        ends = np.add(trace["x"], trace["error_x"]["array"])
        assert ends == pytest.approx([each.high_pct for each in own], abs=2e-4)


def test_a_bar_goes_from_no_answer_to_the_answer_and_the_caption_tells_the_range():
    trials = [
        Trial("dead_band", "small_steps", 0.25, 0.75, 10.0, 50.0),
        Trial("dead_band", "small_steps", 0.5, 1.0, 20.0, 50.0),
        Trial("resolution", "ramp", 0.1, 0.2, 30.0, 50.0),
    ]
    figure = trials_figure(trials, TAG, "Trials")
    steps, ramp = figure.data
    assert (steps["x"], steps["error_x"]["array"]) == ([0.5, 0.75], [0.25, 0.25])
    assert (ramp["x"], ramp["error_x"]["array"]) == ([0.15], [0.05])
    assert figure.layout["yaxis"]["ticktext"] == ["Dead band, small steps", "Resolution, ramps"]
    assert "Dead band, small steps: 2 trials, 0.50 to 0.75 %; resolution, ramps: 1 trial, 0.15 %." in figure.caption
    assert steps["y"][0] < steps["y"][1] < ramp["y"][0]
