"""Step responses laid over each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from kit.assessment.shown.calculated import StepResponse
from kit.assessment.shown.recording_curves import T63_PCT, T86_PCT, one_of_each, step_curve
from kit.basis.registers import Tag
from kit.views.figures.drawing import DOWN, MUTED, UP, Trace, layout, markers
from kit.views.figures.thinned import thinned
from kit.views.pieces.numbers import number
from kit.views.pieces.parts import Figure

MOST_DRAWN: Final = 12
_POINTS: Final = 150
_DASHES: Final = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
_UP_MARKS: Final = ("triangle-up", "circle", "square")
_DOWN_MARKS: Final = ("triangle-down-open", "circle-open", "square-open")
_AFTER: Final = 1.25  # of the longest settling: how far a step response is drawn
_LEAST_AFTER_S: Final = 2.0
_BEFORE_SHARE: Final = 0.04  # of that, to the left of the step
_DRAWN_BEFORE_SHARE: Final = 0.25


def steps_figure(steps: Sequence[StepResponse], tag: Tag, title: str) -> Figure:
    """Step responses, aligned at the step of the command, each in % of its own change. At least one is drawable."""
    drawn = one_of_each(steps, MOST_DRAWN)
    left = len(steps) - len(drawn)
    ends_s = [each.settling_time.value or each.t86.value or 0.0 for each in drawn]
    until_s = max(_LEAST_AFTER_S, _AFTER * max(ends_s))
    missing = "" if not left else f" Drawn: the first of each size and way; the table has all {len(steps)}."
    times = [each.t63.value for each in drawn if each.t63.value is not None]
    span = f"{number(min(times), 2)} and {number(max(times), 2)} s"
    return Figure(
        title=title,
        caption="Each line is the travel after one step of the command (at 0 s), in % of its whole change: opening "
        f"steps with full marks, closing steps with open ones, at T63 and T86. T63 lies between {span}.{missing}",
        alt=f"Step responses of {tag.tag}, laid over each other: {len(drawn)} of {len(steps)}, T63 between {span}.",
        data=tuple(trace for number_, each in enumerate(drawn) for trace in _step_traces(each, number_, until_s)),
        layout=layout(
            "Time since the step of the command, s",
            "% of the change of travel",
            shapes=[_across(level) for level in (T63_PCT, T86_PCT, 100.0)],
            annotations=[_beside(T63_PCT, "T63"), _beside(T86_PCT, "T86")],
            xaxis={"range": [round(-_BEFORE_SHARE * until_s, 3), round(until_s, 3)]},
            yaxis={"dtick": 25},
        ),
    )


def _step_traces(step: StepResponse, count: int, until_s: float) -> list[Trace]:
    curve = step_curve(step, -_DRAWN_BEFORE_SHARE * until_s, until_s)
    x, y = thinned(curve.x, curve.y, buckets=_POINTS, decimals=1)
    colour = UP if step.opens else DOWN
    dash = _DASHES[count % len(_DASHES)]
    name = f"{number(step.from_command_pct, 1)} → {number(step.to_command_pct, 1)} %"
    marks = _UP_MARKS if step.opens else _DOWN_MARKS
    places = [(step.t63.value, T63_PCT), (step.t86.value, T86_PCT)]
    times = [time for time, _ in places if time is not None]
    levels = [level for time, level in places if time is not None]
    group: dict[str, Any] = {"legendgroup": name + str(count)}
    drawn = {"color": colour, "dash": dash, "width": 1.3}
    return [
        {
            "type": "scatter",
            "mode": "lines",
            "name": name,
            "x": x,
            "y": y,
            "line": drawn,
            "showlegend": False,
            **group,
        },
        {
            **markers(name, times, levels, colour, marks[count % len(marks)], **group),
            "mode": "lines+markers",
            "line": drawn,
        },
    ]


def _across(level: float) -> dict[str, Any]:
    return {
        "type": "line",
        "layer": "below",
        "xref": "paper",
        "x0": 0,
        "x1": 1,
        "y0": level,
        "y1": level,
        "line": {"color": MUTED, "width": 1, "dash": "dot"},
    }


def _beside(level: float, text: str) -> dict[str, Any]:
    return {
        "xref": "paper",
        "x": 1,
        "xanchor": "right",
        "y": level,
        "yanchor": "bottom",
        "text": text,
        "showarrow": False,
        "font": {"size": 11, "color": MUTED},
    }
