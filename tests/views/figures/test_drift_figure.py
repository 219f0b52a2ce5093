"""The figure of drifts: a lane a check, a mark an interval, a bar of uncertainty."""

from __future__ import annotations

from kit.assessment.history.drifts import Drift
from kit.assessment.history.shares import DriftShare
from kit.basis.registers import Tag
from kit.views.figures.drift_figure import drift_figure
from kit.views.svg.writer import drawing


def _share(check, side, visits, share, expanded):
    return DriftShare(Drift(check, "", side, *visits, 365, 0.2, 0.5, 0.1), share, expanded)


def test_each_interval_is_a_trace_and_each_check_a_lane():
    figure = drift_figure(
        [
            _share("zero_error", "", ("1", "2"), 15.0, 26.0),
            _share("inaccuracy", "greatest_negative", ("1", "2"), -5.0, 20.0),
            _share("zero_error", "", ("2", "3"), 20.0, 26.0),
        ],
        Tag("T-1"),
    )
    assert figure is not None
    assert figure.layout["yaxis"]["ticktext"] == ["Zero error", "Inaccuracy −"]
    zero, first, second = figure.data
    assert (first["name"], first["x"], first["y"], first["error_x"]["array"]) == (
        "Visit 1 to 2",
        [15.0, -5.0],
        [0.0, 1.0],
        [26.0, 20.0],
    )
    assert (second["name"], second["x"], second["y"]) == ("Visit 2 to 3", [20.0], [0.0])
    said = "Zero error +15 ± 26 %; Inaccuracy − −5 ± 20 %; Zero error +20 ± 26 %."
    assert figure.alt == f"Drift of T-1 as a share of the tolerance: {said}"
    assert "<title>" in drawing(figure.alt, figure.data, figure.layout)
    assert zero["x"] == [0.0, 0.0]


def test_without_a_drift_there_is_no_figure():
    assert drift_figure([], Tag("T-1")) is None
