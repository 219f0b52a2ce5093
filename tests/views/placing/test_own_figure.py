"""A plotly figure of one's own: drawn whole, or told, never in part and never a failure."""

from __future__ import annotations

from typing import Any

import pandas as pd
import plotly.express as px
import plotly.graph_objects as go
import pytest

from kit.views.pieces.parts import PLOTLY_MIME
from kit.views.placing.outputs import output_html
from kit.views.placing.own_figure import own_figure
from kit.views.svg.errors import DrawingError

FRAME = pd.DataFrame({"command_pct": [0.0, 50.0, 100.0], "error_pct": [0.5, -0.25, 0.5], "run": ["up", "up", "down"]})


def scatter(layout: dict[str, Any] | None = None, **trace: Any) -> Any:
    return go.Figure(go.Scatter(**{"x": [1, 2, 3], "y": [3, 1, 2], **trace}), layout=layout)


@pytest.mark.parametrize(
    ("figure", "drawn"),
    [
        (scatter(), "<path"),
        (scatter(mode="lines", line={"dash": "dash", "color": "red"}), "stroke-dasharray"),
        (scatter(y=[1, None, 3], mode="lines"), "<path"),
        (scatter({"yaxis": {"title": {"text": "Error <%>"}, "range": [0, 5]}}), "Error &lt;%&gt;"),
        (px.line(FRAME, x="command_pct", y="error_pct"), "command_pct"),
        (px.scatter(FRAME, x="command_pct", y="error_pct", color="run"), ">down</li>"),
    ],
)
def test_lines_and_marks_over_numbers_are_drawn(figure: Any, drawn: str) -> None:
    made = own_figure(figure.to_dict(), "Mine <b>")
    assert drawn in made
    assert "<title>Mine &lt;b&gt;: " in made
    assert made.count('<div class="figure">') == 1
    assert "data-figure" not in made  # it has no twin to explore


@pytest.mark.parametrize(
    "figure",
    [
        go.Figure(),
        go.Figure(go.Pie(values=[1, 2])),
        go.Figure(go.Heatmap(z=[[1, 2]])),
        px.bar(x=["a", "b"], y=[1, 2]),
        px.line(FRAME, x="run", y="error_pct"),
        px.scatter(FRAME, x="command_pct", y="error_pct", log_x=True),
        scatter({"shapes": [{"type": "rect", "x0": 0, "x1": 1, "y0": 0, "y1": 1}]}),
        scatter({"xaxis": {"tickformat": ".2f"}}),
        scatter(fill="tozeroy"),
        scatter(marker={"size": [1, 2, 3]}),
        scatter(text=["a", "b", "c"], mode="text"),
        scatter(x=[pd.Timestamp("2026-03-01")] * 3),
        scatter(x=[float("nan")] * 3),
        go.Figure([go.Scatter(x=[1], y=[1])] * 9),
    ],
)
def test_what_would_be_drawn_otherwise_is_told_whole(figure: Any) -> None:
    with pytest.raises(DrawingError):
        own_figure(figure.to_dict(), "Mine")


@pytest.mark.parametrize(
    "figure", ["?", {}, {"data": None}, {"data": [3]}, {"data": [{"x": {"bdata": "?"}}]}, {"layout": []}]
)
def test_no_figure_however_odd_ends_a_page(figure: Any) -> None:
    made = output_html(_output(figure))
    assert made.startswith('<p class="not-placed">An interactive figure')


def _output(figure: Any) -> Any:
    from nbformat import NotebookNode

    return NotebookNode(output_type="display_data", metadata={}, data={PLOTLY_MIME: figure})
