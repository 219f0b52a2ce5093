"""A loss of signal or supply as a timeline: lost, first motion, at rest, restored."""

from __future__ import annotations

from typing import Any

from kit.assessment.shown.loss_timeline import LossTimeline
from kit.basis.registers import Tag
from kit.views.figures.drawing import INK, LIMIT, MUTED, UP, Trace, layout, line
from kit.views.figures.thinned import thinned
from kit.views.pieces.numbers import number, signed
from kit.views.pieces.parts import Figure


def loss_figure(shown: LossTimeline, tag: Tag, which: str) -> Figure:
    """Travel from before a loss to after its restoration, with its events; ``which`` ends its title."""
    x, y = thinned(shown.time_s, shown.travel_pct, gaps=shown.gaps, buckets=400)
    expected = shown.expected_pct
    words = "; ".join(f"{text} at {number(at, 1)} s" for text, at in shown.events)
    aim = "" if expected is None else f" Dashed: the fail action that the register expects ({shown.expected})."
    drawn: Trace = {"type": "scatter", "mode": "lines", "name": "Travel", "x": x, "y": y}
    ends = [float(shown.time_s[0]), float(shown.time_s[-1])]
    return Figure(
        title=f"Loss of {shown.what}{which}",
        caption=f"Travel after the {shown.what} was taken away at {number(shown.lost_s, 1)} s of the recording: "
        f"{signed(words)}.{aim}",
        alt=f"Travel of {tag.tag} around a loss of {shown.what}: {signed(words)}.",
        data=(
            {**drawn, "line": {"color": UP, "width": 1.6}},
            *([] if expected is None else [line("Expected", ends, [expected] * 2, LIMIT, dash="dash")]),
        ),
        layout=layout(
            "Time since the loss, s",
            "Position, % of travel",
            height_px=300,
            shapes=[_upright(at) for _, at in shown.events],
            annotations=[_event_label(at, text, row) for row, (text, at) in enumerate(shown.events)],
            yaxis={"range": [-8, 138], "tickvals": [0, 25, 50, 75, 100]},
        ),
    )


def _upright(at: float) -> dict[str, Any]:
    return {
        "type": "line",
        "yref": "y domain",
        "x0": round(at, 3),
        "x1": round(at, 3),
        "y0": 0,
        "y1": 1,
        "line": {"color": MUTED, "width": 1, "dash": "dot"},
    }


def _event_label(at: float, text: str, row: int) -> dict[str, Any]:
    """The name of an event to the right of its line, each in a row of its own."""
    return {
        "x": round(at, 3),
        "y": 134 - 9 * row,
        "xanchor": "left",
        "xshift": 2,
        "text": text,
        "showarrow": False,
        "font": {"size": 11, "color": INK},
    }
