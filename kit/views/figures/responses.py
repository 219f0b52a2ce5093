"""Answers to the command: steps laid over each other, speed of the strokes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from kit.basis.registers import Tag
from kit.calculations.recordings.steps import T63_SHARE, T86_SHARE, StepResponse
from kit.calculations.recordings.strokes import Stroke
from kit.views.figures.drawing import DOWN, MUTED, UP, Trace, layout, markers, padded
from kit.views.figures.thinned import thinned
from kit.views.pieces.numbers import decimals_for, number
from kit.views.pieces.parts import Figure

MOST_DRAWN: Final = 12
COVERAGE: Final = 2.0
_POINTS: Final = 150
_DASHES: Final = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")
_UP_MARKS: Final = ("triangle-up", "circle", "square")
_DOWN_MARKS: Final = ("triangle-down-open", "circle-open", "square-open")
_AFTER: Final = 1.25  # of the longest settling: how far a step response is drawn
_LEAST_AFTER_S: Final = 2.0
_BEFORE_SHARE: Final = 0.04


def drawable(steps: Sequence[StepResponse]) -> list[StepResponse]:
    """The responses that came to rest on both sides, so that they can be drawn in % of their own step."""
    return [
        each for each in steps if np.isfinite(each.from_travel_pct + each.to_travel_pct) and each.t63.value is not None
    ]


def steps_figure(steps: Sequence[StepResponse], tag: Tag, title: str) -> Figure:
    """Step responses, aligned at the step of the command, each in % of its own change. At least one is drawable."""
    drawn = _one_of_each(drawable(steps))
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
            shapes=[_across(100 * share) for share in (T63_SHARE, T86_SHARE, 1.0)],
            annotations=[_beside(100 * T63_SHARE, "T63"), _beside(100 * T86_SHARE, "T86")],
            xaxis={"range": [round(-_BEFORE_SHARE * until_s, 3), round(until_s, 3)]},
            yaxis={"dtick": 25},
        ),
    )


def _one_of_each(steps: Sequence[StepResponse]) -> list[StepResponse]:
    """The first response of each size and way, greatest first."""
    first: dict[int, StepResponse] = {}
    for each in steps:
        first.setdefault(round(each.asked_pct), each)
    return sorted(first.values(), key=lambda each: (-round(abs(each.asked_pct)), not each.opens))[:MOST_DRAWN]


def _step_traces(step: StepResponse, count: int, until_s: float) -> list[Trace]:
    change = step.to_travel_pct - step.from_travel_pct
    shown = (step.time_s >= -0.25 * until_s) & (step.time_s <= until_s)
    share = 100.0 * (step.travel_pct[shown] - step.from_travel_pct) / change
    x, y = thinned(step.time_s[shown], share, buckets=_POINTS, decimals=1)
    colour = UP if step.opens else DOWN
    dash = _DASHES[count % len(_DASHES)]
    name = f"{number(step.from_command_pct, 1)} → {number(step.to_command_pct, 1)} %"
    marks = _UP_MARKS if step.opens else _DOWN_MARKS
    places = [(step.t63.value, 100 * T63_SHARE), (step.t86.value, 100 * T86_SHARE)]
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


def speed_figure(strokes: Sequence[Stroke], tag: Tag, title: str) -> Figure:
    """Mean speed over each 5 % of travel of each full stroke. At least one."""
    traces: list[Trace] = []
    named: set[str] = set()
    for each in strokes[:MOST_DRAWN]:
        name = "Opening" if each.opens else "Closing"
        mark, colour, dash = ("triangle-up", UP, "solid") if each.opens else ("triangle-down-open", DOWN, "dot")
        trace = markers(name, each.profile_travel_pct, each.profile_pct_s, colour, mark, legendgroup=name)
        traces.append(
            {
                **trace,
                "mode": "lines+markers",
                "line": {"color": colour, "dash": dash, "width": 1.3},
                "showlegend": name not in named,
            }
        )
        named.add(name)
    speeds = np.concatenate([each.profile_pct_s for each in strokes])
    said = duty_words(strokes)
    return Figure(
        title=title,
        caption=f"Mean speed over each 5 % of travel, one line a stroke; a dip is where the valve slows. {said}",
        alt=f"Speed over the travel of {tag.tag}, {len(strokes)} strokes. {said}",
        data=tuple(traces),
        layout=layout(
            "Position, % of travel",
            "Speed, % of travel per s",
            height_px=280,
            xaxis={"range": [-2, 102], "dtick": 25},
            yaxis={"range": [0, padded(speeds)[1]]},
        ),
    )


def duty_words(strokes: Sequence[Stroke]) -> str:
    """What pulses do to the strokes, in words, each way."""
    said = []
    for opens, name in ((True, "Opening"), (False, "Closing")):
        own = [each.duty for each in strokes if each.opens == opens and each.duty.value]
        if own:
            duty = float(np.mean([each.value for each in own if each.value is not None]))
            left_open = COVERAGE * max(each.standard_uncertainty for each in own)
            said.append(
                f"{name} is pulsed: the valve moves for {_rounded(duty, left_open)} % of the time, which makes the "
                f"stroke about {_rounded(100.0 / duty, 100.0 * left_open / duty**2)} times as long as in one go."
            )
    return " ".join(said) or "No stroke is pulsed."


def _rounded(value: float, left_open: float) -> str:
    """A number to the digit that what is left open supports, two decimals at most."""
    return number(value, min(2, max(0, decimals_for("%", left_open or None) - 1)))
